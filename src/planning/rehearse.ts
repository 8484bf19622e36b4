import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { differenceInterval, type RiseLimits, riseLimits } from '../comparison/rise-limits.ts';
import { makeRandom, type Random } from '../lab/random.ts';
import { limitExcess } from '../posterior/pipe-limit.ts';
import type { RehearseOptions, RehearseResult } from '../results.ts';
import { askedRuns } from '../sessions/asked-runs.ts';
import type { BenchTime } from './bench-time.ts';
import { ChipPlan } from './chip-plan.ts';
import { type DrawnTruth, TruthDrawer } from './drawn-truth.ts';
import { outlookAfter, widthChange } from './outlook.ts';
import { isResolvedNow, learntScatter, type PlanTask, planTask } from './plan-task.ts';
import type { PlannedCoolerState } from './planned-cooler.ts';
import { freedomOf } from './scatter-learning.ts';
import { afterRuns, type PlannedRun } from './with-planned-runs.ts';

const MOST_REPEATS = 100_000;

/**
 * A plan carried out on the fitted virtual lab, many times.
 *
 * Each time a truth is drawn from the posterior: the curves, where a limit of the pipes lies, the samples at hand, the fresh mounts, every
 * reading. The drawn readings are appended to the bench's runs, the curves follow them, and all pairs are compared as `compare` does, at the
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
  const loads = options.power_W ?? [Math.max(...options.runs.map((run) => run.power_W))];
  const task = planTask(
    bench,
    { ...options, target_W: loads, hours: 1 },
    [...loads].sort((a, b) => a - b),
  );
  const planned = plannedOf(task, options);
  const counts = task.question.posterior.term
    ? countsOnChip(task, planned, options.seed ?? 1, repeats)
    : countsOnHeater(task, planned, options.seed ?? 1, repeats);
  const pairs = task.question.power_W.flatMap((power_W, l) =>
    task.coolers.flatMap((a, i) =>
      task.coolers.slice(i + 1).map((b, k) => {
        const { told, wrong } = counts[l][i][i + 1 + k];
        return {
          a: a.name,
          b: b.name,
          power_W,
          resolved_fraction: told / repeats,
          false_fraction: wrong / repeats,
        };
      }),
    ),
  );
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

/** How often each pair was told apart, and how often the wrong way round, by load and the two coolers. */
type Counts = { told: number; wrong: number }[][][];

function noCounts(task: PlanTask): Counts {
  return task.question.power_W.map(() =>
    task.coolers.map(() => task.coolers.map(() => ({ told: 0, wrong: 0 }))),
  );
}

function countsOnHeater(
  task: PlanTask,
  planned: readonly (readonly PlannedRun[])[],
  seed: number,
  repeats: number,
): Counts {
  const drawers = task.coolers.map((one, c) => new TruthDrawer(task, one, planned[c]));
  const counts = noCounts(task);
  const covariance = learntScatter(
    task,
    task.coolers.map(({ posterior, at }, c) => outlookAfter(task.question, posterior, at, planned[c])),
  );
  const random = makeRandom(seed).split('rehearse');
  for (let repeat = 0; repeat < repeats; repeat++) {
    const draw = random.split(String(repeat));
    const found = task.coolers.map((one, c) => carriedOut(task, one, drawers[c], draw.split(one.name)));
    count(task, found, covariance, draw.split('scatter').normal(), counts);
  }
  return counts;
}

/** On a chip everything is Gaussian about the present estimates: what they move by and what is then left is drawn for all coolers together. */
function countsOnChip(
  task: PlanTask,
  planned: readonly (readonly PlannedRun[])[],
  seed: number,
  repeats: number,
): Counts {
  const { question, coolers } = task;
  const runs = planned.flatMap((own, cooler) => own.map((run) => ({ ...run, cooler })));
  const chip = new ChipPlan(question, coolers, runs);
  const after = chip.after(runs);
  const draw = chip.drawer(runs);
  const counts = noCounts(task);
  const random = makeRandom(seed).split('rehearse');
  for (let repeat = 0; repeat < repeats; repeat++) {
    const drawn = draw(random.split(String(repeat)));
    counts.forEach((byFirst, l) => {
      for (let i = 0; i < coolers.length; i++) {
        for (let j = i + 1; j < coolers.length; j++) {
          if (task.isBarred(i, j)) continue;
          const variance = chip.variance(after, i, j, l);
          const at = byFirst[i][j];
          if (variance === undefined) {
            if (isResolvedNow(task, i, j, l)) at.told++;
            continue;
          }
          const apart = (values: (cooler: number, l: number) => number | undefined) =>
            (values(i, l) as number) - (values(j, l) as number);
          const now = coolers[i].limitsNow[l].middle_K - coolers[j].limitsNow[l].middle_K;
          const found = now + apart(drawn.moved_K);
          if (Math.abs(found) <= chip.multiple(i, j, l) * Math.sqrt(variance)) continue;
          at.told++;
          if (found > 0 !== found + apart(drawn.error_K) > 0) at.wrong++;
        }
      }
    });
  }
  return counts;
}

