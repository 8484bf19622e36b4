import type { CoolerSpec, SourceSpec } from './cooler-spec.ts';
import type { CurveSpec } from './curve-cooler.ts';

/** A cooler of the first lab or of the second. */
export type AnyCooler = CoolerSpec | CurveSpec;

/** True standard deviations of the bench's scatter. */
export interface Scatter {
  mount_K_per_W: number;
  sample_K_per_W: number;
  /** Paste batch: one draw per session, the same for every cooler. */
  session_K_per_W: number;
  reading_K: number;
  /** Degrees of freedom of a t distribution, at least 3, that mounts follow with the same standard deviation; absent: normal. */
  mount_freedom?: number;
  /** Offset of the source's sensor that wanders along a session's runs: standard deviation, K; 0.95 of it stays from run to run. */
  drift_K?: number;
  /** Error of the power meter that each run has for itself. */
  power_percent?: number;
}

/** Standard uncertainties of the instruments; true errors are drawn with them, once per session. */
export interface TrueInstruments {
  source_systematic_K: number;
  ambient_systematic_K: number;
  power_systematic_percent: number;
  sound_systematic_dB: number;
  temperature_resolution_K: number;
}

export interface ChipOptions {
  chip: SourceSpec;
  /** What bench.yaml says of its shape, true or not: a shipped source or the keys of a source file. */
  geometry?: string | object;
  /** Names; default all. */
  coolers?: readonly string[];
  loads_W: readonly number[];
  mounts?: number;
  temperature_limit_C?: number;
  sensor_systematic_K?: number;
  power_systematic_percent?: number;
  leak_W_per_K?: { value: number; uncertainty: number };
  /** How many times as much samples and fittings differ on it as on the heater (1): its heat passes a smaller part of the face. */
  scatter_factor?: number;
}

/**
 * Something wrong with the runs that match; what is not named matches all. `power_W` and `speed` are the planned ones. Runs that no fault matches
 * are as without it, random draws included.
 */
export interface Fault {
  cooler?: string;
  sample?: string;
  mount?: string;
  source?: string;
  power_W?: number;
  speed?: number;
  /** Added at the interface: too little or old paste, a tilted or loose mount. */
  interface_K_per_W?: number;
  /** Part of the fan's effect that reaches the fins, though its tachometer reads well: a blocked or failing fan. */
  airflow_fraction?: number;
  /** Added to the source's leak: insulation out of place. */
  leak_W_per_K?: number;
  /** Added to the source's reading. */
  sensor_K?: number;
  /** Limit of each pipe over what it should be: a sample with bad pipes. */
  pipe_limit_fraction?: number;
  /** Speed of the pump over what its tachometer says; of no effect on a cooler without a loop. */
  pump_fraction?: number;
}

/** A thermometer in the coolant of every loop. */
export interface CoolantSensor {
  /** Where it sits: behind the cold plate (the hot side) or before it. */
  at: 'behind-plate' | 'before-plate';
  /** Standard uncertainty of its offset, drawn once a session (0.3 K), and scatter of its readings (0.15 K). */
  systematic_K?: number;
  reading_K?: number;
}

export interface Condition {
  power_W: number;
  /** Fan speed over the greatest. */
  speed: number;
  /** Pump speed over the loop's own (1). */
  pump?: number;
}

export interface VirtualBenchOptions {
  seed: number;
  name?: string;
  /** Coolers of either lab, or how many random ones of the first to draw; default those of the shipped lab. */
  coolers?: readonly AnyCooler[] | number;
  /** Samples of each cooler (1), or by name. */
  samples?: number | Readonly<Record<string, number>>;
  /** Mounts of each sample (2). */
  mounts?: number;
  /** Loads as metered (60, 120, 180). Every load is run at every speed, unless `conditions` says which. */
  loads_W?: readonly number[];
  /** Fractions of full speed (1). */
  speeds?: readonly number[];
  /** Load and speed pairs in place of all combinations. */
  conditions?: readonly Condition[];
  /** Where given, `coolant_C` is logged on the liquid coolers. */
  coolant?: CoolantSensor;
  /** Readings of each condition on each mount (1). */
  readings?: number;
  /** Session names (one, unnamed). Mounts are dealt to the sessions in turn. */
  sessions?: readonly string[];
  /** Cooler that is also fitted once in every session. */
  reference_cooler?: string;
  scatter?: Partial<Scatter>;
  instruments?: Partial<TrueInstruments>;
  /** What bench.yaml states where it is not what the instruments are. */
  stated?: Partial<TrueInstruments>;
  /** Zero-load runs in each session, on its first mount (0). */
  zeroLoadRuns?: number;
  /** What bench.yaml states; the true leak is drawn from it unless `true_W_per_K` is given. */
  heaterLeak?: { value: number; uncertainty: number; true_W_per_K?: number };
  /** Setpoint of the room, and how far it wanders (standard deviation, K; held within ±1). */
  ambient?: { setpoint_C?: number; wander_K?: number };
  pressure_hPa?: number;
  chips?: readonly ChipOptions[];
  background_dBA?: number;
  /** From the microphone to the cooler, as bench.yaml states it (500). */
  distance_mm?: number;
  sound_reading_dB?: number;
  /** First match counts. */
  faults?: readonly Fault[];
  /** Speeds at which sound is metered (fractions); empty: no noise.csv. */
  noise_speeds?: readonly number[];
}

export const defaultScatter: Scatter = {
  mount_K_per_W: 0.005,
  sample_K_per_W: 0.004,
  session_K_per_W: 0,
  reading_K: 0.08,
};

export const defaultInstruments: TrueInstruments = {
  source_systematic_K: 0.5,
  ambient_systematic_K: 0.3,
  power_systematic_percent: 0.5,
  sound_systematic_dB: 1,
  temperature_resolution_K: 0.1,
};
