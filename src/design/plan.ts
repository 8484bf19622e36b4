import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { makeRandom } from '../lab/random.ts';
import { askedRuns } from '../months/asked-runs.ts';
import { noteOn } from '../predict/at-conditions.ts';
import { steppedRun } from '../predict/reachable-load.ts';
import { SAFETY_LINES } from '../report/safety.ts';
import { strangeOf } from '../screen/strange.ts';
import { decidedByNow } from './decided-now.ts';
import { exchangeDesign } from './exchange.ts';
import { expectedOf, type PathStep } from './expected.ts';
import type { Ahead } from './expected-posterior.ts';
import { ExpectedWinner } from './expected-winner.ts';
import { together, withClimbs } from './on-sheet.ts';
import { aheadOf, minutesOf, type PlanTask, planSourceOf, planTask } from './plan-task.ts';
import type { PlanOptions, PlanResult, PlanRun } from './planned.ts';
import { tyingVisits } from './tying-runs.ts';
import type { Visit } from './visits.ts';
import { withHeater } from './with-heater.ts';
import { Worth } from './worth.ts';

/**
 * The next runs for a question, within some hours on the bench.
 *
 * A plan is a set of visits: a sample freshly fitted and run at one load or two. What each is worth follows from the posterior alone, before
 * anything is read: the runs that would come are appended to the cooler's own, the variance that is left follows in closed form from the scatter
 * model (so that a second reading on a mount is worth little where mounts scatter, and a second sample much where samples do), and with it the
 * chance that each pair is told apart. Runs above the tested loads also show whether a heat-pipe limit is there. Visits are chosen by gain per
 * minute and then exchanged until nothing helps; the coolers' order, which costs nothing, is random, so that a drift of the bench hits none more
 * than another, and the visits of one sample follow each other, so that it is not taken off and put back.
 *
 * @throws BenchError on a condition that cannot be met
 * @example plan(bench, { target_W: 200, hours: 8 }).runs[0] // { order: 1, cooler: …, remount: true, minutes: 45, … }
 */
export function plan(whole: Bench, options: PlanOptions): PlanResult {
  const { with_heater, ...alone } = options;
  const result = planOn(whole, alone);
  return with_heater ? withHeater(result, planOn(whole, options)) : result;
}

/** The next runs on the source that the question is about and, where that is asked for, on the heater. */
function planOn(whole: Bench, options: PlanOptions): PlanResult {
  const target_W = targetsOf(options);
  const hours = hoursOf(options);
  const { bench, warnings } = askedRuns(whole, options);
  const task = planTask(bench, options, target_W);
  const { source } = task.question.posterior;
  const isBoth = task.sources.length > 1;
  const minutes = isBoth ? 60 * hours : Math.min(60 * hours, task.time.atHand_min);
  const tying = tyingWithin(bench, task, minutes);
  const step_min = (run: PlanRun) => {
    const own = bench.coolers.find(({ cooler }) => cooler === run.cooler);
    const on = task.sources.find(({ posterior }) => posterior.source === run.source);
    return own && on ? on.time.climb_min(own) : 0;
  };
  const tyingRuns = withClimbs(bench, tying.runs, step_min);
  const tyingMinutes = minutesIn(tyingRuns);
  const tyingOnSource = minutesIn(tyingRuns.filter((run) => run.source === source));
  // The cooler that is on the bench after the runs that tie goes on.
  const isOn = ({ cooler }: Visit) => task.coolers[cooler].name === tying.runs.at(-1)?.cooler;
  const inTurn = (some: readonly Visit[]) => {
    // What tells most comes first, so that whoever plans again after it has lost nothing.
    const order = [...some.slice(0, 1), ...shuffled(some.slice(1), options.seed ?? 1)];
    return together([...order.filter(isOn), ...order.filter((visit) => !isOn(visit))]);
  };
  const budget = { minutes: minutes - tyingMinutes, onSource_min: task.time.atHand_min - tyingOnSource };
  const { visits, path } = chosenFor(task, budget, inTurn);
  const runs = withClimbs(bench, [...tying.runs, ...runsOf(task, inTurn(visits))], step_min);
  return {
    bench: bench.name,
    source,
    goal: options.goal ?? 'order',
    decided: decidedByNow(task, options),
    runs,
    expected: expectedOf(task, visits, path, {
      hours: minutesIn(runs) / 60,
      tyingMinutes,
      askedHours: hours,
    }),
    safety: [...SAFETY_LINES],
    strange: strangeOf(bench, source),
    warnings: [
      ...bench.warnings,
      ...warnings,
      ...tying.notes,
      ...(task.time.atHand_min < 60 * hours
        ? [
            isBoth
              ? `${source} is available for ${task.time.atHand_min / 60} h (chip_days in bench.yaml); the rest of the hours is for the heater`
              : `${source} is available for ${minutes / 60} h (chip_days in bench.yaml); the plan is for these`,
          ]
        : []),
      ...task.question.posterior.warnings,
      ...warningsOf(task, target_W),
      ...cautionsOf(task, visits),
    ],
  };
}

