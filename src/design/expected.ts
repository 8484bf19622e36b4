import { groupedBy } from '../bench/grouped.ts';
import { counted } from '../bench/wording.ts';
import { resolvableDifference, riseLimits } from '../compare/rise-limits.ts';
import { MOUNT, READING, SAMPLE } from '../fit/components.ts';
import { largest, smallest } from '../numerics/extremes.ts';
import { type Ahead, ExpectedPosterior } from './expected-posterior.ts';
import { aheadOf, decidedNow, isResolvedNow, type PlanTask } from './plan-task.ts';
import type { PlannedCooler, PlannedPair, PlanResult } from './planned.ts';
import type { PlannedCoolerState } from './planned-cooler.ts';
import type { Visit } from './visits.ts';
import { bestChances } from './worth.ts';

/** A pair with less chance than this stays a tie for all practical purposes (an assumption). */
const HARDLY_EVER = 0.2;
/** More fittings or samples than this are no advice. */
const MOST = 24;
/** Pairs an hour below which the bench is better used otherwise. Chosen: one pair in twenty hours. */
export const PAYS_PER_HOUR = 0.05;
/** Chance of an answer an hour below which it is. Chosen: one point in two hours. */
const CHANCE_PER_HOUR = 0.005;
/** A cooler with at least this chance to be the best is worth the chip's time. */
const MAY_BE_BEST = 0.05;
const LOADS_TRIED = 10;

/** Minutes spent on the way to a plan, and what is then to be expected. */
export interface PathStep {
  readonly minutes: number;
  /** Comparisons decided. */
  readonly decided: number;
  readonly answered: number | null;
  readonly right: number | null;
}

/**
 * What a plan should buy, and what no plan would.
 *
 * @param times  hours of the sheet, minutes of the runs that come first, which tie sessions or procedures, and hours asked for
 */
export function expectedOf(
  task: PlanTask,
  visits: readonly Visit[],
  path: readonly PathStep[],
  { hours, tyingMinutes, askedHours }: { hours: number; tyingMinutes: number; askedHours: number },
): PlanResult['expected'] {
  const { question, coolers, time } = task;
  const ahead = aheadOf(task, visits);
  const now = aheadOf(task, []);
  const pairs: PlannedPair[] = [];
  const states: PlannedCooler[] = [];
  question.power_W.forEach((power_W, l) => {
    const best = bestChances(task, l);
    coolers.forEach((one, c) => {
      states.push({
        cooler: one.name,
        power_W,
        rise_K: one.limitsNow[l].middle_K,
        u_now_K: now.expectedRises[c][l].u_K,
        u_after_K: ahead.expectedRises[c][l].u_K,
        p_best: best[c],
        take_to_chip: best[c] >= MAY_BE_BEST,
        most_W: one.most_W,
      });
    });
    for (let i = 0; i < coolers.length; i++) {
      for (let j = i + 1; j < coolers.length; j++) {
        pairs.push(pairOf(task, i, j, l, ahead));
      }
    }
  });
  nameOtherLoads(task, pairs);
  const expected = {
    hours,
    target_W: [...question.power_W],
    pairs_in_all: pairs.length,
    resolved_now: pairs.filter((pair) => pair.resolved_now).length,
    resolved_after: pairs.reduce((sum, pair) => sum + pair.resolved_chance, 0),
    pairs,
    coolers: states,
    answered_now: path[0].answered,
    answered_after: path[path.length - 1].answered,
    right_now: path[0].right,
    right_after: path[path.length - 1].right,
    curve: path.map(({ minutes, answered, right }) => ({
      hours: minutes > 0 ? (minutes + tyingMinutes) / 60 : 0,
      answered,
      right,
    })),
    stop_after_hours: stopAfter(task, path, tyingMinutes),
    times: time.source,
  };
  return { ...expected, sentences: sentences(expected, task, tyingMinutes, askedHours) };
}

