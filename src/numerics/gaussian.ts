import {
  addDiagonal,
  addGram,
  addTransposeProduct,
  cholesky,
  choleskyWithRidge,
  dot,
  inverseForm,
  logDeterminant,
  product,
  solveFactored,
  solveLower,
  solveUpperT,
  submatrix,
} from './matrix.ts';

/** A multivariate normal distribution of n quantities; the covariance is row-major, n × n. */
export interface Gaussian {
  readonly mean: Float64Array;
  readonly covariance: Float64Array;
}

/** The distribution of k quantities once m others are known. */
export interface ConditionalGaussian extends Gaussian {
  /** Regression weights W = (Σ_RR + N)⁻¹·Σ_Rx, m × k: the conditional mean is μ_x + Wᵀ·(values − μ_R). */
  readonly weights: Float64Array;
  /** ln of the density of the values before they were known. */
  readonly logDensity: number;
}

/**
 * A Gaussian given the values of some of its quantities: the one conditioning that everything here uses.
 *
 * With R the rows that are known and x those asked for, x is normal about μ_x + Σ_xR·(Σ_RR + N)⁻¹·(values − μ_R) with
 * covariance Σ_xx − Σ_xR·(Σ_RR + N)⁻¹·Σ_Rx. N is diagonal: the variance of the error with which each value was read,
 * zero where the quantity itself is known. Kriging, Kalman updates, deleted residuals and expected posteriors are all this.
 *
 * Source: Rasmussen and Williams (2006), Gaussian Processes for Machine Learning, A.2; Anderson (2003), An Introduction
 * to Multivariate Statistical Analysis, 3rd ed., theorem 2.5.1.
 *
 * @param rows  indices of the known quantities
 * @param values  what they are; absent: the means, where only the covariance is asked for
 * @param of  indices of the quantities asked for; absent: all but `rows`, in their order
 * @param noise  variance of each value's own error, m; absent: zero
 * @throws RangeError where the covariance of the known rows is not positive definite
 * @example
 * // Two standard normals of correlation 0.6, the first found to be 2: the second is 1.2 with variance 0.64.
 * given({ mean: Float64Array.of(0, 0), covariance: Float64Array.of(1, 0.6, 0.6, 1) }, [0], [2]).mean[0] // 1.2
 */
export function given(
  { mean, covariance }: Gaussian,
  rows: readonly number[],
  values: ArrayLike<number> | undefined,
  { of, noise }: { readonly of?: readonly number[]; readonly noise?: ArrayLike<number> } = {},
): ConditionalGaussian {
  const n = mean.length;
  const known = new Set(rows);
  const asked = of ?? Array.from(mean.keys()).filter((i) => !known.has(i));
  const m = rows.length;
  const k = asked.length;
  const factor = submatrix(covariance, n, rows);
  if (noise) addDiagonal(factor, m, Float64Array.from(noise));
  // Exact readings leave a covariance that is singular to rounding: a jitter of that size settles it.
  const most = Math.max(...Array.from({ length: m }, (_, k) => factor[k * m + k]), 0);
  const jitters = most > 0 ? [0, 1, 2, 3, 4, 5].map((k) => most * 10 ** (k - 14)) : [];
  if (!choleskyWithRidge(factor, m, jitters))
    throw new RangeError('given: the covariance of what is known is not positive definite');
  const weights = submatrix(covariance, n, rows, asked);
  const after = submatrix(covariance, n, asked);
  solveLower(factor, m, weights, k);
  addTransposeProduct(after, weights, weights, m, k, k, -1);
  solveUpperT(factor, m, weights, k);
  const off = Float64Array.from(rows, (i, r) => (values ? values[r] - mean[i] : 0));
  const middle = Float64Array.from(asked, (i) => mean[i]);
  addTransposeProduct(middle, weights, off, m, k);
  const logDensity = -(logDeterminant(factor, m) + inverseForm(factor, off) + m * Math.log(2 * Math.PI)) / 2;
  return { mean: middle, covariance: after, weights, logDensity };
}

/** A quantity as it is known from readings: its mean, and its error as a sum of independent standard normal errors. */
export interface KnownFromReadings {
  readonly mean: number;
  readonly errors: Float64Array;
}

/**
 * The same conditioning where all is written as sums of independent standard normal errors: readings E·z, a quantity eᵀ·z.
 *
 * Given the readings the quantity is aᵀ·values with a = (E·Eᵀ)⁻¹·E·e, and what is left of its error is e − Eᵀ·a: the part of e
 * that is orthogonal to the readings. Errors of several quantities stay sums of the same z, so that what they have in
 * common cancels in their differences without a covariance of all with all.
 *
 * @param errors  E, m × (number of errors)
 * @param values  of the readings, about their means, m
 * @returns for any e the quantity's mean about its own and its error
 * @throws RangeError where the readings are not independent
 */
export function givenReadings(
  errors: Float64Array,
  values: Float64Array,
): (quantity: Float64Array) => KnownFromReadings {
  const m = values.length;
  const size = m === 0 ? 0 : errors.length / m;
  const factor = addGram(new Float64Array(m * m), errors, m, size);
  if (!cholesky(factor, m)) throw new RangeError('givenReadings: the readings are not independent');
  return (quantity) => {
    if (m === 0) return { mean: 0, errors: quantity };
    const weights = solveFactored(factor, m, product(errors, quantity, m, size));
    return {
      mean: dot(weights, values),
      errors: addTransposeProduct(quantity.slice(), errors, weights, m, size, 1, -1),
    };
  };
}
