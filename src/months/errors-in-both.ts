import { addScaled, cholesky, dot, inverseForm, product, solveFactored } from '../numerics/matrix.ts';
import { rootBetween } from '../numerics/roots.ts';

/** Values of one cooler under two procedures at the same conditions, with their covariances, n and n × n. */
export interface PairedValues {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly xCovariance: Float64Array;
  readonly yCovariance: Float64Array;
}

/** A straight line y = offset + ratio·x. */
export interface PairedLine {
  readonly offset: number;
  readonly ratio: number;
  /** Variances of offset and ratio and their covariance. */
  readonly offsetVariance: number;
  readonly ratioVariance: number;
  readonly covariance: number;
  /** Weighted sum of squared distances, and what is left of the values once the line is drawn. */
  readonly chiSquared: number;
  readonly freedom: number;
}

/** What is taken for granted of the line before the values speak. */
export interface LinePrior {
  readonly offset_sd: number;
  readonly ratio_sd: number;
}

/**
 * The line through paired values that both carry errors, correlated within a block.
 *
 * With the true x free, the distance of a block from the line has covariance V_y + ratio²·V_x, so the sum of
 * squares Σ dᵀ(V_y + ratio²·V_x)⁻¹d is the likelihood once the true values are taken out (generalised Deming regression:
 * Fuller 1987, Measurement Error Models, 1.3; ISO 6143 fits calibration lines the same way). For a given ratio the offset is
 * linear; the ratio is where the slope of the sum so reduced is zero. Uncertainties are those of the curvature there.
 *
 * @throws RangeError without values or with a covariance that is not positive definite
 */
export function lineWithErrorsInBoth(blocks: readonly PairedValues[], prior: LinePrior): PairedLine {
  const count = blocks.reduce((sum, block) => sum + block.x.length, 0);
  if (count === 0) throw new RangeError('lineWithErrorsInBoth: no paired values');
  const slope = (ratio: number) => sumAt(blocks, bestOffset(blocks, ratio, prior), ratio, prior).byRatio;
  const ratio = dipNear(slope, startRatio(blocks, prior));
  const offset = bestOffset(blocks, ratio, prior);
  const at = sumAt(blocks, offset, ratio, prior);
  // The sum is −2·log likelihood: the covariance is twice the inverse of its curvature.
  const [aa, bb] = [at.offsetTwice, Math.max(at.ratioTwice, 1e-12)];
  const determinant = aa * bb - at.both ** 2;
  return {
    offset,
    ratio,
    offsetVariance: (2 * bb) / determinant,
    ratioVariance: (2 * aa) / determinant,
    covariance: (-2 * at.both) / determinant,
    chiSquared: at.total,
    freedom: Math.max(count - 2, 0),
  };
}

/** In the offset the sum is a parabola: its slope at zero and its curvature give its lowest point. */
function bestOffset(blocks: readonly PairedValues[], ratio: number, prior: LinePrior): number {
  const { byOffset, offsetTwice } = sumAt(blocks, 0, ratio, prior);
  return -byOffset / offsetTwice;
}

/** One, or the slope of an ordinary straight line where that is nearer. */
function startRatio(blocks: readonly PairedValues[], prior: LinePrior): number {
  const least = (ratio: number) => sumAt(blocks, bestOffset(blocks, ratio, prior), ratio, prior).total;
  const x = blocks.flatMap((block) => [...block.x]);
  const y = blocks.flatMap((block) => [...block.y]);
  const mx = x.reduce((a, b) => a + b, 0) / x.length;
  const my = y.reduce((a, b) => a + b, 0) / y.length;
  const sxx = x.reduce((a, v) => a + (v - mx) ** 2, 0);
  const slope = sxx > 0 ? x.reduce((a, v, i) => a + (v - mx) * (y[i] - my), 0) / sxx : 1;
  return least(slope) < least(1) ? slope : 1;
}

/** Where a slope turns from down to up, nearest downhill from a start. */
function dipNear(slope: (x: number) => number, start: number): number {
  const way = slope(start) > 0 ? -1 : 1;
  let [near, far] = [start, start + 0.01 * way];
  for (let step = 0.016; slope(far) * way < 0 && step < 1e6; step *= 1.6) {
    near = far;
    far += step * way;
  }
  return rootBetween(slope, near, far, 1e-14);
}

/**
 * The sum of squares at a line, with its first and second derivatives.
 *
 * With W = (V_y + ratio²·V_x)⁻¹, w = W·d and g = x + 2·ratio·V_x·w they are −2·1ᵀw and −2·xᵀw − 2·ratio·wᵀV_x·w, then
 * 2·1ᵀW·1, 2·1ᵀW·g and 2·gᵀW·g − 2·wᵀV_x·w.
 */
function sumAt(blocks: readonly PairedValues[], offset: number, ratio: number, prior: LinePrior) {
  const [a, b] = [prior.offset_sd ** -2, prior.ratio_sd ** -2];
  let total = a * offset ** 2 + b * (ratio - 1) ** 2;
  let [byOffset, byRatio] = [2 * a * offset, 2 * b * (ratio - 1)];
  let [offsetTwice, ratioTwice, both] = [2 * a, 2 * b, 0];
  for (const { x, y, xCovariance, yCovariance } of blocks) {
    const n = x.length;
    const factor = addScaled(yCovariance.slice(), xCovariance, ratio * ratio);
    if (!cholesky(factor, n)) {
      throw new RangeError('lineWithErrorsInBoth: a covariance is not positive definite');
    }
    const d = y.map((value, i) => value - offset - ratio * x[i]);
    const w = solveFactored(factor, n, d.slice());
    const moved = product(xCovariance, w, n, n);
    const form = dot(w, moved);
    const g = addScaled(x.slice(), moved, 2 * ratio);
    const ones = new Float64Array(n).fill(1);
    const weightedOnes = solveFactored(factor, n, ones.slice());
    total += dot(d, w);
    byOffset -= 2 * dot(ones, w);
    byRatio -= 2 * dot(x, w) + 2 * ratio * form;
    offsetTwice += 2 * dot(ones, weightedOnes);
    both += 2 * dot(weightedOnes, g);
    ratioTwice += 2 * inverseForm(factor, g) - 2 * form;
  }
  return { total, byOffset, byRatio, offsetTwice, ratioTwice, both };
}