const minutesIn = (runs: readonly PlanRun[]): number => runs.reduce((sum, { minutes }) => sum + minutes, 0);

/** Checks the loads; each once, ascending. */
export function targetsOf({ target_W }: PlanOptions): number[] {
  const list = typeof target_W === 'number' ? [target_W] : [...(target_W ?? [])];
  if (list.length === 0 || !list.every((load) => load > 0 && load <= 1e5)) {
    throw new BenchError('--target', 1, 1, 'give the load to decide in W, above 0, such as 200 or 150,250');
  }
  return [...new Set(list)].sort((a, b) => a - b);
}

/** Checks the hours. */
export function hoursOf({ hours }: Pick<PlanOptions, 'hours'>): number {
  if (!(hours > 0 && hours <= 1000)) {
    throw new BenchError(
      '--hours',
      1,
      1,
      `${hours} is not a time on the bench; give hours above 0 and up to 1000`,
    );
  }
  return hours;
}

/** The runs that tie, as many as fit, those on the heater first, and what they are for. */
function tyingWithin(bench: Bench, task: PlanTask, minutes: number): { runs: PlanRun[]; notes: string[] } {
  const { coolers, sources } = task;
  const names = coolers.map(({ name }) => name);
  const runs: PlanRun[] = [];
  const notes: string[] = [];
  let spent = 0;
  const visits = [...sources]
    .reverse()
    .flatMap(({ posterior: { source }, time }) =>
      tyingVisits(bench, source, names, time).map((visit) => ({ ...visit, source, time })),
    );
  for (const { source, time, ...visit } of visits) {
    if (spent + visit.minutes > minutes) {
      notes.push(`no time is left for ${visit.cooler}, ${visit.why}`);
      continue;
    }
    spent += visit.minutes;
    notes.push(
      `${visit.cooler} comes first${sources.length > 1 ? ` on ${source === 'heater' ? 'the heater' : source}` : ''}, ${visit.why}`,
    );
    const each = (visit.minutes - time.remount_min) / visit.loads_W.length;
    visit.loads_W.forEach((power_W, k) => {
      runs.push({
        order: 0,
        source,
        cooler: visit.cooler,
        sample: visit.sample,
        power_W,
        fan_rpm: Math.round(visit.fan_rpm),
        remount: k === 0,
        minutes: each + (k === 0 ? time.remount_min : 0),
        gain: 0,
        purpose: visit.purpose,
        method: visit.method ?? null,
        climb_W: [],
      });
    });
  }
  const barred = names.flatMap((a, i) =>
    names
      .slice(i + 1)
      .filter((_, k) => task.isBarred(i, i + 1 + k))
      .map((b) => `${a} and ${b}`),
  );
  if (barred.length > 0) {
    notes.push(
      `${barred.slice(0, 4).join(', ')}${barred.length > 4 ? ` and ${barred.length - 4} other pairs` : ''} cannot be ranked until the bridge has been run; plan again after that`,
    );
  }
  return { runs, notes };
}

/** The chosen visits, and what is to be expected on the way to them. */
interface Chosen {
  readonly visits: readonly Visit[];
  readonly path: readonly PathStep[];
}

/** Time for all visits, climbs to loads never run included, and for those that are on the source asked about. */
interface Budget {
  readonly minutes: number;
  readonly onSource_min: number;
}

/** Whether visits, done in this order, stay within the time there is. */
function isWithin(task: PlanTask, visits: readonly Visit[], { minutes, onSource_min }: Budget): boolean {
  const onSource = () => visits.filter(({ onHeater }) => !onHeater);
  return (
    minutesOf(task, visits) <= minutes + 1e-6 &&
    (onSource_min === Number.POSITIVE_INFINITY || minutesOf(task, onSource()) <= onSource_min + 1e-6)
  );
}

/**
 * What a selection of visits takes, min, as {@link minutesOf} has it but for steps that depend on their order: each cooler climbs once to the greatest
 * of its loads.
 *
 * @param onSource  only what is on the source asked about
 */
function minutesBy(
  task: PlanTask,
  visits: readonly Visit[],
  onSource = false,
): (selection: readonly number[]) => number {
  const climb_min = visits.map((visit) => minutesOf(task, [visit]) - visit.minutes);
  const climbed = new Float64Array(2 * task.coolers.length);
  return (selection) => {
    climbed.fill(0);
    let sum = 0;
    for (const k of selection) {
      const { cooler, minutes, onHeater } = visits[k];
      if (onHeater && onSource) continue;
      const place = 2 * cooler + (onHeater ? 1 : 0);
      const more = Math.max(0, climb_min[k] - climbed[place]);
      climbed[place] += more;
      sum += minutes + more;
    }
    return sum;
  };
}

