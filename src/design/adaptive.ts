import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { bestProbabilities } from '../compare/best-probability.ts';
import { MOUNT, READING } from '../fit/components.ts';
import { makeRandom, type Random } from '../lab/random.ts';
import { askedRuns } from '../months/asked-runs.ts';
import type { CarriedOutPart } from './carried-out.ts';
import { decided } from './decision.ts';
import { drawOf, type Found, foundBy, type Truth } from './draw.ts';
import { PAYS_PER_HOUR } from './expected.ts';
import type { Ahead } from './expected-posterior.ts';
import { hoursOf, targetsOf } from './plan.ts';
import { decidedNow, minutesOf, type PlanTask, planTask } from './plan-task.ts';
import type { AdaptiveOptions, AdaptivePolicy, AdaptiveResult } from './planned.ts';
import { repeatsOf } from './rehearse.ts';
import { type PlannedRun, runsOfVisits, type Visit } from './visits.ts';
import { Worth } from './worth.ts';

type Verdict = ReturnType<typeof decided>;

const MOST_REPEATS = 10_000;
/** A chance of less is not worth the hours (an assumption). */
const WORTH_A_TRY = 0.02;

/** What one course of visits came to. */
interface Course {
  readonly minutes: number;
  readonly visits: number;
  readonly end: 'decided' | 'not worth more' | 'hours';
  readonly isRight: boolean;
  /** Comparisons decided at the end, mean over the loads, and whether any look said something false. */
  readonly decided: number;
  readonly isFalse: boolean;
}

/**
 * The whole loop played on benches drawn from the fit, many times: plan one visit, read it, plan again, until the question is answered, nothing
 * more is worthwhile, or the hours are used up. Beside it on the same benches: every cooler in turn at the target, looked at after every visit.
 *
 * True rises, samples, limits of pipes, fittings and readings are drawn as in {@link rehearse}, and the estimates follow the readings in closed form;
 * weights of formulas and what the coolers have in common stay. The plan within is that of one visit at the target.
 *
 * @param onProgress  told after each repeat
 * @throws BenchError on a condition that cannot be met
 */
export function rehearseAdaptive(
  whole: Bench,
  options: AdaptiveOptions,
  onProgress: (done: number, of: number) => void = () => {},
): AdaptiveResult {
  const { bench, warnings } = askedRuns(whole, options);
  const repeats = repeatsOf(options.repeats ?? 100, MOST_REPEATS);
  const task = planTask(bench, options, targetsOf(options));
  const minutes = Math.min(60 * hoursOf(options), task.time.atHand_min);
  if (task.question.decision.goal === 'prediction') {
    throw new BenchError(
      '--goal',
      1,
      1,
      'with prediction there is no decision to stop at; give order, winner or pair:A,B',
    );
  }
  const random = makeRandom(options.seed ?? 1).split('adaptive');
  const planned: Course[] = [];
  const inTurn: Course[] = [];
  for (let repeat = 0; repeat < repeats; repeat++) {
    const draw = random.split(String(repeat));
    planned.push(play(task, new World(task, draw), minutes, nextPlanned));
    inTurn.push(play(task, new World(task, draw), minutes, nextInTurn(task, minutes)));
    onProgress(repeat + 1, repeats);
  }
  return {
    bench: bench.name,
    source: task.question.posterior.source,
    goal: options.goal ?? 'order',
    target_W: [...task.question.power_W],
    margin_K: options.margin_K ?? null,
    repeats,
    hours_asked: minutes / 60,
    adaptive: summary(planned),
    in_turn: summary(inTurn),
    warnings: [...bench.warnings, ...warnings, ...task.question.posterior.warnings],
  };
}

/** Means, quantiles and shares over the courses played. */
function summary(courses: readonly Course[]): AdaptivePolicy {
  const share = (is: (one: Course) => boolean) => courses.filter(is).length / courses.length;
  const mean = (of: (one: Course) => number) =>
    courses.reduce((sum, one) => sum + of(one), 0) / courses.length;
  const hours = courses.map(({ minutes }) => minutes / 60).sort((a, b) => a - b);
  const at = (p: number) => hours[Math.min(hours.length - 1, Math.floor(p * hours.length))];
  return {
    hours_mean: mean(({ minutes }) => minutes / 60),
    hours_10: at(0.1),
    hours_50: at(0.5),
    hours_90: at(0.9),
    visits_mean: mean(({ visits }) => visits),
    answered: share(({ end }) => end === 'decided'),
    not_worth_more: share(({ end }) => end === 'not worth more'),
    right: share(({ isRight }) => isRight),
    decided_mean: mean((one) => one.decided),
    false_decisions: share(({ isFalse }) => isFalse),
  };
}

