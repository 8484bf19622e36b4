import { bestProbabilities } from '../comparison/best-probability.ts';
import {
  differenceInterval,
  ownAndApart,
  resolvableDifference,
  riseLimits,
} from '../comparison/rise-limits.ts';
import { normalCdf } from '../numerics/distributions.ts';
import { MOUNT, READING, SAMPLE } from '../posterior/scatter.ts';
import type { PlannedCooler, PlannedPair, PlanResult } from '../results.ts';
import { ExpectedPosterior } from './expected-posterior.ts';
import { aheadOf, isResolvedNow, type PlanTask } from './plan-task.ts';
import type { PlannedCoolerState } from './planned-cooler.ts';
import type { Visit } from './visits.ts';

/** A pair with less chance than this stays a tie for all practical purposes. */
const HARDLY_EVER = 0.2;
/** More fittings or samples than this are no advice. */
const MOST = 24;
/** Pairs an hour below which the bench is better used otherwise. */
const PAYS_PER_HOUR = 0.05;
/** A cooler with at least this chance to be the best is worth the chip's time. */
const MAY_BE_BEST = 0.05;
const LOADS_TRIED = 10;

/** Minutes spent and pairs to be expected on the way to a plan. */
export interface PathStep {
  readonly minutes: number;
  readonly pairs: number;
}

/**
 * What a plan should buy, and what no plan would.
 *
 * @param tyingMinutes  minutes of the runs that come before, which tie sessions or procedures
 * @param askedHours  hours on the bench
 */
export function expectedOf(
  task: PlanTask,
  visits: readonly Visit[],
  path: readonly PathStep[],
  tyingMinutes: number,
  askedHours: number,
): PlanResult['expected'] {
  const { question, coolers, time } = task;
  const ahead = aheadOf(task, visits);
  const now = aheadOf(task, []);
  const pairs: PlannedPair[] = [];
  const states: PlannedCooler[] = [];
  question.power_W.forEach((power_W, l) => {
    const limits = coolers.map((one) => one.limitsNow[l]);
    const best = bestProbabilities(ownAndApart(limits, question));
    coolers.forEach((one, c) => {
      states.push({
        cooler: one.name,
        power_W,
        rise_K: one.limitsNow[l].middle_K,
        u_now_K: now.outlooks[c][l].u_K,
        u_after_K: ahead.outlooks[c][l].u_K,
        p_best: best[c],
        take_to_chip: best[c] >= MAY_BE_BEST,
        most_W: one.most_W,
      });
    });
    for (let i = 0; i < coolers.length; i++) {
      for (let j = i + 1; j < coolers.length; j++) {
        pairs.push(pairOf(task, i, j, l, ahead.chance(i, j, l)));
      }
    }
  });
  const hours = visits.reduce((sum, visit) => sum + visit.minutes, tyingMinutes) / 60;
  const expected = {
    hours,
    target_W: [...question.power_W],
    pairs_in_all: pairs.length,
    resolved_now: pairs.filter((pair) => pair.resolved_now).length,
    resolved_after: pairs.reduce((sum, pair) => sum + pair.resolved_chance, 0),
    pairs,
    coolers: states,
    stop_after_hours: task.goal === 'order' ? stopAfter(path, question.power_W.length, tyingMinutes) : null,
    times: time.source,
  };
  return { ...expected, sentences: sentences(expected, task, askedHours) };
}

/** The first hour after which the rest of the greedy path no longer pays. */
function stopAfter(path: readonly PathStep[], loads: number, tyingMinutes: number): number | null {
  const last = path[path.length - 1];
  for (const step of path) {
    if (step === last) break;
    const hours = (last.minutes - step.minutes) / 60;
    if ((loads * (last.pairs - step.pairs)) / hours < PAYS_PER_HOUR)
      return (step.minutes + tyingMinutes) / 60;
  }
  return null;
}

function pairOf(task: PlanTask, i: number, j: number, l: number, chance: number): PlannedPair {
  const { question, coolers, multiple } = task;
  const [a, b] = [coolers[i], coolers[j]];
  const now = differenceInterval(
    a.limitsNow[l],
    b.limitsNow[l],
    { shared: question.shared, space: [] },
    normalCdf(-multiple),
  );
  const apart = Math.abs(now.rise_K);
  const loading = (a.limitsNow[l].distribution.loading_W + b.limitsNow[l].distribution.loading_W) / 2;
  const scatter = question.posterior.scatter.sigma;
  const ever = task.isBarred(i, j) ? 0 : task.expected.everChance(i, j, l);
  const mounts = smallest((k) => resolvableDifference(scatter, loading, k, multiple) <= apart);
  const each = (scatter[SAMPLE] ** 2 + scatter[MOUNT] ** 2) * loading ** 2 + scatter[READING] ** 2;
  const samples = smallest((k) => multiple * Math.sqrt((2 * each) / k) <= apart);
  const isResolved = isResolvedNow(task, i, j, l);
  return {
    a: a.name,
    b: b.name,
    power_W: question.power_W[l],
    difference_K: now.rise_K,
    resolved_now: isResolved,
    resolved_chance: chance,
    // A plan is some number of mounts, so that what it tells is told ever; the two chances are reckoned each in its own way.
    ever_chance: isResolved ? 1 : Math.max(ever, chance),
    other_load_W: !isResolved && Math.max(ever, chance) < HARDLY_EVER ? otherLoad(task, a, b) : null,
    mounts_each: mounts,
    samples_each: samples,
  };
}