/** The first hour after which the rest of the way no longer pays: the fewer decisions, or the less of one, than are worth an hour. */
function stopAfter(task: PlanTask, path: readonly PathStep[], tyingMinutes: number): number | null {
  const { goal } = task.question.decision;
  if (goal === 'prediction') return null;
  const loads = task.question.power_W.length;
  const value = (step: PathStep): number => (goal === 'order' ? loads * step.decided : (step.answered ?? 0));
  const last = path[path.length - 1];
  for (const step of path) {
    if (step === last) break;
    const hours = (last.minutes - step.minutes) / 60;
    if ((value(last) - value(step)) / hours < (goal === 'order' ? PAYS_PER_HOUR : CHANCE_PER_HOUR)) {
      return step.minutes > 0 ? (step.minutes + tyingMinutes) / 60 : 0;
    }
  }
  return null;
}

/**
 * A pair at a load: its difference now, the chances that the plan and any number of mounts tell it apart, and
 * how many of either it takes.
 */
function pairOf(task: PlanTask, i: number, j: number, l: number, ahead: Ahead): PlannedPair {
  const chance = ahead.chance(i, j, l);
  const { question, coolers, multiple } = task;
  const [a, b] = [coolers[i], coolers[j]];
  const now = task.expected.differenceNow(i, j, l);
  const apart = Math.abs(now.rise_K);
  const loading = (a.limitsNow[l].distribution.loading_W + b.limitsNow[l].distribution.loading_W) / 2;
  const scatter = question.posterior.scatter.sigma;
  const ever = task.isBarred(i, j) ? 0 : task.expected.everChance(i, j, l);
  const mounts = leastCount((k) => resolvableDifference(scatter, loading, k, multiple) <= apart);
  const each = (scatter[SAMPLE] ** 2 + scatter[MOUNT] ** 2) * loading ** 2 + scatter[READING] ** 2;
  const samples = leastCount((k) => multiple * Math.sqrt((2 * each) / k) <= apart);
  const isResolved = isResolvedNow(task, i, j, l);
  return {
    a: a.name,
    b: b.name,
    power_W: question.power_W[l],
    difference_K: now.rise_K,
    resolved_now: isResolved,
    resolved_chance: chance,
    decided_chance: decidedNow(task, i, j, l) ? 1 : ahead.decidedChance(i, j, l),
    // A plan is some number of mounts, so that what it tells is told ever; the two chances are reckoned each in its own way.
    ever_chance: isResolved ? 1 : Math.max(ever, chance),
    other_load_W: null,
    mounts_each: mounts,
    samples_each: samples,
  };
}

function leastCount(isEnough: (count: number) => boolean): number | null {
  for (let count = 1; count <= MOST; count++) if (isEnough(count)) return count;
  return null;
}

/** Names a load within reach of both for each pair that will hardly be told apart, where they would more likely than not be in the end. */
function nameOtherLoads(task: PlanTask, pairs: readonly PlannedPair[]): void {
  const { question, coolers } = task;
  const place = new Map(coolers.map(({ name }, c) => [name, c]));
  const hardly = pairs
    .filter((pair) => !pair.resolved_now && pair.ever_chance < HARDLY_EVER)
    .map((pair) => ({ pair, places: [pair.a, pair.b].map((name) => place.get(name) as number) }));
  const loadsOf = (places: readonly number[]) => loadsTried(places.map((c) => coolers[c]));
  // Coolers that stand each by itself are looked at together, for all pairs that are tried at the same loads.
  const together = groupedBy(hardly, ({ places }) =>
    [...loadsOf(places), ...(question.posterior.term ? places : [])].join(' '),
  );
  for (const members of together.values()) {
    const loads = loadsOf(members[0].places);
    if (loads.length === 0) continue;
    const among = [...new Set(members.flatMap(({ places }) => places))].sort((a, b) => a - b);
    const expected = expectedAtLoads(task, among, loads);
    for (const { pair, places } of members) {
      const [a, b] = places.map((c) => among.indexOf(c));
      const chances = loads.map((_, l) => expected.everChance(a, b, l));
      const most = largest(chances);
      if (most > 0.5) pair.other_load_W = loads[chances.indexOf(most)];
    }
  }
}