/** A bench drawn from what is believed, on which visits can be carried out. */
class World {
  private readonly task: PlanTask;
  private readonly draw: Random;
  private readonly truths = new Map<number, Truth>();
  private readonly values = new Map<PlannedRun, number>();
  private readonly fittings = new Map<string, number>();
  private readonly mounts = new Map<string, number>();
  readonly runs: PlannedRun[] = [];
  private readonly visits: Visit[] = [];
  readonly z: number;

  constructor(task: PlanTask, draw: Random) {
    this.task = task;
    this.draw = draw;
    this.z = draw.split('scatter').normal();
  }

  /** What has been spent, climbs to loads never run included, and what one more visit would take, min. */
  get spent(): number {
    return minutesOf(this.task, this.visits);
  }

  costOf(visit: Visit): number {
    return minutesOf(this.task, [...this.visits, visit]) - this.spent;
  }

  /** Carries a visit out. The k-th fitting of a sample is the same whoever asks for it. */
  visit(visit: Visit): void {
    this.visits.push(visit);
    const sample = `${visit.cooler} ${visit.sample}`;
    const k = (this.fittings.get(sample) ?? 0) + 1;
    this.fittings.set(sample, k);
    const mount = `read/${sample}/${k}`;
    const { sigma } = this.task.question.posterior.scatter;
    this.mounts.set(mount, this.draw.split(mount).normal(0, sigma[MOUNT]));
    const fan_rpm = this.task.coolers[visit.cooler].at.fan_rpm;
    for (const one of runsOfVisits([visit], () => fan_rpm)) this.runs.push({ ...one, mount });
  }

  /** What is found of each cooler at each load by all that was read. */
  found(): Map<number, Found[]> {
    return new Map(
      this.task.expected
        .carriedOut(this.runs)
        .flatMap((part) =>
          foundBy(this.task, part, this.read(part), this.draw.split(`limit ${part.coolers[0]}`)),
        ),
    );
  }

  /**
   * What a part's runs read in this world: truth drawn once for a cooler, each reading with its own scatter,
   * drawn once too.
   */
  private read(part: CarriedOutPart): Truth & { readings: Float64Array } {
    const [first] = part.coolers;
    let truth = this.truths.get(first);
    if (!truth) {
      truth = drawOf(this.task, part, this.draw.split(this.task.coolers[first].name));
      this.truths.set(first, truth);
    }
    const { sigma } = this.task.question.posterior.scatter;
    const { drawn } = truth;
    const readings = Float64Array.from(part.runs, (run, k) => {
      let value = this.values.get(run);
      if (value === undefined) {
        const noise = this.draw.split(`${run.mount} ${run.power_W}`).normal(0, sigma[READING]);
        value = drawn[part.rows[k]] + (this.mounts.get(run.mount) as number) * part.heat_W[k] + noise;
        this.values.set(run, value);
      }
      return value;
    });
    return { ...truth, readings };
  }
}

/** What is known after some visits: verdicts on the comparisons, and where the plan goes on from. */
interface Known {
  readonly found: ReadonlyMap<number, Found[]>;
  readonly verdict: (a: number, b: number, l: number) => Verdict;
  readonly leader: (l: number) => number;
  readonly left_min: number;
}

type Next = (task: PlanTask, world: World, known: Known) => Visit | 'not worth more' | undefined;

/**
 * Visit after visit until the question is answered, nothing more is chosen or the time is over; notes on the
 * way whether anything said was false.
 */
function play(task: PlanTask, world: World, minutes: number, next: Next): Course {
  let visits = 0;
  let isFalse = false;
  for (;;) {
    const { spent } = world;
    const known = knownNow(task, world, minutes - spent);
    isFalse ||= saysFalse(task, known);
    const count = decidedCount(task, known);
    const course = { minutes: spent, visits, isRight: isRight(task, known), decided: count, isFalse };
    if (isAnswered(task, known)) return { ...course, end: 'decided' };
    const visit = next(task, world, known);
    if (visit === undefined) return { ...course, end: 'hours' };
    if (visit === 'not worth more') return { ...course, end: visit };
    if (world.costOf(visit) > minutes - spent + 1e-6) return { ...course, end: 'hours' };
    world.visit(visit);
    visits++;
  }
}

