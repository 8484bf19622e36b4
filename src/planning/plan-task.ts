import type { Bench } from '../bench/bench.ts';
import { pairwiseCritical } from '../comparison/critical-value.ts';
import { differenceInterval, type RiseLimits, riseLimits } from '../comparison/rise-limits.ts';
import type { CoolerPosterior } from '../posterior/bench-posterior.ts';
import { posteriorOf } from '../posterior/posterior-of.ts';
import { coolersAtSpeed, levelOf, type SpeedCondition } from '../prediction/conditions.ts';
import { sharedUncertainties } from '../prediction/shared-errors.ts';
import type { PlanOptions } from '../results.ts';
import { type BenchTime, benchTime } from './bench-time.ts';
import type { Question } from './outlook.ts';
import { reachableLoad } from './reachable-load.ts';
import { type Visit, visitsOf } from './visits.ts';
import type { PlannedRun } from './with-planned-runs.ts';

/** A cooler as the plan sees it. */
export interface PlannedCoolerState {
  readonly name: string;
  readonly posterior: CoolerPosterior;
  readonly at: SpeedCondition;
  readonly most_W: number;
  readonly limitsNow: readonly RiseLimits[];
}

/** Everything that stays the same while plans are tried. */
export interface PlanTask {
  readonly question: Question;
  readonly multiple: number;
  readonly coolers: readonly PlannedCoolerState[];
  readonly visits: readonly Visit[];
  readonly goal: 'order' | 'prediction';
  readonly time: BenchTime;
}

/** Sets the question up: coolers at their speeds, what is within reach, what may be done. */
export function planTask(bench: Bench, options: PlanOptions, target_W: readonly number[]): PlanTask {
  const posterior = posteriorOf(bench, options.source);
  const { coolers: asked } = coolersAtSpeed(posterior, options);
  const level = levelOf(options);
  const critical = pairwiseCritical(Math.max(asked.length, 2), level);
  const question: Question = {
    posterior,
    power_W: target_W,
    critical,
    shared: sharedUncertainties(posterior),
  };
  const time = benchTime(bench, options);
  const ambient = options.ambient_C ?? bench.ambient.setpoint_C;
  const coolers = asked.map(({ cooler, at }): PlannedCoolerState => {
    return {
      name: cooler.data.cooler.cooler,
      posterior: cooler,
      at,
      most_W: reachableLoad(posterior, cooler, at.speed, ambient),
      limitsNow: riseLimits(posterior, cooler, at, target_W, critical),
    };
  });
  const visits = coolers.flatMap((one, c) =>
    visitsOf(
      one.posterior,
      c,
      target_W,
      one.most_W,
      time.settle_min(one.posterior.data.cooler),
      time.remount_min,
    ),
  );
  return {
    question,
    multiple: critical(Number.POSITIVE_INFINITY),
    coolers,
    visits,
    goal: options.goal ?? 'order',
    time,
  };
}

/** The runs of some visits to one cooler, each visit a fitting of its own. */
export function plannedRuns(visits: readonly Visit[], at: SpeedCondition): PlannedRun[] {
  return visits.flatMap(({ sample, loads_W }, v) =>
    loads_W.map((power_W) => ({ sample, mount: `planned/${v}`, power_W, fan_rpm: at.fan_rpm })),
  );
}

/** Whether two coolers are told apart by the runs there are. */
export function isResolvedNow(task: PlanTask, a: number, b: number, l: number): boolean {
  const { question, coolers, multiple } = task;
  const { low_K, high_K } = differenceInterval(
    coolers[a].limitsNow[l],
    coolers[b].limitsNow[l],
    question.shared,
    multiple,
  );
  return low_K > 0 || high_K < 0;
}