/** @param inTurn  the order in which visits will be done */
function chosenFor(task: PlanTask, time: Budget, inTurn: (visits: readonly Visit[]) => Visit[]): Chosen {
  const { minutes, onSource_min } = time;
  const worth = new Worth(task);
  const cost = minutesBy(task, task.visits);
  const { selection } = exchangeDesign({
    candidates: task.visits.length,
    cost,
    budget: minutes,
    ...(task.sources.length > 1 &&
      onSource_min < minutes && {
        beside: { cost: minutesBy(task, task.visits, true), budget: onSource_min },
      }),
    utility: (selection) => worth.of(selection),
    starts: [evenStart(task, Math.min(minutes, onSource_min), cost)],
  });
  const { goal } = task.question.decision;
  const winner = goal === 'winner' || goal === 'pair' ? new ExpectedWinner(task) : undefined;
  const ordered = mostFirst(task, worth, selection, time);
  const visitsOf = (some: readonly number[]) => some.map((k) => task.visits[k]);
  // A run is a step on the way to the next one, so that the order has a say in how many steps there are.
  while (ordered.length > 0 && !isWithin(task, inTurn(visitsOf(ordered)), time)) ordered.pop();
  const steps = ordered.length <= CURVE_POINTS ? ordered.map((_, k) => k) : spreadOver(ordered.length);
  const path = [0, ...steps.map((k) => k + 1)].map((count): PathStep => {
    const ahead = worth.after(ordered.slice(0, count));
    const decided = worth.decided(ahead);
    const foreseen = winner?.after(ahead);
    return {
      minutes: minutesOf(task, inTurn(visitsOf(ordered.slice(0, count)))),
      decided,
      answered: goal === 'winner' && foreseen ? foreseen.answered : answeredShare(task, decided, ahead),
      right: foreseen?.right ?? null,
    };
  });
  return { visits: visitsOf(ordered), path };
}

/** Share of the question that is answered: comparisons decided of those there are, or predictions within the margin. */
function answeredShare(
  { question, coolers }: PlanTask,
  decided: number,
  { expectedRises }: Ahead,
): number | null {
  const { goal, margin_K } = question.decision;
  if (goal === 'pair') return decided;
  if (goal === 'order') return decided / Math.max((coolers.length * (coolers.length - 1)) / 2, 1);
  if (margin_K === 0) return null;
  const all = expectedRises.flat();
  return all.filter(({ u_K }) => Z_95 * u_K <= margin_K).length / Math.max(all.length, 1);
}

/** Points of a curve over hours. */
const CURVE_POINTS = 24;
/** Of the two-sided 95 %. */
const Z_95 = 1.96;
/** More visits than this are left in the order in which they were chosen. */
const MOST_ORDERED = 60;

/** Up to `CURVE_POINTS` places spread evenly over a count, the last included. */
function spreadOver(count: number): number[] {
  const at = Array.from({ length: CURVE_POINTS }, (_, k) => Math.round(((k + 1) * count) / CURVE_POINTS - 1));
  return [...new Set(at)];
}

/** The visits of a selection that fit, each time that which brings most per minute on top of those before it. */
function mostFirst(task: PlanTask, worth: Worth, selection: readonly number[], time: Budget): number[] {
  const out: number[] = [];
  const left = [...selection];
  const withOne = (k: number) => [...out, k].map((one) => task.visits[one]);
  const takes = (k: number) => minutesOf(task, withOne(k));
  while (left.length > 0) {
    const spent = minutesOf(
      task,
      out.map((one) => task.visits[one]),
    );
    const fits = distinctThat(left, (k) => isWithin(task, withOne(k), time), selection.length > MOST_ORDERED);
    if (fits.length === 0) break;
    const before = worth.of(out);
    const rate = (k: number) => (worth.of([...out, k]) - before) / (takes(k) - spent);
    const best =
      fits.length === 1
        ? fits[0]
        : fits.map((k) => ({ k, rate: rate(k) })).reduce((a, b) => (b.rate > a.rate ? b : a)).k;
    out.push(best);
    left.splice(left.indexOf(best), 1);
  }
  return out;
}

/** Those that pass, each once; or only the first of them. */
function distinctThat(
  some: readonly number[],
  passes: (k: number) => boolean,
  isFirstOnly: boolean,
): number[] {
  const distinct = [...new Set(some)];
  if (!isFirstOnly) return distinct.filter(passes);
  const first = distinct.find(passes);
  return first === undefined ? [] : [first];
}

