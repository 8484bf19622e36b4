/**
 * The shapes that the library functions return and the command line prints with `--json`.
 *
 * Names carry their units. Anything listed here can be relied on by scripts; further fields may be added.
 */

/** What every command that answers at stated conditions accepts. */
export interface Conditions {
  /** Loads in W. A command has its own default when absent. */
  power_W?: readonly number[];
  /** At most one of the three speed conditions; default: `fan_percent` 100. */
  fan_rpm?: number;
  fan_percent?: number;
  /** Metered level at the bench's distance, background included. */
  sound_dBA?: number;
  /** Source name, default `heater`. */
  source?: string;
  /** Coolers to answer for; default all with runs. */
  coolers?: readonly string[];
  ambient_C?: number;
  /** Confidence level, 0.5 < level < 1, default 0.95. */
  level?: number;
  seed?: number;
}

export interface ParameterEstimate {
  value: number;
  standard_error: number;
  unit: string;
}

export interface ModelFit {
  model: string;
  title: string;
  weight: number;
  converged: boolean;
  /** Empty when converged. */
  reason: string;
  parameters: Record<string, ParameterEstimate>;
  warnings: string[];
}

export interface CoolerFit {
  cooler: string;
  kind: 'air' | 'liquid';
  runs: number;
  mounts: number;
  samples: number;
  power_low_W: number;
  power_high_W: number;
  /** Resistance into the air at the greatest load run and full speed, model average. */
  resistance_K_per_W: number;
  resistance_u_K_per_W: number;
  models: ModelFit[];
  /** What was borrowed from the other coolers or assumed, in words. */
  notes: string[];
}

export interface ScatterComponent {
  value: number;
  low: number;
  high: number;
  /** True when the bench holds no repeats that could tell, so that a common-practice value stands in. */
  assumed: boolean;
}

export interface Scatter {
  mount_K_per_W: ScatterComponent;
  sample_K_per_W: ScatterComponent;
  session_K_per_W: ScatterComponent;
  reading_K: ScatterComponent;
}

export interface FitResult {
  bench: string;
  coolers: CoolerFit[];
  scatter: Scatter;
  warnings: string[];
}

export interface Prediction {
  cooler: string;
  source: string;
  power_W: number;
  fan_rpm: number;
  sound_dBA: number | null;
  rise_K: number;
  mean_low_K: number;
  mean_high_K: number;
  run_low_K: number;
  run_high_K: number;
  extrapolated: boolean;
  notes: string[];
}

export interface PredictResult {
  bench: string;
  level: number;
  predictions: Prediction[];
  warnings: string[];
}

export interface OrderEntry {
  cooler: string;
  rise_K: number;
  mean_low_K: number;
  mean_high_K: number;
  /** Letters of the compact letter display: coolers that share one are not resolved. */
  tiers: string[];
  /** Probability that this cooler's true mean rise is the least. */
  p_best: number;
  extrapolated: boolean;
}

export interface LoadOrder {
  power_W: number;
  order: OrderEntry[];
  /** The least difference that this many fresh mounts of each of two coolers would resolve, K. */
  resolvable: { mounts: number; difference_K: number }[];
}

export interface Crossing {
  /** Load at which the mean curves meet, W. */
  value: number;
  low: number;
  high: number;
  extrapolated: boolean;
  /** True when the interval runs on beyond the loads looked at. */
  low_open: boolean;
  high_open: boolean;
  /** The cooler that is ahead below `value` and the one ahead above it. */
  ahead_below: string;
  ahead_above: string;
}

export interface Pair {
  a: string;
  b: string;
  resolved: { from_W: number; to_W: number; better: string }[];
  crossings: Crossing[];
  /** True mean of a − b; at one load the intervals of all pairs hold together at the level. */
  difference: { power_W: number; rise_K: number; low_K: number; high_K: number }[];
  /** A sentence for people. */
  verdict: string;
}

export interface CompareResult {
  bench: string;
  level: number;
  source: string;
  method: string;
  loads: LoadOrder[];
  pairs: Pair[];
  warnings: string[];
}
