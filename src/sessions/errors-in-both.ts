import { cholesky, solveLower } from '../numerics/matrix.ts';

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
 * linear; the ratio is found by golden section. Uncertainties are those of the curvature at the least value.
 *
 * @throws RangeError without values or with a covariance that is not positive definite
 */
export function lineWithErrorsInBoth(blocks: readonly PairedValues[], prior: LinePrior): PairedLine {
  const count = blocks.reduce((sum, block) => sum + block.x.length, 0);
  if (count === 0) throw new RangeError('lineWithErrorsInBoth: no paired values');
  const profile = (ratio: number) => atRatio(blocks, ratio, prior);
  const ratio = leastNear((r) => profile(r).total, startRatio(blocks, profile));
  const { offset, total } = profile(ratio);
  const sum = (a: number, b: number) => distance(blocks, a, b, prior);
  // Steps of a three-hundredth of the standard uncertainty: no rounding shows, nor that the sum is no parabola.
  let curve = curvature(sum, offset, ratio, 1e-3, 1e-4);
  for (let k = 0; k < 2; k++) {
    curve = curvature(sum, offset, ratio, Math.sqrt(2 / curve.aa) / 300, Math.sqrt(2 / curve.bb) / 300);
  }
  // The sum is −2·log likelihood: the covariance is twice the inverse of its curvature.
  const determinant = curve.aa * curve.bb - curve.ab * curve.ab;
  return {
    offset,
    ratio,
    offsetVariance: (2 * curve.bb) / determinant,
    ratioVariance: (2 * curve.aa) / determinant,
    covariance: (-2 * curve.ab) / determinant,
    chiSquared: total,
    freedom: Math.max(count - 2, 0),
  };
}

/** Sum of squares at a ratio with the offset that makes it least. */
function atRatio(
  blocks: readonly PairedValues[],
  ratio: number,
  prior: LinePrior,
): { offset: number; total: number } {
  // In the offset the sum is a parabola: three values give its lowest point.
  const [low, middle, high] = [-1, 0, 1].map((offset) => distance(blocks, offset, ratio, prior));
  const offset = (low - high) / (2 * (low - 2 * middle + high));
  return { offset, total: distance(blocks, offset, ratio, prior) };
}

/** One, or the slope of an ordinary straight line where that is nearer. */
function startRatio(blocks: readonly PairedValues[], profile: (ratio: number) => { total: number }): number {
  const x = blocks.flatMap((block) => [...block.x]);
  const y = blocks.flatMap((block) => [...block.y]);
  const mx = x.reduce((a, b) => a + b, 0) / x.length;
  const my = y.reduce((a, b) => a + b, 0) / y.length;
  const sxx = x.reduce((a, v) => a + (v - mx) ** 2, 0);
  const slope = sxx > 0 ? x.reduce((a, v, i) => a + (v - mx) * (y[i] - my), 0) / sxx : 1;
  return profile(slope).total < profile(1).total ? slope : 1;
}

/** Least value of a function of one variable, downhill from a start. */
function leastNear(f: (x: number) => number, start: number): number {
  let step = 0.01;
  let low = start - step;
  let high = start + step;
  for (let k = 0; k < 40 && f(low) < f(low + step); k++, step *= 1.6) low -= step;
  step = 0.01;
  for (let k = 0; k < 40 && f(high) < f(high - step); k++, step *= 1.6) high += step;
  const golden = (Math.sqrt(5) - 1) / 2;
  let a = high - golden * (high - low);
  let b = low + golden * (high - low);
  let fa = f(a);
  let fb = f(b);
  while (high - low > 1e-8 * (1 + Math.abs(low))) {
    if (fa < fb) {
      [high, b, fb] = [b, a, fa];
      a = high - golden * (high - low);
      fa = f(a);
    } else {
      [low, a, fa] = [a, b, fb];
      b = low + golden * (high - low);
      fb = f(b);
    }
  }
  return (low + high) / 2;
}

function distance(blocks: readonly PairedValues[], offset: number, ratio: number, prior: LinePrior): number {
  let total = (offset / prior.offset_sd) ** 2 + ((ratio - 1) / prior.ratio_sd) ** 2;
  for (const { x, y, xCovariance, yCovariance } of blocks) {
    const n = x.length;
    const covariance = yCovariance.map((v, i) => v + ratio * ratio * xCovariance[i]);
    if (!cholesky(covariance, n)) {
      throw new RangeError('lineWithErrorsInBoth: a covariance is not positive definite');
    }
    const d = y.map((value, i) => value - offset - ratio * x[i]);
    solveLower(covariance, n, d);
    for (const part of d) total += part * part;
  }
  return total;
}

function curvature(
  f: (a: number, b: number) => number,
  a: number,
  b: number,
  da: number,
  db: number,
): { a: number; b: number; aa: number; bb: number; ab: number } {
  const middle = f(a, b);
  const up = f(a + da, b);
  const down = f(a - da, b);
  const right = f(a, b + db);
  const left = f(a, b - db);
  return {
    a: (up - down) / (2 * da),
    b: (right - left) / (2 * db),
    aa: Math.max((up - 2 * middle + down) / (da * da), 1e-12),
    bb: Math.max((right - 2 * middle + left) / (db * db), 1e-12),
    ab: (f(a + da, b + db) - f(a + da, b - db) - f(a - da, b + db) + f(a - da, b - db)) / (4 * da * db),
  };
}
