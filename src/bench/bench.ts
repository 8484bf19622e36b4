/**
 * The bench as plain typed data: what every later stage reads and none of them changes.
 *
 * Units are in the names and are always these, whatever unit the file used: W, K, °C, rpm, dBA, s, mm, µm.
 */

/** Standard uncertainties of one instrument. `systematic_*` is shared by every run of a session. */
export interface TemperatureInstrument {
  systematic_K: number;
  resolution_K: number;
}

export interface Instruments {
  source_temperature: TemperatureInstrument;
  ambient_temperature: TemperatureInstrument;
  power: { systematic_percent: number };
  /** `sample_dB`: how much specimens of one cooler scatter, where it is stated. */
  sound_level: {
    systematic_dB: number;
    sample_dB?: number;
    background_dBA?: number;
    distance_mm?: number;
  };
}

/** The dummy heater. `leak_W_per_K` is what its insulation loses per kelvin above ambient. */
export interface Heater {
  /** Sides of the face that the cooler stands on. */
  face_mm?: [number, number];
  power_max_W?: number;
  temperature_limit_C?: number;
  leak_W_per_K: { value: number; uncertainty: number };
}

export interface Chip {
  chip: string;
  temperature_limit_C?: number;
  sensor_systematic_K: number;
  power_systematic_percent: number;
  leak_W_per_K: { value: number; uncertainty: number };
  /** Keys of the file that the reader does not know, carried through; `geometry` and `clock` are read where they are used. */
  extra: Record<string, unknown>;
}

/** One steady state: one load, one fan speed, one mount. */
export interface Run {
  /** The id of the file, or `run-<line>` where the file gives none. */
  run: string;
  cooler: string;
  sample: string;
  /** `undefined`: the file does not say which fitting this was. It is then never pooled with another run. */
  mount?: string;
  source: string;
  power_W: number;
  fan_rpm: number;
  source_C: number;
  ambient_C: number;
  /** Standard uncertainty of the asymptote where the run came from a log, K. */
  u_K?: number;
  sound_dBA?: number;
  session?: string;
  method?: string;
  started?: string;
  fan_duty_percent?: number;
  pump_rpm?: number;
  coolant_C?: number;
  pressure_hPa?: number;
  orientation?: string;
  paste?: string;
  torque_Nm?: number;
  operator?: string;
  note?: string;
  /** The log that the run was made of, by its name below `logs/`; `undefined` on rows that a person typed. */
  log?: string;
  /** The file gives no id, and `run` is the name of its line. */
  unnamed?: true;
  /** Columns that the reader does not know, carried through as text. */
  extra: Record<string, string>;
  /** Line in the file it came from (1-based), for messages. */
  line: number;
}

export interface Cooler {
  cooler: string;
  kind: 'air' | 'liquid';
  heat_pipes?: number;
  heat_pipe_diameter_mm?: number;
  base_thickness_mm?: number;
  /**
   * Greatest speed: of coolers.csv, or the highest seen in runs or noise.csv. Speeds in logs are not known before
   * reduction, so whoever reduces them raises this where `fan_max_stated` is not true. 0: a passive cooler.
   */
  fan_max_rpm: number;
  /** `fan_max_rpm` stands in coolers.csv. */
  fan_max_stated?: boolean;
  fan_min_rpm?: number;
  fans?: number;
  price?: number;
  extra: Record<string, string>;
}

export interface NoiseReading {
  cooler: string;
  fan_rpm: number;
  sound_dBA: number;
  /** Pump speed at the reading: at two or more of them the pump of a liquid cooler can be told from its fan. */
  pump_rpm?: number;
  /** The specimen metered; without one it is sample 1, as in the runs. */
  sample?: string;
  /** Levels of one session share the meter's calibration and its place. */
  session?: string;
  line: number;
}

export interface FlatnessPoint {
  x_mm: number;
  y_mm: number;
  depth_um: number;
}

export interface FlatnessMap {
  cooler: string;
  sample: string;
  points: FlatnessPoint[];
}

/** A row of logs.csv. `log` is the file name under `logs/`. */
export interface LogEntry {
  run: string;
  cooler: string;
  sample: string;
  mount?: string;
  source: string;
  /** File below `logs/`, or several that belong to the run, as `a.csv + b.csv`. */
  log: string;
  /** What is added to the times of the second file so that they are those of the first, s; else it is found from the load. */
  shift_s?: number;
  /** `power_W`, `fan_rpm` and `ambient_C` where they were set and not logged. */
  held?: Readonly<Record<string, number>>;
  /**
   * Any further column that the index carries, as text. The optional columns of runs.csv are checked as there and
   * stand here in the bench's own unit and name, `pressure_hPa` where the file has `pressure_kPa`.
   */
  extra: Record<string, string>;
  line: number;
}

/** Runs that were carried over one step from a procedure to another, and the error they have in common for it. */
export interface CarriedOver {
  /** Names of the sessions of all that went this way, from wherever they came. */
  readonly sessions: readonly string[];
  /** Sources whose runs the step was made from. */
  readonly sources: readonly string[];
  /** What a bridge between two procedures is thought to leave open before any cooler is run under both. */
  readonly before: BridgeError;
  /** What this bridge leaves open. */
  readonly after: BridgeError;
}

/** Error of a carried rise: an offset and a resistance, with standard uncertainties and covariance (K·K/W). */
export interface BridgeError {
  readonly offset_K: number;
  readonly resistance_K_per_W: number;
  readonly covariance: number;
}

export interface Bench {
  name: string;
  ambient: { setpoint_C: number; tolerance_K: number };
  /** Of the room, where the runs state no pressure: its air is then that of the standard atmosphere, -500 to 9000 m. */
  altitude_m?: number;
  instruments: Instruments;
  heater: Heater;
  chips: Chip[];
  methods: unknown[];
  sessions: unknown[];
  reference_cooler?: string;
  /** `columns` of bench.yaml: headings of this bench's tables and logs, and the names that they stand for. */
  columns?: Readonly<Record<string, string>>;
  runs: Run[];
  /** Every cooler that has runs, logs or a row in coolers.csv, in order of first appearance. */
  coolers: Cooler[];
  noise: NoiseReading[];
  flatness: FlatnessMap[];
  logs: LogEntry[];
  /** The raw log files by name, left as bytes: reduction scans them. */
  logFiles: Map<string, Uint8Array>;
  /** The lab's own formula models, as text by file name (`models/x.yaml`). */
  modelFiles: Map<string, string>;
  /** Sessions whose runs were carried over from another procedure: made by the program, never read from a file. */
  carriedOver?: readonly CarriedOver[];
  /** Things worth saying that are no reason to stop, each with file and line. */
  warnings: string[];
  /** The files that were read, by their path inside the bench, in order of the alphabet. */
  files: string[];
  /** Keys of bench.yaml that the reader does not know, carried through. */
  extra?: Record<string, unknown>;
}
