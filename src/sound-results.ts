/** The shapes of what sound costs and buys, part of what `compare` returns at equal sound. */

/** A cooler at the level asked for, or at the nearest end of what its fan can do. */
export interface CoolerAtSound {
  cooler: string;
  fan_rpm: number;
  low_rpm: number;
  high_rpm: number;
  /** Metered level at `fan_rpm`, background included. */
  sound_dBA: number;
  limited_by: 'none' | 'least-stable-speed' | 'greatest-speed';
  rise_K: number;
  low_K: number;
  high_K: number;
  full_speed: { fan_rpm: number; sound_dBA: number; rise_K: number };
  /** Least stable speed, and whether it was assumed because coolers.csv gives none. */
  fan_min_rpm: number;
  fan_min_assumed: boolean;
  notes: string[];
}

export interface RiseAtSound {
  sound_dBA: number;
  fan_rpm: number;
  rise_K: number;
  low_K: number;
  high_K: number;
  extrapolated: boolean;
  /** No other cooler that is no louder is told to be cooler. */
  undominated: boolean;
}

/** What some decibels more buy: rise at the quieter level less rise at the louder. */
export interface DecibelsWorth {
  cooler: string;
  from_dBA: number;
  to_dBA: number;
  /** 5, or less where an end of the fan's speeds holds it. */
  spent_dB: number;
  gain_K: number;
  low_K: number;
  high_K: number;
  extrapolated: boolean;
}

/** Pump and fan speeds of a liquid cooler with the least rise at the level. Own levels of fan and pump, dBA. */
export interface PumpAndFanPair {
  cooler: string;
  fan_rpm: number;
  pump_rpm: number;
  sound_dBA: number;
  fan_dBA: number;
  pump_dBA: number;
  rise_K: number;
  low_K: number;
  high_K: number;
  limited_by: 'none' | 'least-stable-speed' | 'greatest-speed';
  notes: string[];
}

export interface SoundTradeOff {
  /** The level asked for, as metered. */
  sound_dBA: number;
  /** The load that the rises are for. */
  power_W: number;
  background_dBA: number | null;
  coolers: CoolerAtSound[];
  /** Quietest first; the last point of a cooler is its full speed. */
  rise_against_sound: { cooler: string; points: RiseAtSound[] }[];
  /** Coolers that no other beats at some level they reach, and from which level to which, once a stretch of levels. */
  undominated: { cooler: string; from_dBA: number; to_dBA: number }[];
  undominated_at_full_speed: string[];
  bought: DecibelsWorth[];
  /** For each liquid cooler its best pair of speeds at the level, or why it cannot be found. */
  pump_and_fan: (PumpAndFanPair | { cooler: string; reason: string })[];
  /** For people: pairs whose order changes with sound held equal, or that tie at full speed at a price. */
  sentences: string[];
}
