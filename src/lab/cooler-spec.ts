/**
 * What a virtual cooler is made of: sizes and materials, from which the physics follows. No resistance is given
 * directly except where the part is bought as a unit (one heat pipe, a radiator core).
 */

export interface FanSpec {
  max_rpm: number;
  /** Least stable speed. */
  min_rpm: number;
  count: number;
  /** Flow of all fans together at full speed with nothing in the way. */
  free_flow_m3_per_h: number;
  /** Static pressure at full speed with no flow, of the fans as arranged (fans in line add). */
  stall_Pa: number;
  /** Belly of the pressure curve: 0 is a plain parabola `1 − x²`; 0.5 bulges outwards. */
  belly: number;
}

export interface FinSpec {
  count: number;
  gap_mm: number;
  thickness_mm: number;
  /** Length of the channel along the flow. */
  depth_mm: number;
  /** Size of a fin across the flow. */
  width_mm: number;
  /** Conduction length from the pipe (or base) to the farthest part that it feeds. */
  span_mm: number;
  conductivity_W_per_mK: number;
  /** Entry, exit and bend losses in velocity heads of the channel. */
  loss_heads: number;
  /** Part of the fans' air that passes outside the channels. */
  bypass: number;
  emissivity: number;
}

export interface PipeSpec {
  count: number;
  diameter_mm: number;
  /** Length of pipe that lies under the source. */
  evaporator_mm: number;
  /** Condenser, walls and soldering of one pipe. */
  series_K_per_W: number;
  /** What the outermost pipe has more than the one in the middle, for the heat's way through the base. */
  edge_K_per_W: number;
  /** Conductance of the wet wick without boiling, and the factor of q″^0.7 (q″ in W/m²) that boiling adds. */
  wick_W_per_m2K: number;
  boiling: number;
  /** Temperature drop that starting the vapour flow tends to, and the heat per pipe at which half of it is there. */
  start_K: number;
  start_W: number;
  /** Most heat one pipe carries with its vapour at 60 °C, and the relative change of it per kelvin. */
  limit_W: number;
  limit_per_K: number;
  /** Resistance of one pipe to heat beyond its limit, and the relative width of the passage to it. */
  dry_K_per_W: number;
  dry_width: number;
  /** Conduction from base to fins through all the pipes' copper and whatever else joins them. */
  wall_W_per_K: number;
}

export interface BaseSpec {
  width_mm: number;
  length_mm: number;
  thickness_mm: number;
  conductivity_W_per_mK: number;
  paste_um: number;
  paste_W_per_mK: number;
}

export interface SoundSpec {
  /** Level at full speed at the bench's distance, without the background. */
  full_dBA: number;
  /** A tone that rises out of the law near one speed: height, speed over full speed, width. */
  tone_dB: number;
  tone_at: number;
  tone_width: number;
  /** Level of the pump alone. */
  pump_dBA?: number;
}

export interface LoopSpec {
  pump_rpm: number;
  /** Pump head at no flow and flow at no head, at `pump_rpm`. */
  head_kPa: number;
  free_flow_L_per_min: number;
  /** Loss of the loop: laminar part at water's 20 °C viscosity, and turbulent part. */
  laminar_kPa_per_L_per_min: number;
  turbulent_kPa_per_L2_per_min2: number;
  /** Viscosity of the coolant over water's. */
  viscosity_ratio: number;
  /** Channels of the cold plate. */
  channels: number;
  channel_mm: number;
  channel_height_mm: number;
  channel_length_mm: number;
  /** Coolant side and walls of the radiator's tubes. */
  tube_side_W_per_K: number;
}

/** What coolers.csv says of it besides. */
export interface ListedSpec {
  price?: number;
  /** Leave pipe count and diameter out of coolers.csv. */
  hide_pipes?: boolean;
}

/** What a bench knows of a cooler of either lab. */
export interface KnownCooler {
  cooler: string;
  kind: 'air' | 'liquid';
  base: Pick<BaseSpec, 'thickness_mm'>;
  pipes?: Pick<PipeSpec, 'count' | 'diameter_mm' | 'limit_W'>;
  loop?: Pick<LoopSpec, 'pump_rpm'>;
  fan: Pick<FanSpec, 'max_rpm' | 'min_rpm' | 'count'>;
  sound: SoundSpec;
  listed: ListedSpec;
}

/** A cooler of the first lab. */
export interface CoolerSpec extends KnownCooler {
  base: BaseSpec;
  /** Absent: fins stand on the base. */
  pipes?: PipeSpec;
  /** Present when `kind` is liquid: the fins are then the radiator's. */
  loop?: LoopSpec;
  fins: FinSpec;
  fan: FanSpec;
}

/** What makes the heat, as the cooler feels it. */
export interface SourceSpec {
  source: string;
  width_mm: number;
  length_mm: number;
  /** From the sensor to the face that carries the paste. */
  internal_K_per_W: number;
  /** How far its heat sits from the middle, 0 to 1; felt by coolers of the second lab, by each in its own measure (0). */
  off_centre?: number;
}

/** The shipped lab: heater, chips and coolers. */
export interface LabData {
  heater: SourceSpec;
  chips: SourceSpec[];
  coolers: CoolerSpec[];
}
