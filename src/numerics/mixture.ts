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
 * Newton's method between the least and the greatest quantile of the parts, to 1e-11 of the spread.
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
  // Newton's method from the moments, held within a bracket that only narrows.
  let x = Math.min(high, Math.max(low, mixtureMean(mixture) + z * stretch * mixtureDeviation(mixture)));
  for (let step = 0; step < 100; step++) {
    const { share, density } = shareAndDensity(mixture, x, stretch);
    const excess = share - p;
    if (excess < 0) low = x;
    else high = x;
    if (Math.abs(excess) < 1e-13) return x;
    const newton = x - excess / density;
    const next = newton > low && newton < high ? newton : (low + high) / 2;
    if (Math.abs(next - x) < 1e-11 * span) return next;
    x = next;
  }
  return x;
}

function shareAndDensity(
  mixture: NormalMixture,
  x: number,
  stretch: number,
): { share: number; density: number } {
  let share = 0;
  let density = 0;
  for (let k = 0; k < mixture.weight.length; k++) {
    const deviation = mixture.deviation[k] * stretch;
    const t = (x - mixture.mean[k]) / deviation;
    share += mixture.weight[k] * normalCdf(t);
    density += (mixture.weight[k] * Math.exp((-t * t) / 2)) / deviation;
  }
  return { share, density: density / SQRT_2PI };
}

const SQRT_2PI = Math.sqrt(2 * Math.PI);