/** Every cooler in turn at the greatest target within reach, its samples in turn: what anybody would do without a plan. */
function evenStart(
  { coolers, visits, question }: PlanTask,
  minutes: number,
  cost: (selection: readonly number[]) => number,
): number[] {
  const top = question.power_W[question.power_W.length - 1];
  const plain = coolers.map((one, c) =>
    visits.flatMap(({ cooler, loads_W, onHeater }, k) =>
      !onHeater &&
      cooler === c &&
      loads_W.length === 1 &&
      loads_W[0] === Math.min(top, Math.floor(one.most_W))
        ? [k]
        : [],
    ),
  );
  const start: number[] = [];
  for (let turn = 0; plain.length > 0; turn++) {
    const own = plain[turn % plain.length];
    const k = own[Math.floor(turn / plain.length) % Math.max(own.length, 1)];
    if (k === undefined || cost([...start, k]) > minutes) return start;
    start.push(k);
  }
  return start;
}

/** A random order by the seed (Fisher and Yates). */
function shuffled(visits: readonly Visit[], seed: number): Visit[] {
  const random = makeRandom(seed).split('plan');
  const out = [...visits];
  for (let i = out.length - 1; i > 0; i--) {
    const j = random.integer(0, i);
    [out[i], out[j]] = [out[j], out[i]];
  }
  return out;
}

/** The visits as runs, loads rising within each, with what every run tells on top of those before it. */
function runsOf(task: PlanTask, visits: readonly Visit[]): PlanRun[] {
  const runs: PlanRun[] = [];
  const done: Visit[] = [];
  let before = aheadOf(task, done);
  for (const visit of visits) {
    const { name, posterior, at } = task.coolers[visit.cooler];
    const on = planSourceOf(task, visit);
    const settle = on.time.settle_min(posterior.data.cooler);
    visit.loads_W.forEach((power_W, k) => {
      const after = aheadOf(task, [...done, { ...visit, loads_W: visit.loads_W.slice(0, k + 1) }]);
      const gains = task.question.power_W.map((_, l) =>
        Math.log(before.expectedRises[visit.cooler][l].left_K / after.expectedRises[visit.cooler][l].left_K),
      );
      before = after;
      runs.push({
        order: runs.length + 1,
        source: on.posterior.source,
        cooler: name,
        sample: visit.sample,
        power_W,
        fan_rpm: Math.round(at.fan_rpm),
        remount: k === 0,
        minutes: settle + (k === 0 ? on.time.remount_min : 0),
        gain: Math.max(0, gains.reduce((sum, gain) => sum + gain, 0) / gains.length),
        purpose: 'question',
        method: null,
        climb_W: [],
      });
    });
    done.push(visit);
  }
  return runs;
}

/** Where a source may pass its limit, and what to do about it. */
function cautionsOf(task: PlanTask, visits: readonly Visit[]): string[] {
  return task.sources.flatMap((on) => {
    const here = visits.filter((visit) => planSourceOf(task, visit) === on);
    return task.coolers.flatMap(({ name, at }, c) => {
      const cooler = on.coolers[c];
      const top = Math.max(
        ...here.filter((visit) => visit.cooler === c).map(({ loads_W }) => Math.max(...loads_W)),
      );
      const found = cooler && steppedRun(on.posterior, cooler, top, at.speed, task.ambient_C);
      if (!found) return [];
      const { power_W, from_W, limit_C, chance } = found;
      return [
        `${name} at ${power_W} W may bring the source past its limit of ${limit_C} °C (1 chance in ${Math.max(2, Math.round(1 / chance))}): raise the load from ${Math.round(from_W)} W in steps of about a tenth, wait after each until the source has nearly settled, and stop if the next step would pass the limit`,
      ];
    });
  });
}

/** Targets out of reach, and coolers of which a run would tell nothing. */
function warningsOf(task: PlanTask, target_W: readonly number[]): string[] {
  const top = target_W[target_W.length - 1];
  const unforeseen = task.coolers.filter((_, c) => !task.expected.hasExpectedRises(c));
  const short = task.coolers.filter((one) => one.most_W < top);
  return [
    ...(short.length > 0
      ? [
          `${top} W is more than may be run on ${short.map((one) => `${one.name} (up to ${Math.floor(one.most_W)} W)`).join(', ')}: the heater, a temperature limit or too large a step from the loads run so far; the plan uses the greatest load within reach there`,
        ]
      : []),
    ...(unforeseen.length > 0
      ? [
          `${unforeseen.map(({ name }) => name).join(', ')} ${unforeseen.length === 1 ? 'was' : 'were'} never run on the heater: what a run would tell cannot be predicted, so none is planned`,
        ]
      : []),
    ...task.coolers.flatMap(({ name, at }) => at.notes.map((note) => noteOn(name, note))),
  ];
}
