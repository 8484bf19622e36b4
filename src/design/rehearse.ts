import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { MOUNT, READING } from '../fit/components.ts';
import { makeRandom, type Random } from '../lab/random.ts';
import { askedRuns } from '../months/asked-runs.ts';
import { largest } from '../numerics/extremes.ts';
import type { BenchTime } from './bench-time.ts';
import type { CarriedOutPart } from './carried-out.ts';
import { drawOf, type Found, foundBy } from './draw.ts';
import { ExpectedPosterior } from './expected-posterior.ts';
import { type PlanTask, planTask } from './plan-task.ts';
import type { RehearseOptions, RehearseResult } from './planned.ts';
import type { PlannedRun } from './visits.ts';

const MOST_REPEATS = 100_000;

/**
 * A plan carried out on the fitted virtual lab, many times.
 *
 * Each time truth and readings are drawn from the posterior: the rises, the samples at hand, the fresh mounts, every reading, where a limit
 * of the pipes lies. The estimates follow the readings (`ExpectedPosterior`), and all pairs are compared as `compare` does, at the
 * same level. How often a pair is told apart, and how often the wrong way round, is then a count, with a standard error of √(f(1 − f)/repeats).
 *
 * Each repeat also has its own later estimate of the scatters, and with it another width of its intervals. Kept fixed between repeats: the true scatters, the weights of
 * the formulas and what the coolers have in common.
 *
 * @param options  `power_W`: loads to compare at (the greatest load of the plan)
 * @throws BenchError for a run of a cooler that the bench does not have
 */
export function rehearse(whole: Bench, options: RehearseOptions): RehearseResult {
  const { bench, warnings } = askedRuns(whole, options);
  const repeats = repeatsOf(options.repeats ?? 500);
  if (options.runs.length === 0) throw new BenchError('--runs', 1, 1, 'the plan has no runs');
  const loads = options.power_W ?? [largest(options.runs.map((run) => run.power_W))];
  const task = planTask(
    bench,
    { ...options, target_W: loads, hours: 1 },
    [...loads].sort((a, b) => a - b),
  );
  const counts = loads.flatMap((_, l) =>
    task.coolers.flatMap((__, a) =>
      task.coolers.slice(a + 1).map((___, k) => ({ a, b: a + 1 + k, l, told: 0, wrong: 0 })),
    ),
  );
  const trial = trialOf(task, plannedOf(task, options));
  const random = makeRandom(options.seed ?? 1).split('rehearse');
  for (let repeat = 0; repeat < repeats; repeat++) {
    const told = trial(random.split(String(repeat)));
    for (const one of counts) {
      const way = told(one.a, one.b, one.l);
      if (way !== 0) one.told++;
      if (way < 0) one.wrong++;
    }
  }
  const pairs = counts.map(({ a, b, l, told, wrong }) => ({
    a: task.coolers[a].name,
    b: task.coolers[b].name,
    power_W: task.question.power_W[l],
    resolved_fraction: told / repeats,
    false_fraction: wrong / repeats,
  }));
  return {
    bench: bench.name,
    repeats,
    hours: minutesOf(task, options, task.time) / 60,
    pairs,
    resolved_mean: pairs.reduce((sum, pair) => sum + pair.resolved_fraction, 0),
    false_mean: pairs.reduce((sum, pair) => sum + pair.false_fraction, 0),
    warnings: [...bench.warnings, ...warnings, ...task.question.posterior.warnings],
  };
}

/** Whether two coolers are told apart at a load: 1 the right way round, −1 the wrong, 0 not. */
type Told = (a: number, b: number, l: number) => -1 | 0 | 1;

/**
 * Planned runs to be carried out again and again.
 *
 * @returns takes what is true of the bench from `draw`, and fittings and readings from `noise` (absent: from `draw` too)
 */
