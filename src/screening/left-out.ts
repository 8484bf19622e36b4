import type { Run } from '../bench/bench.ts';
import { sourceOf } from '../bench/source.ts';
import { type Gaussian, given } from '../numerics/gaussian.ts';
import { cholesky, solveLower, solveUpperT } from '../numerics/matrix.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import type { CoolerRuns } from '../posterior/cooler-runs.ts';
import { type FormulaRises, jointRises } from '../prediction/joint-rises.ts';
import { satterthwaite } from '../prediction/rise-distribution.ts';
import { readingPoint } from '../prediction/rise-point.ts';
import { sessionShifts } from './as-in-one-session.ts';

/**
 * All runs of one cooler under one fitted formula, as one Gaussian before any of them: those the fit has seen and those set aside.
 * Leaving any set of runs out is then conditioning on the others, without a refit.
 *
 * Source: deleted residuals: Cook and Weisberg (1982), Residuals and Influence in Regression.
 */
export interface JointRuns extends FormulaRises {
  readonly data: CoolerRuns;
  readonly leak_W_per_K: number;
}

/**
 * The joint Gaussians of a cooler's readings, one a formula that counts; what the sessions added and what is unknown of it included.
 *
 * @param clean  posterior without the suspects
 * @param data  all runs of the cooler, suspects included, with their rises as read
 */
export function jointRuns(clean: BenchPosterior, cooler: CoolerPosterior, data: CoolerRuns): JointRuns[] {
  const session = sessionShifts(clean, data);
  return jointRises(
    clean,
    cooler,
    data.runs.map((_, i) => readingPoint(data, i)),
    { given: 'none', want: 'covariance' },
  ).map((formula) => ({
    ...formula,
    mean: formula.mean.map((rise, i) => rise + session.shift_K[i]),
    covariance: formula.covariance.map((value, k) => value + session.covariance[k]),
    data,
    leak_W_per_K: sourceOf(clean.bench, clean.source).leak_W_per_K.value,
  }));
}

/** Readings as others have them. */
export interface Deleted {
  /** Deleted residual of each, K. */
  readonly residual_K: Float64Array;
  /** Lower Cholesky factor of their conditional covariance, m × m. */
  readonly factor: Float64Array;
  /** Regression weights on the others, others × m. */
  readonly weights: Float64Array;
}

/** A block of runs as the others have it. */
export interface LeftOut extends Deleted {
  readonly joint: JointRuns;
  /** Row numbers of the block and of the runs that judge it. */
  readonly block: readonly number[];
  readonly others: readonly number[];
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
  const others = joint.data.runs.flatMap((run, i) => (!block.includes(i) && trusted(run) ? [i] : []));
  return { joint, block, others, ...deleted(joint, joint.data.rise_K, block, others) };
}

/**
 * Deleted residuals of some readings.
 *
 * @param readings  all of them
 * @throws RangeError where the covariance is not positive definite
 */
export function deleted(
  prior: Gaussian,
  readings: Float64Array,
  block: readonly number[],
  others: readonly number[],
): Deleted {
  const known = Float64Array.from(others, (i) => readings[i]);
  const { mean, covariance: factor, weights } = given(prior, others, known, { of: block });
  if (!cholesky(factor, block.length)) throw new RangeError('leaveOut: the block has no spread of its own');
  return { residual_K: mean.map((rise, b) => readings[block[b]] - rise), factor, weights };
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
  const contrast = left.block.map((i, b) => [i, weights[b]] as const);
  left.others.forEach((i, k) => {
    let pull = 0;
    for (let b = 0; b < m; b++) pull += left.weights[k * m + b] * weights[b];
    contrast.push([i, -pull]);
  });
  return {
    t: variance > 0 ? top / Math.sqrt(variance) : 0,
    freedom: satterthwaite(
      variance,
      left.joint.scatterResponse(contrast),
      clean.scatter.logVarianceCovariance,
    ),
  };
}

/** log N(residual; 0, S), less the constants that every shift of the block shares. */
export function logDensityOf(left: LeftOut): number {
  const scaled = left.residual_K.slice();
  solveLower(left.factor, scaled.length, scaled);
  return -scaled.reduce((sum, value) => sum + value * value, 0) / 2;
}
