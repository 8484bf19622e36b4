import type { SplitCovariance } from '../numerics/split-covariance.ts';

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
 * @param covarianceAt  of the runs with the shape's deviation so many times the bench's, the curve's prior included (V + J·T·Jᵀ)
 * @returns 1 or more
 */
export function shapeScale(
  departure_K: Float64Array,
  covarianceAt: (scale: number) => SplitCovariance,
): number {
  let best = 1;
  let bestValue = Number.NEGATIVE_INFINITY;
  for (const scale of SCALES) {
    const value = covarianceAt(scale).logDensity(departure_K) - (Math.log(scale) / SPREAD) ** 2 / 2;
    if (value > bestValue + 1e-9) {
      bestValue = value;
      best = scale;
    }
  }
  return best;
}
