import { normalCdf, normalQuantile } from './distributions.ts';

/** A mixture of normal distributions; weights add to 1. */
export interface NormalMixture {
  readonly weight: Float64Array;
  readonly mean: Float64Array;
  readonly deviation: Float64Array;
}

/** Mean of a mixture. */
export function mixtureMean(mixture: NormalMixture): number {
  let sum = 0;
  for (let k = 0; k < mixture.weight.length; k++) sum += mixture.weight[k] * mixture.mean[k];
  return sum;
}

/** Standard deviation of a mixture: spread within its parts and between their means. */
export function mixtureDeviation(mixture: NormalMixture): number {
  const mean = mixtureMean(mixture);
  let sum = 0;
  for (let k = 0; k < mixture.weight.length; k++) {
    sum += mixture.weight[k] * (mixture.deviation[k] ** 2 + (mixture.mean[k] - mean) ** 2);
  }
  return Math.sqrt(sum);
}

/** Share of a mixture below x, each part's deviation taken `stretch` times as large. */
export function mixtureCdf(mixture: NormalMixture, x: number, stretch = 1): number {
  let sum = 0;
  for (let k = 0; k < mixture.weight.length; k++) {
    sum += mixture.weight[k] * normalCdf((x - mixture.mean[k]) / (mixture.deviation[k] * stretch));
  }
  return sum;
}

/**
 * The x below which a share p of a mixture lies.
 *
 * Safeguarded secant steps between the least and the greatest quantile of the parts, to 1e-10 of the spread.
 *
 * @param p  0 < p < 1
 * @param stretch  factor on every part's deviation: Student's t over the normal quantile, where the deviations
 *   themselves are estimates with few degrees of freedom
 * @example mixtureQuantile({ weight: [1], mean: [5], deviation: [2] }, 0.975) // 8.92
 */
export function mixtureQuantile(mixture: NormalMixture, p: number, stretch = 1): number {
  const z = normalQuantile(p);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < mixture.weight.length; k++) {
    if (mixture.weight[k] < 1e-9) continue;
    const x = mixture.mean[k] + z * stretch * mixture.deviation[k];
    low = Math.min(low, x);
    high = Math.max(high, x);
  }
  if (!(high > low)) return low;
  const span = high - low;
  let atLow = mixtureCdf(mixture, low, stretch) - p;
  let atHigh = mixtureCdf(mixture, high, stretch) - p;
  let x = low;
  let side = 0;
  // Illinois variant of the false position: one evaluation a step and never worse than bisection for long.
  for (let step = 0; step < 100 && high - low > 1e-10 * span; step++) {
    if (atHigh === atLow) break;
    x = (low * atHigh - high * atLow) / (atHigh - atLow);
    if (step % 8 === 7) x = (low + high) / 2;
    const at = mixtureCdf(mixture, x, stretch) - p;
    if (Math.abs(at) < 1e-12) return x;
    if (at < 0) {
      low = x;
      atLow = at;
      if (side === -1) atHigh /= 2;
      side = -1;
    } else {
      high = x;
      atHigh = at;
      if (side === 1) atLow /= 2;
      side = 1;
    }
  }
  return x;
}
