import { mixtureCdf, mixtureDeviation, mixtureMean, type NormalMixture } from '../numerics/mixture.ts';

/** Steps of the integral over the rise. */
const STEPS = 160;
/** How far below its mean and above the best one's mean a rise is looked for, standard deviations. */
const REACH = 6;

/**
 * Probability for each cooler that its mean rise is the least, the coolers independent: ∫ f_i(x)·Π_{j≠i} P(j > x) dx.
 *
 * @param rises  those that the pairs are compared by
 * @returns probabilities that add to 1
 */
export function bestProbabilities(rises: readonly NormalMixture[]): number[] {
  const ends = rises.map((one) => {
    const spread = REACH * mixtureDeviation(one);
    return { low: mixtureMean(one) - spread, high: mixtureMean(one) + spread };
  });
  // The least of all lies below every cooler's highest; one whose lowest is above that is never the best.
  const high = Math.min(...ends.map((one) => one.high));
  const low = Math.min(...ends.map((one) => one.low));
  const inPlay = ends.map((one) => one.low < high);
  // Shares of each cooler below the grid's steps.
  const below = rises.map((one, i) => (inPlay[i] ? mixtureCdf(one, low) : 0));
  const out = rises.map(() => 0);
  for (let step = 1; step <= STEPS; step++) {
    const x = low + ((high - low) * step) / STEPS;
    const share = rises.map((one, i) => (inPlay[i] ? mixtureCdf(one, x) : 0));
    const middle = share.map((value, j) => 1 - (value + below[j]) / 2);
    const all = middle.reduce((product, value) => product * value, 1);
    for (let i = 0; i < rises.length; i++) {
      const slice = share[i] - below[i];
      if (slice > 0 && middle[i] > 0) out[i] += (slice * all) / middle[i];
      below[i] = share[i];
    }
  }
  const total = out.reduce((a, b) => a + b, 0);
  return total > 0 ? out.map((value) => value / total) : out.map(() => 1 / rises.length);
}