/** Loads within reach of all. */
function loadsTried(coolers: readonly PlannedCoolerState[]): number[] {
  const low = largest(coolers.map(({ posterior }) => posterior.data.powerLow_W));
  const high = smallest(coolers.map(({ most_W }) => most_W));
  if (!(high > low)) return [];
  return Array.from(
    { length: LOADS_TRIED },
    (_, k) => 5 * Math.round((low + ((high - low) * k) / (LOADS_TRIED - 1)) / 5),
  ).filter((load) => load <= high);
}

function expectedAtLoads(
  { question, coolers }: PlanTask,
  among: readonly number[],
  loads: readonly number[],
): ExpectedPosterior {
  const states = among.map((c) => {
    const { among: _, ...one } = coolers[c];
    const limitsNow = riseLimits(question.posterior, one.posterior, one.at, loads, question.critical);
    return { ...one, limitsNow };
  });
  const runs = states.flatMap(({ posterior, at }, cooler) =>
    [...new Set(posterior.data.runs.map(({ sample }) => sample))].flatMap((sample) =>
      loads.map((power_W) => ({ cooler, sample, mount: '', power_W, fan_rpm: at.fan_rpm })),
    ),
  );
  return new ExpectedPosterior({ ...question, power_W: loads }, states, runs);
}

type Expected = Omit<PlanResult['expected'], 'sentences'>;

/** What the plan comes to, for people. */
function sentences(expected: Expected, task: PlanTask, tyingMinutes: number, askedHours: number): string[] {
  const { pairs, coolers, resolved_now, resolved_after, pairs_in_all, hours } = expected;
  const out: string[] = [];
  if (60 * hours <= tyingMinutes) out.push(whyNothing(expected, task, tyingMinutes, askedHours));
  out.push(
    `In one look, the runs so far tell ${resolved_now} of ${pairs_in_all} pairs apart${hours > 0 ? `; after ${hours.toFixed(1)} h ${resolved_after.toFixed(1)} are expected` : ''}.`,
    ...answerSentence(expected, task),
  );
  const hardly = pairs.filter((pair) => !pair.resolved_now && pair.ever_chance < HARDLY_EVER);
  const elsewhere = hardly.filter((pair) => pair.other_load_W !== null);
  if (hardly.length > 0) {
    out.push(
      `${named(hardly)} are unlikely ever to be told apart at that load with these samples${elsewhere.length > 0 ? `; ${elsewhere.map((pair) => `${pair.a} and ${pair.b} would be at ${pair.other_load_W} W`).join(', ')}` : ''}.`,
    );
  }
  for (const power_W of task.question.power_W) {
    const here = coolers.filter((one) => one.power_W === power_W);
    const take = here.filter((one) => one.take_to_chip).map((one) => one.cooler);
    const leave = here.filter((one) => !one.take_to_chip).map((one) => one.cooler);
    const { source } = task.question.posterior;
    const rest =
      leave.length === 0
        ? ''
        : `; ${leave.join(', ')} ${leave.length === 1 ? 'is' : 'are'} very unlikely to be the coolest${source === 'heater' ? `: no need to run ${leave.length === 1 ? 'it' : 'them'} on the chip` : ''}`;
    out.push(
      source === 'heater'
        ? `At ${power_W} W take ${take.join(', ')} to the real chip${rest}.`
        : `At ${power_W} W on ${source} the coolest is ${take.length > 1 ? 'one of ' : ''}${take.join(', ')}${rest}.`,
    );
  }
  out.push(...stopSentence(expected, task, tyingMinutes));
  return out;
}

