import type { BudgetShare } from '../predict/budget.ts';

/** What a comparison of coolers is made of. */

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
  /** Loads asked for at which the two are told apart only if no limit of their heat pipes is met; there where any is. */
  resolved_if_pipes_hold?: { power_W: number; better: string }[];
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

export interface Comparison {
  bench: string;
  level: number;
  /** Level of one pair's interval at which those of all pairs at a load hold together at `level`. */
  pair_level: number;
  source: string;
  method: string;
  loads: LoadOrder[];
  pairs: Pair[];
  /** Coolers whose answer rests on a fan speed that they were not run at; there where any does. */
  speeds_not_run?: SpeedNotRun[];
  warnings: string[];
}
