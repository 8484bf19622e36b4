import type { Bench } from '../bench/bench.ts';
import { pairwiseCritical } from '../comparison/critical-value.ts';
import { differenceInterval, riseLimits } from '../comparison/rise-limits.ts';
import { mixtureDeviation, mixtureMean } from '../numerics/mixture.ts';
import { coolersAtSpeed, levelOf, type SpeedCondition } from '../prediction/conditions.ts';
import { sharedUncertainties } from '../prediction/shared-errors.ts';
import type { PlanOptions } from '../results.ts';
import { areUnbridged } from '../sessions/method-bridge.ts';
import { posteriorFor } from '../sources/posterior-for.ts';
import { type BenchTime, benchTime } from './bench-time.ts';
import { ChipPlan, kindsOf } from './chip-plan.ts';
import { type Belief, believing, type Outlook, outlookAfter, type Question } from './outlook.ts';
import type { PlannedCoolerState } from './planned-cooler.ts';
import { type Estimate, shrunken } from './population.ts';
import { reachableLoad } from './reachable-load.ts';
import { covarianceAfter } from './scatter-learning.ts';
import { runsOfVisits, type Visit, visitsOf } from './visits.ts';
import type { PlannedRun } from './with-planned-runs.ts';

/** Everything that stays the same while plans are tried. */
export interface PlanTask {
  readonly question: Question;
  readonly multiple: number;
  readonly coolers: readonly PlannedCoolerState[];
  readonly visits: readonly Visit[];
  readonly goal: 'order' | 'prediction';
  readonly time: BenchTime;
  /** Air entering the fans. */
  readonly ambient_C: number;
  /** Whether two coolers, by place, cannot be ranked since nothing joins the procedures they were run under. */
  readonly isBarred: (a: number, b: number) => boolean;
  /** Where the question is of a chip that answers by way of the heater's curves. */
  readonly chip?: ChipPlan;
}

/** Sets the question up: coolers at their speeds, what is within reach, what may be done. */
export function planTask(bench: Bench, options: PlanOptions, target_W: readonly number[]): PlanTask {
  const posterior = posteriorFor(bench, options.source);
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
  const ambient_C = options.ambient_C ?? bench.ambient.setpoint_C;
  const beliefs = beliefsOf(question, asked);
  const coolers = asked.map(({ cooler, at }, c): PlannedCoolerState => {
    return {
      name: cooler.data.cooler.cooler,
      posterior: cooler,
      at,
      most_W: reachableLoad(posterior, cooler, at.speed, ambient_C),
      limitsNow: riseLimits(posterior, cooler, at, target_W, critical),
      beliefs: beliefs[c],
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
  const unbridged = areUnbridged(
    bench,
    coolers.map(({ name }) => name),
  );
  return {
    question,
    multiple: critical(Number.POSITIVE_INFINITY),
    coolers,
    visits,
    goal: options.goal ?? 'order',
    time,
    ambient_C,
    isBarred: (a, b) => unbridged(coolers[a].name, coolers[b].name),
  };
}

/** A task whose visits are to be chosen from; where the question is of a chip, with what each would buy there. */
export function withForecast(task: PlanTask): PlanTask {
  const { question, coolers, visits } = task;
  if (!question.posterior.term) return task;
  const chip = new ChipPlan(question, coolers, kindsOf(visits, coolers));
  return { ...task, chip, visits: visits.filter(({ cooler }) => chip.foreseen.includes(cooler)) };
}

/** Per cooler and load, what its own runs say and what is believed of it beside the others. */
function beliefsOf(question: Question, asked: ReturnType<typeof coolersAtSpeed>['coolers']): Belief[][] {
  const { posterior, power_W, critical } = question;
  const own = asked.map(({ cooler, at }) =>
    riseLimits(posterior, { ...cooler, limits: [] }, at, power_W, critical).map(
      ({ distribution }): Estimate => ({
        mean: mixtureMean(distribution.mean),
        u: mixtureDeviation(distribution.mean),
      }),
    ),
  );
  const among = power_W.map((_, l) => shrunken(own.map((loads) => loads[l])));
  return own.map((loads, c) => loads.map((one, l) => ({ own: one, among: among[l][c] })));
}

/** A cooler's outlook after some visits, as it is believed to be beside the others. */
export function outlookFor(task: PlanTask, cooler: number, visits: readonly Visit[]): Outlook[] {
  const { posterior, at, beliefs } = task.coolers[cooler];
  return outlookAfter(task.question, posterior, at, plannedRuns(visits, at)).map((one, l) =>
    believing(one, beliefs[l]),
  );
}

/** Covariance of the logarithms of the scatters' variances once all coolers have had their planned runs. */
export function learntScatter(task: PlanTask, outlooks: readonly (readonly Outlook[])[]): Float64Array {
  const gains = outlooks.flatMap(([first]) => (first.informs ? [first.informs] : []));
  return covarianceAfter(task.question.posterior.scatter.logVarianceCovariance, gains);
}

/** The runs of some visits to one cooler, each visit a fitting of its own. */
export function plannedRuns(visits: readonly Visit[], at: SpeedCondition): PlannedRun[] {
  return runsOfVisits(visits, () => at.fan_rpm);
}

/** Whether two coolers are told apart by the runs there are. */
export function isResolvedNow(task: PlanTask, a: number, b: number, l: number): boolean {
  const { question, coolers, multiple } = task;
  if (task.isBarred(a, b)) return false;
  const { low_K, high_K } = differenceInterval(
    coolers[a].limitsNow[l],
    coolers[b].limitsNow[l],
    question.shared,
    multiple,
  );
  return low_K > 0 || high_K < 0;
}