/** What the plan answers with what chance, where the question is one answer. */
function answerSentence(
  { answered_now, answered_after, right_now, right_after, hours }: Expected,
  { question: { decision } }: PlanTask,
): string[] {
  if (right_now === null || right_after === null || answered_now === null || answered_after === null)
    return [];
  const what =
    decision.goal === 'winner'
      ? `The cooler that leads is the coolest${decision.margin_K > 0 ? ` or within ${decision.margin_K} K of it` : ''}`
      : 'The one estimated to be cooler is';
  const later = hours > 0 ? `, and ${percent(right_after)} after ${hours.toFixed(1)} h` : '';
  return [
    `${what} with a chance of ${percent(right_now)} now${later}; the chance that it is decided then, counting every look, is ${percent(answered_after)}.`,
  ];
}

/** Why no run is planned beside those that tie: what is missing, and what to add. */
function whyNothing(
  { pairs, answered_now }: Expected,
  task: PlanTask,
  tyingMinutes: number,
  askedHours: number,
): string {
  const { visits, question, coolers, expected } = task;
  const left = askedHours - tyingMinutes / 60;
  const none = tyingMinutes > 0 ? 'No further run is planned' : 'No run is planned';
  const shortest = Math.min(...visits.map(({ minutes }) => minutes));
  if (visits.length > 0 && shortest > 60 * left) {
    return tyingMinutes > 0
      ? `After the runs that tie sessions and methods no run fits into the remaining ${left.toFixed(1)} h: the shortest takes ${Math.round(shortest)} min with its mount.`
      : `No run fits into ${askedHours} h: the shortest takes ${Math.round(shortest)} min with its mount.`;
  }
  const unseen = coolers.filter((_, c) => !expected.hasExpectedRises(c)).map(({ name }) => name);
  if (visits.length === 0 && unseen.length > 0) {
    return `${none}: ${unseen.join(', ')} ${unseen.length === 1 ? 'has' : 'have'} no runs on the heater, without which a plan cannot know what a run would tell; run ${unseen.length === 1 ? 'it' : 'each'} there once at two loads, then plan again.`;
  }
  const open = pairs.filter((pair) => !pair.resolved_now);
  if (answered_now === 1) {
    return `${none}: the runs so far answer the question, so the hours are free for other coolers.`;
  }
  const top = question.power_W[question.power_W.length - 1];
  const most = Math.max(...coolers.map(({ most_W }) => most_W));
  const samples = open.flatMap(({ samples_each }) => samples_each ?? []);
  const cure =
    top > most
      ? `no load within reach (up to ${Math.floor(most)} W) shows what happens at ${top} W; ask for a lower load, or go up with the loads step by step`
      : samples.length > 0
        ? `more fittings of the samples at hand no longer narrow the differences; ${counted(Math.min(...samples), 'sample')} of each would resolve the nearest pair`
        : `the differences are smaller than the scatter of mounts and samples; say with --margin what difference matters, or ask at a higher load`;
  return `${none}: ${cure}.`;
}

/** Whether fewer hours would do as well. */
function stopSentence(
  { stop_after_hours, hours }: Expected,
  { question: { decision } }: PlanTask,
  tyingMinutes: number,
): string[] {
  if (stop_after_hours === null || 60 * hours <= tyingMinutes) return [];
  const little =
    decision.goal === 'order'
      ? 'decide less than one pair in twenty each'
      : 'raise the chance of an answer by less than half a point each';
  if (stop_after_hours > 0) {
    return [`${stop_after_hours.toFixed(1)} h are enough; plan for those, since further hours ${little}.`];
  }
  const but =
    tyingMinutes > 0
      ? `Beyond the ${(tyingMinutes / 60).toFixed(1)} h that tie sessions and methods, these`
      : 'These';
  return [`${but} hours ${little}; use the bench for something else.`];
}

function percent(chance: number): string {
  const points = 100 * chance;
  return points > 99 ? 'over 99 %' : points < 1 ? 'under 1 %' : `${points.toFixed(0)} %`;
}

/** Pairs by name, four at most. */
function named(pairs: readonly PlannedPair[]): string {
  const names = pairs.map((pair) => `${pair.a} and ${pair.b}`);
  return names.length <= 4
    ? names.join(', ')
    : `${names.slice(0, 4).join(', ')} and ${names.length - 4} other pairs`;
}
