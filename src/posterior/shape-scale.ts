import { cholesky, logDeterminant, solveLower } from '../numerics/matrix.ts';

/** Standard deviation of ln(scale): most coolers follow the formulas as well as the bench's others do. */
const SPREAD = 0.7;
const SCALES = [1, 1.5, 2, 3, 4.5, 7, 10, 15, 22, 33];

/**
 * How much farther one cooler's curve lies from the formulas than the bench's coolers do on the whole.
 *
 * A cooler that no formula fits would otherwise widen the intervals of all. The scale of its own departure is the one
 * that makes its runs likeliest, under a half log-normal prior about 1 that holds it there without good reason.
 *
 * @param departure_K  runs less the curve at the prior's mean, n
 * @param covariance   of the runs without the shape, curve's prior included (V₀ + J·T·Jᵀ), n × n
 * @param shape        of the shape at scale 1, n × n
 * @returns 1 or more
 */
export function shapeScale(departure_K: Float64Array, covariance: Float64Array, shape: Float64Array): number {
  const n = departure_K.length;
  let best = 1;
  let bestValue = Number.NEGATIVE_INFINITY;
  for (const scale of SCALES) {
    const factor = Float64Array.from(covariance, (v, i) => v + scale * scale * shape[i]);
    if (!cholesky(factor, n)) continue;
    const scaled = departure_K.slice();
    solveLower(factor, n, scaled);
    let quadratic = 0;
    for (let i = 0; i < n; i++) quadratic += scaled[i] * scaled[i];
    const value = -(logDeterminant(factor, n) + quadratic + (Math.log(scale) / SPREAD) ** 2) / 2;
    if (value > bestValue + 1e-9) {
      bestValue = value;
      best = scale;
    }
  }
  return best;
}
