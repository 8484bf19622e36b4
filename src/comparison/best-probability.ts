import { normalCdf } from '../numerics/distributions.ts';
import type { RiseLimits } from './rise-limits.ts';

const STEPS = 160;

/**
 * Probability for each cooler that its mean rise is the least, the coolers taken as independent.
 *
 * Each is stood for by a two-piece normal with the sides of its limits; P(i least) = ∫ f_i(x)·Π_{j≠i} P(j > x) dx. Shared
 * errors move all coolers together and hardly change the order, so they are left out.
 *
 * @param multiple  critical multiple with which the sides were taken
 * @returns probabilities that add to 1
 */
export function bestProbabilities(limits: readonly RiseLimits[], multiple: number): number[] {
  const low = Math.min(...limits.map((one) => one.middle_K - one.down_K));
  const high = Math.min(...limits.map((one) => one.middle_K + one.up_K));
  // Shares of each cooler below the grid's edges; a cooler that starts above the best one's worst cannot be the best.
  const below = limits.map((one) => shareBelow(one, low, multiple));
  const out = limits.map(() => 0);
  for (let step = 1; step <= STEPS; step++) {
    const x = low + ((high - low) * step) / STEPS;
    const share = limits.map((one) => shareBelow(one, x, multiple));
    const middle = share.map((value, j) => 1 - (value + below[j]) / 2);
    const all = middle.reduce((product, value) => product * value, 1);
    for (let i = 0; i < limits.length; i++) {
      const slice = share[i] - below[i];
      if (slice > 0 && middle[i] > 0) out[i] += (slice * all) / middle[i];
      below[i] = share[i];
    }
  }
  const total = out.reduce((a, b) => a + b, 0);
  return total > 0 ? out.map((value) => value / total) : out.map(() => 1 / limits.length);
}

/** Two-piece normal distribution function, half of the probability on either side of the middle. */
function shareBelow(one: RiseLimits, x: number, multiple: number): number {
  const side = x < one.middle_K ? one.down_K : one.up_K;
  return normalCdf(((x - one.middle_K) * multiple) / Math.max(side, 1e-9));
}
