import type { Run } from '../bench/bench.ts';
import { sourceOf } from '../bench/source.ts';
import { cholesky, solveLower, solveUpperT } from '../numerics/matrix.ts';
import type { ComponentFactor } from '../numerics/reml.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import type { CoolerRuns } from '../posterior/cooler-runs.ts';
import type { CurvePosterior } from '../posterior/curve-posterior.ts';
import { type CurveValues, curveValues } from '../posterior/rise-curve.ts';
import { componentFactors, runCovariance } from '../posterior/scatter.ts';
import { satterthwaite } from '../prediction/rise-distribution.ts';
import { sessionShifts } from './as-in-one-session.ts';

/**
 * All runs of one cooler under one fitted formula, as one joint Gaussian: those the fit has seen and those set aside.
 *
 * About the prior mean the runs have covariance M = V + J·T·Jᵀ, with V the full scatter model (sample, mount, session, reading, shape) and
 * T the prior of the curve; d is their departure from the prior mean, linearised at the mode. Leaving any set of runs out is then
 * conditioning, without a refit: what is left predicts the block B as M_BC·M_CC⁻¹·d_C with covariance M_BB − M_BC·M_CC⁻¹·M_CB.
 *
 * Source: Rasmussen and Williams (2006), Gaussian Processes for Machine Learning, A.2; deleted residuals: Cook and Weisberg (1982).
 */
export interface JointRuns {
  readonly data: CoolerRuns;
  readonly fitted: CurvePosterior;
  readonly weight: number;
  readonly leak_W_per_K: number;
  readonly at: CurveValues;
  readonly covariance: Float64Array;
  readonly departure: Float64Array;
  readonly factors: readonly ComponentFactor[];
}

/** Curves with less weight than this are not asked. */
const LEAST_WEIGHT = 0.02;

/**
 * The joint Gaussians of a cooler, one a formula with weight.
 *
 * @param clean  posterior without the suspects
 * @param data  all runs of the cooler, suspects included, with their rises as read
 */
export function jointRuns(clean: BenchPosterior, cooler: CoolerPosterior, data: CoolerRuns): JointRuns[] {
  const n = data.runs.length;
  const leak = sourceOf(clean.bench, clean.source).leak_W_per_K.value;
  const factors = componentFactors(data, cooler.typical_K_per_W);
  const sigma = clean.scatter.sigma.map((s, k) => (clean.active[k] ? s : 0));
  const scatter = runCovariance(data, factors, sigma);
  const session = sessionShifts(clean, data);
  for (let i = 0; i < n * n; i++) scatter[i] += session.covariance[i];
  const used = cooler.curves
    .map((fitted, m) => ({ fitted, weight: cooler.weights[m] }))
    .filter(({ weight }) => weight > LEAST_WEIGHT);
  const total = used.reduce((sum, { weight }) => sum + weight, 0);
  return used.map(({ fitted, weight }): JointRuns => {
    const p = fitted.eta.length;
    const at = curveValues(n, p);
    fitted.curve.evaluate(fitted.eta, data, leak, at);
    const covariance = scatter.slice();
    const departure = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      departure[i] = data.rise_K[i] - session.shift_K[i] - at.rise_K[i];
      for (let k = 0; k < p; k++) {
        const slope = at.jacobian[i * p + k];
        departure[i] += slope * (fitted.eta[k] - fitted.prior.mean[k]);
        const scaled = slope * fitted.prior.deviation[k] ** 2;
        for (let j = 0; j < n; j++) covariance[i * n + j] += scaled * at.jacobian[j * p + k];
      }
    }
    return { data, fitted, weight: weight / total, leak_W_per_K: leak, at, covariance, departure, factors };
  });
}

/** A block of runs as the others see it. */
export interface LeftOut {
  readonly joint: JointRuns;
  /** Row numbers of the block and of the runs that judge it. */
  readonly block: readonly number[];
  readonly others: readonly number[];
  /** Deleted residual of each run of the block, K. */
  readonly residual_K: Float64Array;
  /** Cholesky factor of its covariance, m × m. */
  readonly factor: Float64Array;
  /** M_CC⁻¹·M_CB, others × block. */
  readonly pull: Float64Array;
}

/**
 * Leaves a block of runs out and lets the others predict it.
 *
 * @param trusted  runs that may judge; those of the block never do
 */
