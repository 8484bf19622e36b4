import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { criticalOf } from '../compare/critical-value.ts';
import { riseLimits } from '../compare/rise-limits.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import { areUnbridged } from '../months/method-bridge.ts';
import { mixtureDeviation, mixtureMean } from '../numerics/mixture.ts';
import { coolersAtSpeed, levelOf } from '../predict/at-conditions.ts';
import { reachableLoad } from '../predict/reachable-load.ts';
import { riseDistributions } from '../predict/rise-distribution.ts';
import { atLoads } from '../predict/rise-point.ts';
import { sharedUncertainties } from '../predict/shared-errors.ts';
import { type BenchTime, benchTime } from './bench-time.ts';
import { decisionFor } from './decision.ts';
import { type Ahead, ExpectedPosterior } from './expected-posterior.ts';
import { type Fitting, fittingOf } from './fitting.ts';
import { climber } from './on-sheet.ts';
import type { PlanOptions } from './planned.ts';
import type { PlannedCoolerState, Question } from './planned-cooler.ts';
import { type Estimate, shrinkageEstimates } from './population.ts';
import { runsOfVisits, type Visit, visitsOf } from './visits.ts';

/** A source that visits may be on. */
export interface PlanSource {
  readonly posterior: BenchPosterior;
  /** Its coolers, in the order of those asked for; absent: one without runs that stand for it there. */
  readonly coolers: readonly (CoolerPosterior | undefined)[];
  /** Greatest load within reach of each, W. */
  readonly most_W: readonly number[];
  readonly time: BenchTime;
}

/** Everything that stays the same while plans are tried. */
export interface PlanTask {
  readonly question: Question;
  readonly multiple: number;
  readonly coolers: readonly PlannedCoolerState[];
  /** Those that may tell something of the question. */
  readonly visits: readonly Visit[];
  readonly everyVisit: readonly Visit[];
  readonly time: BenchTime;
  /** The source that the question is about, then the heater where visits may be on that too. */
  readonly sources: readonly PlanSource[];
  /** Air entering the fans. */
  readonly ambient_C: number;
  /** Whether two coolers, by place, cannot be ranked since nothing joins the procedures they were run under. */
  readonly isBarred: (a: number, b: number) => boolean;
  readonly fitting: (visit: Visit) => Fitting;
  /** What any of the visits would leave. */
  readonly expected: ExpectedPosterior;
}

/** Sets the question up: coolers at their speeds, what is within reach, what may be done. */
export function planTask(bench: Bench, options: PlanOptions, target_W: readonly number[]): PlanTask {
  const posterior = posteriorFor(bench, options.source);
  const { coolers: asked } = coolersAtSpeed(posterior, options);
  const level = levelOf(options);
  const critical = criticalOf(bench, asked.length, level);
  const decision = decisionFor(
    options,
    asked.map(({ cooler }) => cooler.data.cooler.cooler),
    level,
  );
  const question: Question = {
    posterior,
    decision,
    power_W: target_W,
    critical,
    shared: sharedUncertainties(posterior),
  };
  const time = benchTime(bench, options, posterior.source);
  const ambient_C = options.ambient_C ?? bench.ambient.setpoint_C;
  const among = amongOthers(question, asked);
  const coolers = asked.map(
    ({ cooler, at }, c): PlannedCoolerState => ({
      name: cooler.data.cooler.cooler,
      posterior: cooler,
      at,
      most_W: reachableLoad(posterior, cooler, at.speed, ambient_C),
      limitsNow: riseLimits(posterior, cooler, at, target_W, critical),
      ...(among[c] && { among: among[c] }),
    }),
  );
  const own = {
    posterior,
    coolers: coolers.map((one) => one.posterior),
    most_W: coolers.map((one) => one.most_W),
    time,
  };
  const sources = options.with_heater
    ? [own, heaterBeside(own, coolers, ambient_C, benchTime(bench, options))]
    : [own];
  const possible = sources.flatMap((on, place) =>
    on.coolers.flatMap((cooler, c) => {
      if (!cooler) return [];
      const settle_min = on.time.settle_min(cooler.data.cooler);
      const visits = visitsOf(cooler, c, target_W, on.most_W[c], settle_min, on.time.remount_min);
      return visits.map((visit): Visit => (place === 0 ? visit : { ...visit, onHeater: true }));
    }),
  );
  const fanOf = ({ cooler }: Visit) => coolers[cooler].at.fan_rpm;
  const expected = new ExpectedPosterior(question, coolers, runsOfVisits(possible, fanOf));
  const fittings = new Map(
    possible.map((visit) => [visit, fittingOf(runsOfVisits([visit], fanOf))] as const),
  );
  const names = coolers.map(({ name }) => name);
  const unbridged = areUnbridged(bench, names);
  const barred = names.map((a) => names.map((b) => unbridged(a, b)));
  const everyVisit = possible.filter(({ cooler }) => expected.hasExpectedRises(cooler));
  return {
    question,
    multiple: critical(Number.POSITIVE_INFINITY),
    coolers,
    visits: everyVisit.filter(
      ({ cooler }) => !decision.pair || posterior.term || decision.pair.includes(cooler),
    ),
    everyVisit,
    fitting: (visit) => fittings.get(visit) ?? fittingOf(runsOfVisits([visit], fanOf)),
    expected,
    time,
    sources,
    ambient_C,
    isBarred: (a, b) => barred[a][b],
  };
}

