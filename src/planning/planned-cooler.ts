import type { RiseLimits } from '../comparison/rise-limits.ts';
import type { CoolerPosterior } from '../posterior/bench-posterior.ts';
import type { SpeedCondition } from '../prediction/conditions.ts';
import type { Belief } from './outlook.ts';

/** A cooler as the plan sees it. */
export interface PlannedCoolerState {
  readonly name: string;
  readonly posterior: CoolerPosterior;
  readonly at: SpeedCondition;
  readonly most_W: number;
  readonly limitsNow: readonly RiseLimits[];
  /** At each load of the question. */
  readonly beliefs: readonly Belief[];
}
