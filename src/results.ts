import type { SessionDoubt } from './session-results.ts';
/**
 * The shapes that the library functions return and the command line prints with `--json`.
 *
 * Names carry their units. Anything listed here can be relied on by scripts; further fields may be added.
 */

import type { SoundTradeOff } from './sound-results.ts';

export type * from './plan-results.ts';
export type * from './predict/conditions.ts';
export type * from './screen-results.ts';
export type * from './session-results.ts';
export type * from './sound-results.ts';

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
  /** Fittings; a run without `mount` counts as one of its own. */
  mounts: number;
  runs_without_mount: number;
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

/** One cooler's runs on a chip as predicted without them. */
export interface LeftOutCooler {
  cooler: string;
  runs: number;
  /** Mean rise as read, K. */
  rise_K: number;
  /** Reading less prediction, mean over its runs, and the standard uncertainty that the prediction gave itself. */
  error_K: number;
  u_K: number;
  /** Inside the prediction's 95 % interval. */
  inside: boolean;
}

/** What a chip adds to a cooler's heater resistance, and how well that has predicted so far. */
export interface SourceTermResult {
  source: string;
  value_K_per_W: number;
  standard_uncertainty_K_per_W: number;
  /** 95 % interval. */
  low_K_per_W: number;
  high_K_per_W: number;
  /** Where the expectation before any run on it comes from. */
  before: 'geometry' | 'assumed';
  /** Coolers run on the chip and on the heater, and their runs on the chip. */
  coolers: number;
  runs: number;
  /** How much the term differs from cooler to cooler. */
  scatter_K_per_W: ScatterComponent;
  /** Each cooler left out in turn; empty and null with fewer than two. */
  cross_validation: { coolers: LeftOutCooler[]; rms_K: number | null; inside: number; count: number };
  notes: string[];
}

/** The load at which the source reaches a temperature on one cooler: its limit, or the one asked for. */
export interface SourceLimit {
  cooler: string;
  source: string;
  fan_rpm: number;
  limit_C: number;
  ambient_C: number;
  /** null: not within the loads looked at; the sentence says on which side. */
  power_W: number | null;
  low_W: number | null;
  high_W: number | null;
  /** Where a limit of heat pipes may be met first: the same if none is. */
  if_pipes_hold?: { power_W: number | null; low_W: number | null; high_W: number | null };
  extrapolated: boolean;
  /** A sentence for people. */
  sentence: string;
}

/** What being cooler is worth in clock on a chip, by the lab's own pairs of temperature and clock. */
export interface ClockResult {
  MHz_per_K: number;
  standard_error: number;
  low: number;
  high: number;
  /** Least step of the chip's clock. */
  step_MHz: number;
  /** Pairs noted by the lab. */
  noted: number;
  /** Clock of a less clock of b at each load; within error where the interval holds 0. */
  pairs: {
    a: string;
    b: string;
    power_W: number;
    MHz: number;
    low: number;
    high: number;
    within_error: boolean;
    below_step: boolean;
    sentence: string;
  }[];
}

export interface FitResult {
  bench: string;
  coolers: CoolerFit[];
  scatter: Scatter;
  /** With a chip as the source. */
  source_term?: SourceTermResult;
  /** Where the source has a temperature limit: the load that reaches it at full fan speed. */
  limits?: SourceLimit[];
  warnings: string[];
}

export interface Prediction {
  cooler: string;
  source: string;
  power_W: number;
  fan_rpm: number;
  sound_dBA: number | null;
  /** Mean of the distribution, so that differences of two are those of `compare`. */
  rise_K: number;
  mean_low_K: number;
  mean_high_K: number;
  run_low_K: number;
  run_high_K: number;
  /** Where heat pipes may meet a limit that no run has shown: the chance that it lies at or below this load. */
  limit_chance?: number;
  /** Then also the rise if no further limit is met. */
  if_pipes_hold?: { rise_K: number; mean_low_K: number; mean_high_K: number };
  extrapolated: boolean;
  /** The estimate passes the limit of the source, or the load what its supply gives; a note says which. */
  above_limit: boolean;
  /** Where it was asked for: the variance of the mean's interval by where it comes from. */
  budget?: BudgetShare[];
  notes: string[];
}

/** Where the variance of an interval comes from: scatters, shared errors, what formulas and pipes leave open. */
export type BudgetPart =
  | 'mounts'
  | 'samples'
  | 'readings'
  | 'paste'
  | 'power'
  | 'leak'
  | 'sensors'
  | 'formula'
  | 'pipes'
  | 'fan speed'
  | 'inlet air'
  | 'chip';

/** One part of the variance of an interval; the shares of all add to 1. */
export interface BudgetShare {
  from: BudgetPart;
  share: number;
  /** Standard uncertainty that this part alone would give. */
  u_K: number;
  /** What would about halve this part. */
  halved_by: string;
}

export interface PredictResult {
  bench: string;
  level: number;
  predictions: Prediction[];
  /** With a chip as the source. */
  source_term?: SourceTermResult;
  /** The load that reaches the temperature asked for; else, with more than one load, that which reaches the source's limit. */
  limits?: SourceLimit[];
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
  /** Whether a run here may be proposed: the supply gives the load, and three chances in four keep the source below its limit. */
  within_reach: boolean;
  /** The estimate passes the limit of the source, or the load what its supply gives; a note says which. */
  above_limit: boolean;
  notes: string[];
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
  /**
   * True mean of a − b; at one load the intervals of all pairs hold together at the level. `p_less` is the chance that a's
   * mean rise is below b's, by the same distribution as the limits.
   */
  difference: {
    power_W: number;
    rise_K: number;
    low_K: number;
    high_K: number;
    p_less: number;
    /** Where a limit of either's heat pipes is possible: the limits if none is met. */
    if_pipes_hold?: { low_K: number; high_K: number };
    /** Where it was asked for: the variance of the difference by where it comes from. */
    budget?: BudgetShare[];
  }[];
  /** A sentence for people. */
  verdict: string;
}

/** A cooler asked for at a fan speed that it was not run at, outside those that it was. */
export interface SpeedNotRun {
  cooler: string;
  fan_rpm: number;
  lowest_run_rpm: number;
  greatest_run_rpm: number;
}

export interface CompareResult {
  bench: string;
  level: number;
  /** Level of one pair's interval at which those of all pairs at a load hold together at `level`. */
  pair_level: number;
  source: string;
  method: string;
  loads: LoadOrder[];
  pairs: Pair[];
  /** What sound costs and buys; there where equal sound was asked for. */
  sound?: SoundTradeOff;
  /** With a chip as the source. */
  source_term?: SourceTermResult;
  /** With a chip as the source for which the lab noted pairs of temperature and clock. */
  clock?: ClockResult;
  /** Differences that rest on a session out of control or on sessions that nothing ties; there where any does. */
  session_doubt?: SessionDoubt;
  /** Coolers whose answer rests on a fan speed that they were not run at; there where any does. */
  speeds_not_run?: SpeedNotRun[];
  warnings: string[];
}