function smallest(isEnough: (count: number) => boolean): number | null {
  for (let count = 1; count <= MOST; count++) if (isEnough(count)) return count;
  return null;
}

/** A load within reach of both at which they would more likely than not be told apart in the end. */
function otherLoad(task: PlanTask, a: PlannedCoolerState, b: PlannedCoolerState): number | null {
  const { question } = task;
  const low = Math.max(a.posterior.data.powerLow_W, b.posterior.data.powerLow_W);
  const high = Math.min(a.most_W, b.most_W);
  if (!(high > low)) return null;
  const loads = Array.from(
    { length: LOADS_TRIED },
    (_, k) => 5 * Math.round((low + ((high - low) * k) / (LOADS_TRIED - 1)) / 5),
  ).filter((load) => load <= high);
  const pair = [a, b].map(({ among: _, ...one }) => ({
    ...one,
    limitsNow: riseLimits(question.posterior, one.posterior, one.at, loads, question.critical),
  }));
  const runs = pair.flatMap(({ posterior, at }, cooler) =>
    [...new Set(posterior.data.runs.map(({ sample }) => sample))].flatMap((sample) =>
      loads.map((power_W) => ({ cooler, sample, mount: '', power_W, fan_rpm: at.fan_rpm })),
    ),
  );
  const expected = new ExpectedPosterior({ ...question, power_W: loads }, pair, runs);
  let best: { load: number; chance: number } | undefined;
  loads.forEach((load, l) => {
    const chance = expected.everChance(0, 1, l);
    if (!best || chance > best.chance) best = { load, chance };
  });
  return best && best.chance > 0.5 ? best.load : null;
}

function sentences(
  {
    pairs,
    coolers,
    resolved_now,
    resolved_after,
    pairs_in_all,
    hours,
    stop_after_hours,
  }: Omit<PlanResult['expected'], 'sentences'>,
  task: PlanTask,
  askedHours: number,
): string[] {
  const out: string[] = [];
  if (task.visits.length === 0 || hours === 0) {
    const shortest = Math.min(...task.visits.map(({ minutes }) => minutes));
    out.push(
      shortest > 60 * askedHours
        ? `No run fits into ${askedHours} h: the shortest takes ${Math.round(shortest)} min with its mount.`
        : 'No run within these hours tells anything worth its time.',
    );
  }
  out.push(
    `${resolved_now} of ${pairs_in_all} pairs are told apart by the runs there are${hours > 0 ? `; after ${hours.toFixed(1)} h it should be ${resolved_after.toFixed(1)}` : ''}.`,
  );
  const hardly = pairs.filter((pair) => !pair.resolved_now && pair.ever_chance < HARDLY_EVER);
  const elsewhere = hardly.filter((pair) => pair.other_load_W !== null);
  if (hardly.length > 0) {
    out.push(
      `${named(hardly)} will hardly be told apart at that load however long one tests these samples${elsewhere.length > 0 ? `; ${elsewhere.map((pair) => `${pair.a} and ${pair.b} would be at ${pair.other_load_W} W`).join(', ')}` : ''}.`,
    );
  }
  for (const power_W of task.question.power_W) {
    const here = coolers.filter((one) => one.power_W === power_W);
    const take = here.filter((one) => one.take_to_chip).map((one) => one.cooler);
    const leave = here.filter((one) => !one.take_to_chip).map((one) => one.cooler);
    const { source } = task.question.posterior;
    const bother = leave.length > 0 ? `; ${leave.join(', ')} can hardly be, so do not bother` : '';
    out.push(
      source === 'heater'
        ? `At ${power_W} W take ${take.join(', ')} to the real chip${leave.length > 0 ? `; ${leave.join(', ')} can hardly be the coolest, so do not bother` : ''}.`
        : `At ${power_W} W on ${source} the coolest is ${take.length > 1 ? 'one of ' : ''}${take.join(', ')}${bother}.`,
    );
  }
  if (stop_after_hours !== null) {
    out.push(
      stop_after_hours === 0
        ? 'These hours buy less than one pair in twenty each: the bench is better used otherwise.'
        : `${stop_after_hours.toFixed(1)} h are enough, plan for that: further hours buy less than one pair in twenty.`,
    );
  }
  return out;
}

function named(pairs: readonly PlannedPair[]): string {
  const names = pairs.map((pair) => `${pair.a} and ${pair.b}`);
  return names.length <= 4
    ? names.join(', ')
    : `${names.slice(0, 4).join(', ')} and ${names.length - 4} other pairs`;
}