/**
 * What is known after the visits so far: estimates, and the verdict on any pair by the test for all looks.
 */
function knownNow(task: PlanTask, world: World, left_min: number): Known {
  const found = world.found();
  const ahead = task.expected.after(world.runs);
  const run = new Set(world.runs.map(({ cooler }) => cooler));
  const verdicts = new Map<string, Verdict>();
  const verdict = (a: number, b: number, l: number): Verdict => {
    if (task.isBarred(a, b)) return undefined;
    const key = `${a} ${b} ${l}`;
    if (!verdicts.has(key)) {
      const [first, second] = [found.get(a)?.[l], found.get(b)?.[l]];
      verdicts.set(
        key,
        first && second && (run.has(a) || run.has(b))
          ? decided(ahead.region(a, b, l, [first, second], world.z), first.middle_K - second.middle_K)
          : decidedNow(task, a, b, l),
      );
    }
    return verdicts.get(key);
  };
  const middle = (c: number, l: number) =>
    found.get(c)?.[l].middle_K ?? task.coolers[c].limitsNow[l].middle_K;
  const leader = (l: number) =>
    task.coolers.reduce((best, _, c) => (middle(c, l) < middle(best, l) ? c : best), 0);
  return { found, verdict, leader, left_min };
}

/** The comparisons that the question needs, a < b. */
function needed(task: PlanTask, known: Known, l: number): [number, number][] {
  const { goal, pair } = task.question.decision;
  if (pair) return [[pair[0], pair[1]]];
  const all = task.coolers.map((_, c) => c);
  if (goal === 'winner') {
    const first = known.leader(l);
    return all.filter((c) => c !== first).map((c) => [Math.min(c, first), Math.max(c, first)]);
  }
  return all.flatMap((a) => all.slice(a + 1).map((b): [number, number] => [a, b]));
}

/** Whether something holds of every comparison that the question needs. */
function everyComparison(
  task: PlanTask,
  known: Known,
  is: (a: number, b: number, l: number) => boolean,
): boolean {
  return task.question.power_W.every((_, l) => needed(task, known, l).every(([a, b]) => is(a, b, l)));
}

/** Whether the question is answered: of a winner, that no other than the leader may be it. */
function isAnswered(task: PlanTask, known: Known): boolean {
  return everyComparison(task, known, (a, b, l) => {
    const verdict = known.verdict(a, b, l);
    if (task.question.decision.goal !== 'winner') return verdict !== undefined;
    return verdict === (known.leader(l) === a ? 'a' : 'b');
  });
}

/** How many needed comparisons are decided, the mean over the loads. */
function decidedCount(task: PlanTask, known: Known): number {
  const loads = task.question.power_W.length;
  let count = 0;
  for (let l = 0; l < loads; l++) {
    for (const [a, b] of needed(task, known, l)) if (known.verdict(a, b, l)) count += 1 / loads;
  }
  return count;
}

/** Whether what is said now of any comparison is false. */
function saysFalse(task: PlanTask, known: Known): boolean {
  const { goal, margin_K } = task.question.decision;
  return !everyComparison(task, known, (a, b, l) => {
    const [first, second] = [known.found.get(a)?.[l], known.found.get(b)?.[l]];
    const verdict = known.verdict(a, b, l);
    if (!first || !second || verdict === undefined) return true;
    const apart = first.truth_K - second.truth_K;
    const allowed = goal === 'winner' ? margin_K : 0;
    if (verdict === 'same') return Math.abs(apart) < margin_K;
    return verdict === 'a' ? apart < allowed : -apart < allowed;
  });
}

/** Whether the answer at best estimate is true: the first place, or the order of the pair; of an order every comparison that is decided. */
function isRight(task: PlanTask, known: Known): boolean {
  const { goal, margin_K, pair } = task.question.decision;
  if (goal === 'order') return !saysFalse(task, known);
  return task.question.power_W.every((_, l) => {
    const among = pair ?? task.coolers.map((__, c) => c);
    const truth = (c: number) => known.found.get(c)?.[l].truth_K ?? Number.POSITIVE_INFINITY;
    const middle = (c: number) => known.found.get(c)?.[l].middle_K ?? Number.POSITIVE_INFINITY;
    const named = among.reduce((best, c) => (middle(c) < middle(best) ? c : best));
    return truth(named) <= Math.min(...among.map(truth)) + margin_K;
  });
}

