/**
 * What a bench says of its own state over months: the control chart of its reference cooler, what joins its test methods,
 * and the other findings about sessions, rooms and parts.
 */

/** One session of a control chart. Everything in σ is in standard deviations of the session's own value while nothing drifts. */
export interface ControlPoint {
  session: string;
  runs: number;
  mounts: number;
  /** Deviation from what earlier sessions lead to expect, K, and its standard deviation while nothing drifts; null in a session that sets the target. */
  value_K: number | null;
  u_K: number | null;
  /** The chart's moving average and its limit either side, K. */
  average_K: number | null;
  limit_K: number | null;
  state: 'sets the target' | 'in control' | 'out of control';
  /** A sentence for people. */
  verdict: string;
}

export interface ControlSeries {
  /** `rise`: at the chart's load. `offset`: the part that is the same at every load, the sensors. */
  quantity: 'rise' | 'offset';
  points: ControlPoint[];
  /** Mean number of sessions until a lasting shift of 1 K shows, with as many fittings and runs as in the last session. */
  finds_1_K_after_sessions: number | null;
}

export interface ControlChartResult {
  bench: string;
  cooler: string;
  /** Load at which `rise` is charted: the mean of the reference's loads, W. */
  power_W: number;
  form: 'EWMA' | 'Shewhart';
  weight: number;
  /** Limit in standard deviations of the moving average. */
  limit: number;
  /** Mean number of sessions between false alarms of one series. */
  false_alarm_every: number;
  /** Scatters that the limits stand on. */
  scatter: { mount_K_per_W: number; reading_K: number; session_K_per_W: number; sensor_K: number };
  series: ControlSeries[];
  in_control: boolean;
  verdict: string;
  warnings: string[];
}

/** What turns a rise under one test procedure into one under another: rise under `to` = offset + ratio · rise under `from`. */
export interface MethodBridge {
  from: string;
  to: string;
  /** Procedures between the two where no cooler was run under both. */
  via: string[];
  offset_K: number;
  offset_u_K: number;
  ratio: number;
  ratio_u: number;
  /** Covariance of offset and ratio, K. */
  covariance_K: number;
  /** Coolers run under both, and the conditions at which they were. */
  coolers: string[];
  conditions: number;
  /** χ² over degrees of freedom of the paired values about the line; above 1 the uncertainties are stretched by its root. */
  misfit: number;
  /** What the change adds at a few rises as read under `from`, with standard uncertainty. */
  shifts: { rise_K: number; shift_K: number; u_K: number }[];
  verdict: string;
}

/** A run that would join two procedures. */
export interface BridgingRun {
  cooler: string;
  source: string;
  method: string;
  power_W: number[];
  fan_rpm: number;
}

export interface UnbridgedPair {
  methods: [string, string];
  /** Coolers run under the one and under the other procedure. */
  coolers: [string[], string[]];
  run: BridgingRun;
  verdict: string;
}

/** Plate and radiator of a liquid cooler at one fan and pump speed. */
export interface LoopSplit {
  source: string;
  fan_rpm: number;
  /** Null where the runs do not tell. */
  pump_rpm: number | null;
  runs: number;
  mounts: number;
  power_low_W: number;
  power_high_W: number;
  plate_K_per_W: number;
  plate_u_K_per_W: number;
  radiator_K_per_W: number;
  radiator_u_K_per_W: number;
}

export interface PlateAndRadiator {
  bench: string;
  coolers: { cooler: string; splits: LoopSplit[]; verdict: string }[];
  warnings: string[];
}

/** How one cooler's fan speed goes with its duty. */
export interface FanDutyResult {
  cooler: string;
  runs: number;
  samples: number;
  /** Least speed at the least duty and so on: the monotone curve at the duties run. */
  points: { duty_percent: number; fan_rpm: number }[];
  /** Relative standard deviation of speed between samples at one duty, and of readings within a sample; null with one sample. */
  sample_share: number | null;
  reading_share: number;
}

/** What stands behind a published chart. */
export interface ChartDecisions {
  chart: string;
  published: string;
  /** Identity of the dataset as noted at publication; null where it was not. */
  dataset: string | null;
  /** Whether the files are those of the publication, those of its last correction, others, or not known. */
  state: 'as published' | 'as corrected' | 'changed since' | 'not noted';
  excluded: { name: string; reason: string; in_bench: boolean }[];
  corrections: { date: string; what: string; dataset: string | null }[];
  verdict: string;
}

export interface DecisionRecord {
  bench: string;
  /** SHA-256 of the list of the bench's files with theirs, hexadecimal. */
  dataset: string;
  files: { file: string; sha256: string }[];
  charts: ChartDecisions[];
  warnings: string[];
}

export interface SessionSummary {
  /** Empty where the runs name none. */
  session: string;
  runs: number;
  coolers: number;
  methods: string[];
  /** Date of its earliest run; null where a run has none. */
  started: string | null;
}

/** Differences that rest on sessions whose readings are in doubt. */
export interface SessionDoubt {
  /** Sessions in which the reference cooler's control chart is out of control and that a difference rests on. */
  out_of_control: string[];
  /** Sessions in groups that no cooler ties to each other, where a difference rests on that; else empty. */
  untied: string[][];
  /** The pairs concerned: by which sessions out of control, whether across untied ones, and whether the test tells them apart at any load. */
  pairs: { a: string; b: string; out_of_control: string[]; untied: boolean; resolved: boolean }[];
  verdict: string;
}

/** Everything that bears on whether old and new results are comparable. */
export interface SessionsResult {
  bench: string;
  sessions: SessionSummary[];
  /** Null where no reference cooler is named or it has no runs. */
  control_chart: ControlChartResult | null;
  bridges: MethodBridge[];
  unbridged: UnbridgedPair[];
  loops: PlateAndRadiator['coolers'];
  fan_duties: FanDutyResult[];
  /** Null where the files were not given. */
  record: DecisionRecord | null;
  warnings: string[];
}