/** What some visits take, done in this order, climbs to loads never run included, min. */
export function minutesOf(task: PlanTask, visits: readonly Visit[]): number {
  const { question, coolers } = task;
  const climb = climber(question.posterior.bench);
  return visits.reduce((sum, visit) => {
    const { posterior, time } = planSourceOf(task, visit);
    const { name, posterior: own } = coolers[visit.cooler];
    const climbs = visit.loads_W.reduce(
      (count, power_W) => count + climb(posterior.source, name, power_W).length,
      0,
    );
    return sum + visit.minutes + climbs * time.climb_min(own.data.cooler);
  }, 0);
}

/** What a visit is on. */
export const planSourceOf = ({ sources }: Pick<PlanTask, 'sources'>, { onHeater }: Visit): PlanSource =>
  sources[onHeater ? 1 : 0];

/**
 * The heater as a place for visits in a plan for a chip.
 *
 * @throws BenchError where the plan is for the heater
 */
function heaterBeside(
  chip: PlanSource,
  coolers: readonly PlannedCoolerState[],
  ambient_C: number,
  time: BenchTime,
): PlanSource {
  const { bench, source } = chip.posterior;
  if (source === 'heater') {
    const chips = bench.chips.map((one) => one.chip);
    const wanted = chips.length > 0 ? `--source ${chips.join(' or ')}` : 'a chip in bench.yaml and --source';
    throw new BenchError(
      '--with-heater',
      1,
      1,
      `the plan is for the heater; with ${wanted} it is for a chip`,
    );
  }
  const posterior = posteriorFor(bench, 'heater');
  const own = coolers.map(({ name }) => posterior.coolers.find(({ data }) => data.cooler.cooler === name));
  const most_W = own.map((cooler, c) =>
    cooler ? reachableLoad(posterior, cooler, coolers[c].at.speed, ambient_C) : 0,
  );
  return { posterior, coolers: own, most_W, time };
}

/** What some visits buy; nothing is told apart that cannot be ranked. */
export function aheadOf(task: PlanTask, visits: readonly Visit[]): Ahead {
  const ahead = task.expected.afterFittings(visits.map(task.fitting));
  return {
    ...ahead,
    chance: (a, b, l) => (task.isBarred(a, b) ? 0 : ahead.chance(a, b, l)),
    decidedChance: (a, b, l) => (task.isBarred(a, b) ? 0 : ahead.decidedChance(a, b, l)),
  };
}

/**
 * What is believed of each cooler at each load beside the others, limits of pipes apart. On a chip the estimates hang together, and stand for
 * themselves.
 */
function amongOthers(
  { posterior, power_W }: Pick<Question, 'posterior' | 'power_W'>,
  asked: ReturnType<typeof coolersAtSpeed>['coolers'],
): (Estimate[] | undefined)[] {
  if (posterior.term) return asked.map(() => undefined);
  const own = asked.map(({ cooler, at }) =>
    riseDistributions(posterior, { ...cooler, limits: [] }, atLoads(power_W, at.speed, at.more)).map(
      ({ mean }): Estimate => ({ mean: mixtureMean(mean), u: mixtureDeviation(mean) }),
    ),
  );
  const among = power_W.map((_, l) => shrinkageEstimates(own.map((loads) => loads[l])));
  return own.map((_, c) => among.map((loads) => loads[c]));
}

/** Whether two coolers are told apart by the runs there are. */
export function isResolvedNow(task: PlanTask, a: number, b: number, l: number): boolean {
  return !task.isBarred(a, b) && task.expected.isResolvedNow(a, b, l);
}

/** What the runs there are decide of two coolers, all looks counted. */
export function decidedNow(task: PlanTask, a: number, b: number, l: number): 'a' | 'b' | 'same' | undefined {
  return task.isBarred(a, b) ? undefined : task.expected.decidedNow(a, b, l);
}