/** The visit with the most worth per minute on top of what was read; none where the hours that are left would hardly answer more. */
const nextPlanned: Next = (task, world, known) => {
  const fits = targetVisits(task, task.visits).filter(
    (visit) => world.costOf(visit) <= known.left_min + 1e-6,
  );
  if (fits.length === 0) return undefined;
  const found_K = new Map(
    [...known.found].map(([c, at]) => [c, Float64Array.from(at, ({ own_K }) => own_K)]),
  );
  const further = task.expected.afterReading({ runs: world.runs, found_K, z: world.z });
  const after = (visits: readonly Visit[]) =>
    further(runsOfVisits(visits, ({ cooler }) => task.coolers[cooler].at.fan_rpm));
  const worth = new Worth(task, {
    isDecided: (a, b, l) => known.verdict(a, b, l) !== undefined,
    best: (l) => bestOf(task, known, l),
  });
  if (!isWorthMore(task, known, fits, after)) return 'not worth more';
  const before = worth.ofAhead(after([]));
  let best: { visit: Visit; rate: number } | undefined;
  for (const visit of fits) {
    const rate = (worth.ofAhead(after([visit])) - before) / world.costOf(visit);
    if (!best || rate > best.rate) best = { visit, rate };
  }
  return best?.visit;
};

/**
 * Whether the hours that are left would decide enough, were they spent on the coolers of the comparisons that are open, in turn: of an order
 * one pair in twenty an hour, else the least likely comparison that the answer needs with a chance of one in fifty.
 */
function isWorthMore(
  task: PlanTask,
  known: Known,
  fits: readonly Visit[],
  after: (visits: readonly Visit[]) => Ahead,
): boolean {
  const loads = task.question.power_W.map((_, l) => l);
  const open = loads.flatMap((l) =>
    needed(task, known, l)
      .filter(([a, b]) => known.verdict(a, b, l) === undefined && !task.isBarred(a, b))
      .map(([a, b]) => ({ a, b, l })),
  );
  const involved = new Set(open.flatMap(({ a, b }) => [a, b]));
  const visits = inTurn(
    fits.filter(({ cooler }) => involved.has(cooler)),
    known.left_min,
  );
  if (visits.length === 0) return fits.some(({ cooler }) => involved.has(cooler));
  const hours = visits.reduce((sum, { minutes }) => sum + minutes, 0) / 60;
  const ahead = after(visits);
  const chances = open.map(({ a, b, l }) => ahead.decidedChance(a, b, l));
  if (task.question.decision.goal !== 'order') return Math.min(...chances) > WORTH_A_TRY;
  return chances.reduce((sum, chance) => sum + chance, 0) > PAYS_PER_HOUR * hours;
}

/** Every cooler in turn, its samples in turn, as long as the minutes last. */
function inTurn(visits: readonly Visit[], minutes: number): Visit[] {
  const own = [...new Set(visits.map(({ cooler }) => cooler))].map((c) =>
    visits.filter(({ cooler }) => cooler === c),
  );
  const out: Visit[] = [];
  let left = minutes;
  for (let turn = 0; own.length > 0; turn++) {
    const samples = own[turn % own.length];
    const visit = samples[Math.floor(turn / own.length) % samples.length];
    if (visit.minutes > left + 1e-9) return out;
    left -= visit.minutes;
    out.push(visit);
  }
  return out;
}

/** Every cooler in turn, whatever was read. */
function nextInTurn(task: PlanTask, minutes: number): Next {
  const all = inTurn(targetVisits(task, task.everyVisit), minutes);
  let k = 0;
  return () => all[k++];
}

/** Visits at one load: the targets, or the greatest load within reach. */
function targetVisits({ question, coolers }: PlanTask, visits: readonly Visit[]): Visit[] {
  const wanted = (c: number) => question.power_W.map((load) => Math.min(load, Math.floor(coolers[c].most_W)));
  return visits.filter(({ cooler, loads_W }) => loads_W.length === 1 && wanted(cooler).includes(loads_W[0]));
}

/** Chance that each cooler is the coolest, by what was read. */
function bestOf(task: PlanTask, known: Known, l: number): number[] {
  return bestProbabilities(
    task.coolers.map(({ limitsNow }, c) => {
      const one = known.found.get(c)?.[l];
      if (!one) return limitsNow[l].own;
      const multiple = task.question.critical(limitsNow[l].distribution.meanFreedom);
      return {
        weight: Float64Array.of(1),
        mean: Float64Array.of(one.middle_K),
        deviation: Float64Array.of((one.down_K + one.up_K) / 2 / multiple),
      };
    }),
  );
}
