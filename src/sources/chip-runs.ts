import type { Bench, Run } from '../bench/bench.ts';
import { commonMountShare } from '../bench/mounts.ts';
import { heatIntoBase, isZeroLoad, riseOf } from '../bench/run.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { relativeSpeed } from '../posterior/cooler-runs.ts';
import { MOUNT, READING, SAMPLE } from '../posterior/scatter.ts';
import { PASTE, sharedErrorCount } from '../posterior/shared-error-order.ts';
import { jointRises, type RiseMoments, type RisePoint, riseMoments } from '../prediction/joint-rises.ts';
import { densityShare } from '../room/bench-air.ts';
import type { TermPrior } from './term-prior.ts';

/** Where a cooler's heater curve is asked for: at a heat into its base, for one specimen or for the mean over specimens. */
export interface HeatPoint extends Omit<RisePoint, 'power_W'> {
  readonly base_W: number;
}

/** The heater curve of a cooler at heats into its base, as one Gaussian. */
export function risesAtHeat(
  heater: BenchPosterior,
  cooler: CoolerPosterior,
  points: readonly HeatPoint[],
): RiseMoments {
  const at = points.map(({ base_W, ...point }) => ({ ...point, power_W: base_W }));
  // The load is the heat into the base already: nothing leaks on the way.
  const source = { leak_W_per_K: 0, series_K_per_W: 0 };
  return riseMoments(cooler, jointRises(heater, cooler, at, { want: 'covariance', source }));
}

/**
 * The errors that all runs on a chip have in common, after those of the heater bench: chip's sensor (K), its power figure
 * (relative), its leak (W/K), its term (K/W), the effect of the base's thickness on it (relative), then the paste state of
 * each session that the heater's runs do not share (K/W).
 */
export interface SharedErrors {
  readonly sensor: number;
  readonly power: number;
  readonly leak: number;
  readonly term: number;
  readonly base: number;
  /** Column of a session's paste state, by session name. */
  readonly pasteOf: ReadonlyMap<string | undefined, number>;
  readonly count: number;
}

/** Columns of the shared errors for runs in these sessions. */
export function sharedErrors(
  heater: BenchPosterior,
  sessions: readonly (string | undefined)[],
): SharedErrors {
  const first = sharedErrorCount(heater.sessions);
  const pasteOf = new Map<string | undefined, number>();
  let next = first + 5;
  for (const session of sessions) {
    if (pasteOf.has(session)) continue;
    // With one session on the bench its paste is in the heater's runs too.
    const common = !heater.sessionEffects && heater.sessions.includes(session);
    pasteOf.set(session, common ? PASTE : next++);
  }
  return {
    sensor: first,
    power: first + 1,
    leak: first + 2,
    term: first + 3,
    base: first + 4,
    pasteOf,
    count: next,
  };
}

/** Runs on a chip, each beside what the heater's runs of its cooler and the prior of the term predict. */
export interface ChipRuns {
  readonly runs: readonly Run[];
  /** Index of each run's cooler among the heater's coolers. */
  readonly cooler: readonly number[];
  readonly points: readonly HeatPoint[];
  /** Rise as read less the prediction, K. */
  readonly residual_K: Float64Array;
  /** Effect of each shared error on the residuals, n × S. */
  readonly design: Float64Array;
  /** Covariance of the residuals, shared errors and the scatter between coolers apart, n × n. */
  readonly own: Float64Array;
}

/**
 * The chip's runs of coolers that were run on the heater as well.
 *
 * With y the rise as read, Q = P − G·y its heat into the base, H(Q) the heater's prediction there and Δ₀ the prior of the term,
 * r = y − H(Q) − Q·Δ₀. To first order r is Q·(Δ − Δ₀ + b + mount + …), less the error of H, plus (1 + G·A)·(sensor + reading),
 * A·P per relative error of the power and −A·y per W/K of the leak, where A = dy/dQ.
 */