export function trialOf(
  task: PlanTask,
  planned: readonly PlannedRun[],
): (draw: Random, noise?: Random) => Told {
  const expected = new ExpectedPosterior(task.question, task.coolers, planned);
  const parts = expected.carriedOut(planned);
  const { limit } = expected.after(planned);
  return (draw, noise) => {
    const found = new Map(parts.flatMap((part) => carryOut(task, part, draw, noise)));
    const z = (noise ?? draw).split('scatter').normal();
    return (a, b, l) => {
      if (task.isBarred(a, b)) return 0;
      const [first, second] = [found.get(a)?.[l], found.get(b)?.[l]];
      if (!first || !second) return expected.isResolvedNow(a, b, l) ? 1 : 0;
      const { above_K, below_K } = limit(a, b, l, [first, second], z);
      const difference = first.middle_K - second.middle_K;
      if (difference <= above_K && -difference <= below_K) return 0;
      return difference > 0 === first.truth_K - second.truth_K > 0 ? 1 : -1;
    };
  };
}

/** Draws truth and readings of the coolers of one part and says what is found of each at each load. */
function carryOut(task: PlanTask, part: CarriedOutPart, draw: Random, noise?: Random): [number, Found[]][] {
  const { name } = task.coolers[part.coolers[0]];
  const own = draw.split(name);
  const truth = drawOf(task, part, own);
  const random = noise?.split(name) ?? own;
  const { sigma } = task.question.posterior.scatter;
  const mounts = new Map<string, number>();
  const readings = Float64Array.from(part.rows, (row, k) => {
    const { cooler, mount } = part.runs[k];
    const fitting = `${cooler} ${mount}`;
    if (!mounts.has(fitting)) mounts.set(fitting, random.normal(0, sigma[MOUNT]));
    const effect = (mounts.get(fitting) as number) * part.heat_W[k];
    return truth.drawn[row] + effect + random.normal(0, sigma[READING]);
  });
  return foundBy(task, part, { ...truth, readings }, random);
}

/** @throws BenchError for a number of repeats that is none */
export function repeatsOf(repeats: number, most = MOST_REPEATS): number {
  if (Number.isInteger(repeats) && repeats >= 1 && repeats <= most) return repeats;
  const what = `${repeats} is not a number of repeats; give a whole number from 1 to ${most}`;
  throw new BenchError('--repeats', 1, 1, what);
}

/** The plan's runs, with fittings named. */
export function plannedOf(task: PlanTask, { runs }: Pick<RehearseOptions, 'runs'>): PlannedRun[] {
  const out: PlannedRun[] = [];
  const standing = new Map<string, string>();
  const { source } = task.question.posterior;
  runs.forEach((run, k) => {
    if (run.purpose !== undefined && run.purpose !== 'question') return;
    const refused = (what: string) => new BenchError('--runs', 1, 1, `row ${k + 1}: ${what}`);
    const c = task.coolers.findIndex((one) => one.name === run.cooler);
    if (c < 0) {
      const known = task.coolers.map((one) => one.name).join(', ');
      throw refused(`no runs of a cooler "${run.cooler}" that tell of ${source}; give some of ${known}`);
    }
    if (!(run.power_W > 0)) throw refused(`${run.power_W} W is not a load; give one above 0 W`);
    const { posterior, at } = task.coolers[c];
    const sample = run.sample ?? posterior.data.runs[0].sample;
    const isOther = run.source !== undefined && run.source !== source;
    if (isOther && (run.source !== 'heater' || !posterior.fittedIn)) {
      const accepted = `runs on ${source}${source === 'heater' ? '' : ' and on the heater'} are accepted`;
      throw refused(`a run on "${run.source}" in a plan for ${source}; ${accepted}`);
    }
    const key = `${run.cooler}\u0000${sample}\u0000${run.source ?? source}`;
    if (run.remount !== false || !standing.has(key)) standing.set(key, `planned/${k}`);
    out.push({
      cooler: c,
      sample,
      mount: standing.get(key) as string,
      power_W: run.power_W,
      fan_rpm: run.fan_rpm ?? at.fan_rpm,
      ...(isOther && { onHeater: true }),
    });
  });
  return out;
}

/** Time of a plan: as its rows say, else the usual times of settling and fitting. */
function minutesOf(task: PlanTask, { runs }: RehearseOptions, time: BenchTime): number {
  return runs.reduce((sum, run) => {
    const cooler = task.coolers.find((one) => one.name === run.cooler)?.posterior.data.cooler;
    const usual = (cooler ? time.settle_min(cooler) : 0) + (run.remount === false ? 0 : time.remount_min);
    return sum + (run.minutes ?? usual);
  }, 0);
}