function repeatsOf(repeats: number): number {
  if (!(Number.isInteger(repeats) && repeats >= 1 && repeats <= MOST_REPEATS)) {
    throw new BenchError(
      '--repeats',
      1,
      1,
      `${repeats} is no number of repeats; give a whole number from 1 to ${MOST_REPEATS}`,
    );
  }
  return repeats;
}

/** The plan's runs by cooler, with fittings named. */
function plannedOf(task: PlanTask, { runs }: RehearseOptions): PlannedRun[][] {
  const out = task.coolers.map(() => [] as PlannedRun[]);
  const standing = new Map<string, string>();
  runs.forEach((run, k) => {
    if (run.purpose !== undefined && run.purpose !== 'question') return;
    const c = task.coolers.findIndex((one) => one.name === run.cooler);
    if (c < 0) {
      const known = task.coolers.map((one) => one.name).join(', ');
      throw new BenchError(
        '--runs',
        k + 2,
        1,
        `no runs of a cooler "${run.cooler}" that tell of ${task.question.posterior.source}; give some of ${known}`,
      );
    }
    if (!(run.power_W > 0))
      throw new BenchError('--runs', k + 2, 1, `${run.power_W} W is no load; give one above 0 W`);
    const { posterior, at } = task.coolers[c];
    const sample = run.sample ?? posterior.data.runs[0].sample;
    const key = `${run.cooler}\u0000${sample}`;
    if (run.remount !== false || !standing.has(key)) standing.set(key, `planned/${k}`);
    out[c].push({
      sample,
      mount: standing.get(key) as string,
      power_W: run.power_W,
      fan_rpm: run.fan_rpm ?? at.fan_rpm,
    });
  });
  return out;
}

function minutesOf(task: PlanTask, { runs }: RehearseOptions, time: BenchTime): number {
  return runs.reduce((sum, run) => {
    const cooler = task.coolers.find((one) => one.name === run.cooler)?.posterior.data.cooler;
    const usual = (cooler ? time.settle_min(cooler) : 0) + (run.remount === false ? 0 : time.remount_min);
    return sum + (run.minutes ?? usual);
  }, 0);
}

/** What one repeat finds of a cooler, beside what is true. */
interface Found {
  readonly limits: readonly RiseLimits[];
  readonly truth: DrawnTruth;
}

function carriedOut(task: PlanTask, one: PlannedCoolerState, drawer: TruthDrawer, random: Random): Found {
  const truth = drawer.draw(random);
  const { posterior, power_W, critical } = task.question;
  if (!drawer.extended) return { limits: one.limitsNow, truth };
  const after = afterRuns(drawer.extended, truth.readings_K);
  if (!truth.limit) return { limits: riseLimits(posterior, after, one.at, power_W, critical), truth };
  // The limit showed: its excess is known but for an error of its own, and no further limit is looked for.
  const { node, error_K } = truth.limit;
  const bare = riseLimits(posterior, { ...after, limits: [] }, one.at, power_W, critical);
  const limits = bare.map((at, l) => {
    const extra = error_K[l] * critical(Number.POSITIVE_INFINITY);
    return {
      ...at,
      middle_K: at.middle_K + limitExcess(node, at.distribution.loading_W) + random.normal(0, error_K[l]),
      down_K: Math.hypot(at.down_K, extra),
      up_K: Math.hypot(at.up_K, extra),
    };
  });
  return { limits, truth };
}

function count(
  task: PlanTask,
  found: readonly Found[],
  covariance: Float64Array,
  z: number,
  counts: readonly (readonly (readonly { told: number; wrong: number }[])[])[],
): void {
  const { shared, power_W } = task.question;
  for (let l = 0; l < power_W.length; l++) {
    for (let i = 0; i < found.length; i++) {
      for (let j = i + 1; j < found.length; j++) {
        if (task.isBarred(i, j)) continue;
        const [a, b] = [found[i].limits[l], found[j].limits[l]];
        const { low_K, high_K } = differenceInterval(
          learnt(a, task, covariance, z),
          learnt(b, task, covariance, z),
          shared,
          task.multiple,
        );
        if (low_K <= 0 && high_K >= 0) continue;
        const at = counts[l][i][j];
        at.told++;
        const truly = found[i].truth.mean_K[l] - found[j].truth.mean_K[l];
        if (low_K > 0 !== truly > 0) at.wrong++;
      }
    }
  }
}

/** Limits with the scatters estimated anew, `z` standard deviations from where they are now. */
function learnt(limits: RiseLimits, task: PlanTask, covariance: Float64Array, z: number): RiseLimits {
  const { scatterShares } = limits.distribution;
  const now = freedomOf(scatterShares, task.question.posterior.scatter.logVarianceCovariance);
  const freedom = { now, after: freedomOf(scatterShares, covariance) };
  const { stretch, spread } = widthChange(freedom, task.question.critical);
  const scale = stretch * Math.exp(z * spread);
  return { ...limits, down_K: limits.down_K * scale, up_K: limits.up_K * scale };
}