export function chipRuns(
  heater: BenchPosterior,
  source: string,
  leak_W_per_K: number,
  prior: TermPrior,
  shared: SharedErrors,
): ChipRuns {
  const runs: Run[] = [];
  const cooler: number[] = [];
  heater.coolers.forEach((one, c) => {
    for (const run of runsOn(heater, one, source)) {
      runs.push(run);
      cooler.push(c);
    }
  });
  const n = runs.length;
  const points = runs.map((run, i) => heatPoint(heater.bench, heater.coolers[cooler[i]], run, leak_W_per_K));
  const residual_K = new Float64Array(n);
  const design = new Float64Array(n * shared.count);
  const own = new Float64Array(n * n);
  const { sigma } = heater.scatter;
  for (let first = 0; first < n; ) {
    let end = first;
    while (end < n && cooler[end] === cooler[first]) end++;
    const c = heater.coolers[cooler[first]];
    const term = prior.value_K_per_W(c.data.cooler);
    const joint = risesAtHeat(heater, c, points.slice(first, end));
    const size = end - first;
    for (let i = first; i < end; i++) {
      const run = runs[i];
      const q = points[i].base_W;
      const y = riseOf(run);
      const slope = joint.slope_K_per_W[i - first] + term;
      const damping = 1 + leak_W_per_K * slope;
      residual_K[i] = y - joint.mean[i - first] - q * term;
      design.set(
        errorsOfRun(heater, shared, joint, i - first, {
          base_W: q,
          rise_K: y,
          power_W: run.power_W,
          slope_K_per_W: slope,
          damping,
          baseEffect_K_per_W: prior.baseEffect_K_per_W(c.data.cooler),
          session: run.session,
        }),
        i * shared.count,
      );
      for (let j = first; j < end; j++) {
        own[i * n + j] +=
          joint.covariance[(i - first) * size + j - first] +
          q * points[j].base_W * sharedFitting(runs[i], runs[j], points[i].sample !== undefined, sigma);
      }
      own[i * n + i] += (damping * sigma[READING]) ** 2 + (run.u_K ?? 0) ** 2;
    }
    first = end;
  }
  return { runs, cooler, points, residual_K, design, own };
}

/** A run on a chip as its shared errors see it. */
export interface RunOnChip {
  readonly base_W: number;
  readonly rise_K: number;
  readonly power_W: number;
  /** ∂rise/∂(heat into the base), the term included. */
  readonly slope_K_per_W: number;
  /** 1 + G·slope. */
  readonly damping: number;
  readonly baseEffect_K_per_W: number;
  readonly session: string | undefined;
}

/**
 * Effect of each shared error on a run's residual.
 *
 * @param t  the run's point in `joint`
 */
export function errorsOfRun(
  heater: BenchPosterior,
  shared: SharedErrors,
  joint: RiseMoments,
  t: number,
  run: RunOnChip,
): Float64Array {
  const out = new Float64Array(shared.count);
  const heaterErrors = sharedErrorCount(heater.sessions);
  for (let k = 0; k < heaterErrors; k++) out[k] = -joint.sensitivity[t * heaterErrors + k];
  out[shared.sensor] = run.damping;
  out[shared.power] = run.slope_K_per_W * run.power_W;
  out[shared.leak] = -run.slope_K_per_W * run.rise_K;
  out[shared.term] = run.base_W;
  out[shared.base] = run.base_W * run.baseEffect_K_per_W;
  out[shared.pasteOf.get(run.session) ?? PASTE] += run.base_W;
  return out;
}

/** Runs of a cooler with heat on, on a source. */
export function runsOn(posterior: BenchPosterior, cooler: CoolerPosterior, source: string): Run[] {
  const name = cooler.data.cooler.cooler;
  return posterior.bench.runs.filter(
    (run) => run.source === source && run.cooler === name && !isZeroLoad(run),
  );
}

function heatPoint(bench: Bench, cooler: CoolerPosterior, run: Run, leak_W_per_K: number): HeatPoint {
  const known = cooler.data.runs.some((own) => own.sample === run.sample);
  return {
    base_W: heatIntoBase(run.power_W, riseOf(run), leak_W_per_K),
    speed: relativeSpeed(cooler.data.cooler, run.fan_rpm) * densityShare(bench, run),
    ...(known ? { sample: run.sample } : {}),
  };
}

/** Variance, (K/W)², that two runs of one cooler on the chip share through specimen and fitting. */
function sharedFitting(a: Run, b: Run, sampleOnHeater: boolean, sigma: readonly number[]): number {
  if (a.sample !== b.sample) return 0;
  // A specimen that was run on the heater has its share in the heater's covariance.
  const sample = sampleOnHeater ? 0 : sigma[SAMPLE] ** 2;
  return sample + commonMountShare(a, b) * sigma[MOUNT] ** 2;
}