export function leaveOut(
  joint: JointRuns,
  block: readonly number[],
  trusted: (run: Run) => boolean,
): LeftOut {
  const n = joint.data.runs.length;
  const others: number[] = [];
  for (let i = 0; i < n; i++) if (!block.includes(i) && trusted(joint.data.runs[i])) others.push(i);
  return { joint, block, others, ...conditioned(joint.covariance, joint.departure, block, others) };
}

/**
 * Rows of a joint Gaussian given other rows of it: what is left of their departure, the Cholesky factor of its covariance, and M_CC⁻¹·M_CB.
 *
 * @param covariance  n × n
 * @param departure  n, from the mean
 * @throws RangeError where the covariance is not positive definite
 */
export function conditioned(
  covariance: Float64Array,
  departure: Float64Array,
  block: readonly number[],
  others: readonly number[],
): { residual_K: Float64Array; factor: Float64Array; pull: Float64Array } {
  const n = departure.length;
  const m = block.length;
  const c = others.length;
  const among = pick(covariance, n, others, others);
  if (!cholesky(among, c))
    throw new RangeError('leaveOut: the covariance of the runs is not positive definite');
  const pull = pick(covariance, n, others, block);
  solveLower(among, c, pull, m);
  solveUpperT(among, c, pull, m);
  const cross = pick(covariance, n, others, block);
  const factor = pick(covariance, n, block, block);
  const residual_K = Float64Array.from(block, (i) => departure[i]);
  for (let b = 0; b < m; b++) {
    for (let k = 0; k < c; k++) {
      residual_K[b] -= pull[k * m + b] * departure[others[k]];
      for (let e = 0; e < m; e++) factor[b * m + e] -= pull[k * m + b] * cross[k * m + e];
    }
  }
  if (!cholesky(factor, m)) throw new RangeError('leaveOut: the block has no spread of its own');
  return { residual_K, factor, pull };
}

function pick(
  matrix: Float64Array,
  n: number,
  rows: readonly number[],
  columns: readonly number[],
): Float64Array {
  const out = new Float64Array(rows.length * columns.length);
  rows.forEach((i, a) => {
    columns.forEach((j, b) => {
      out[a * columns.length + b] = matrix[i * n + j];
    });
  });
  return out;
}

/** A deleted residual in one direction. */
export interface DirectionTest {
  /** Residual along the direction over its standard deviation. */
  readonly t: number;
  /** Degrees of freedom of the scatter in it. */
  readonly freedom: number;
}

/**
 * The most telling contrast for a shift along `direction`: the generalised least squares estimate of the shift's size over its standard deviation.
 *
 * @param direction  shift of each run of the block for one unit of the fault, K
 */
export function testAlong(clean: BenchPosterior, left: LeftOut, direction: ArrayLike<number>): DirectionTest {
  const m = left.block.length;
  const weights = Float64Array.from(direction);
  solveLower(left.factor, m, weights);
  const variance = weights.reduce((sum, w) => sum + w * w, 0);
  solveUpperT(left.factor, m, weights);
  let top = 0;
  for (let b = 0; b < m; b++) top += weights[b] * left.residual_K[b];
  const n = left.joint.data.runs.length;
  const contrast = new Float64Array(n);
  left.block.forEach((i, b) => {
    contrast[i] = weights[b];
  });
  left.others.forEach((i, k) => {
    for (let b = 0; b < m; b++) contrast[i] -= left.pull[k * m + b] * weights[b];
  });
  const { sigma, logVarianceCovariance } = clean.scatter;
  const slopes = Float64Array.from(sigma, (s, k) =>
    clean.active[k] ? s * s * projected(left.joint.factors[k], contrast, n) : 0,
  );
  return {
    t: variance > 0 ? top / Math.sqrt(variance) : 0,
    freedom: satterthwaite(variance, slopes, logVarianceCovariance),
  };
}

/** aᵀ·Z·Zᵀ·a. */
function projected({ z, columns }: ComponentFactor, a: Float64Array, n: number): number {
  let sum = 0;
  for (let c = 0; c < columns; c++) {
    let dot = 0;
    for (let i = 0; i < n; i++) dot += z[i * columns + c] * a[i];
    sum += dot * dot;
  }
  return sum;
}

/** log N(residual; 0, S), less the constants that every shift of the block shares. */
export function logDensityOf(left: LeftOut): number {
  const scaled = left.residual_K.slice();
  solveLower(left.factor, scaled.length, scaled);
  return -scaled.reduce((sum, value) => sum + value * value, 0) / 2;
}
