import type { RiseLimits } from '../compare/rise-limits.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import type { SpeedCondition } from '../predict/at-conditions.ts';
import type { Decision } from './decision.ts';
import type { Estimate } from './population.ts';

/** The question that a plan is to answer. */
export interface Question {
  readonly posterior: BenchPosterior;
  readonly power_W: readonly number[];
  readonly critical: (freedom: number) => number;
  readonly shared: Float64Array;
  readonly decision: Decision;
}

/** A cooler as the plan sees it. */
export interface PlannedCoolerState {
  readonly name: string;
  readonly posterior: CoolerPosterior;
  readonly at: SpeedCondition;
  readonly most_W: number;
  /** At each load of the question. */
  readonly limitsNow: readonly RiseLimits[];
  /**
   * Its rise at each load of the question beside the other coolers', limits of pipes apart; absent where its own runs stand for
   * themselves.
   */
  readonly among?: readonly Estimate[];
}
