import { normalCdf, normalQuantile } from './distributions.ts';
import { tabledShare } from './normal-table.ts';

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
 * Newton's method between the least and the greatest quantile of the parts, to 1e-9 of the spread.
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
    const { share, density } = tabledShare(mixture, x, stretch);
    const excess = share - p;
    if (excess < 0) low = x;
    else high = x;
    const newton = x - excess / density;
    // In a thin tail a share that is right to 1e-11 leaves some 1e-6 K: the last step is taken all the same.
    if (Math.abs(excess) < 1e-11) return density > 0 ? Math.min(high, Math.max(low, newton)) : x;
    const next = newton > low && newton < high ? newton : (low + high) / 2;
    if (Math.abs(next - x) < 1e-11 * span) return next;
    x = next;
  }
  return x;
}

/**
 * A mixture of fewer parts with the same mean and standard deviation.
 *
 * Of neighbours in the mean those are merged first whose merging moves the distribution least, by a bound on the
 * Kullback–Leibler divergence, until at most `most` are left and the next would move it by more than `loss`.
 *
 * Source: Runnalls (2007) IEEE Transactions on Aerospace and Electronic Systems 43, 989.
 */
export function reducedMixture(mixture: NormalMixture, most: number, loss = 1e-5): NormalMixture {
  const order = [...mixture.weight.keys()].sort((a, b) => mixture.mean[a] - mixture.mean[b]);
  const parts = order
    .filter((k) => mixture.weight[k] > 0)
    .map((k) => ({ w: mixture.weight[k], m: mixture.mean[k], v: mixture.deviation[k] ** 2 }));
  type Part = (typeof parts)[number];
  const merged = (a: Part, b: Part): Part => {
    const w = a.w + b.w;
    const v = (a.w * a.v + b.w * b.v) / w + ((a.w * b.w) / (w * w)) * (a.m - b.m) ** 2;
    return { w, m: (a.w * a.m + b.w * b.m) / w, v };
  };
  const cost = (a: Part, b: Part): number => {
    const { w, v } = merged(a, b);
    return (w * Math.log(v) - a.w * Math.log(a.v) - b.w * Math.log(b.v)) / 2;
  };
  const costs = parts.slice(1).map((part, k) => cost(parts[k], part));
  while (costs.length > 0) {
    let k = 0;
    for (let i = 1; i < costs.length; i++) if (costs[i] < costs[k]) k = i;
    if (parts.length <= most && costs[k] > loss) break;
    parts.splice(k, 2, merged(parts[k], parts[k + 1]));
    costs.splice(k, 1);
    if (k > 0) costs[k - 1] = cost(parts[k - 1], parts[k]);
    if (k < costs.length) costs[k] = cost(parts[k], parts[k + 1]);
  }
  return {
    weight: Float64Array.from(parts, ({ w }) => w),
    mean: Float64Array.from(parts, ({ m }) => m),
    deviation: Float64Array.from(parts, ({ v }) => Math.sqrt(v)),
  };
}

/** Mixtures to be overwritten, by their number of parts, for whoever makes very many. */
export type MixtureSpace = NormalMixture[];

/**
 * The distribution of a − b + e, with e normal about 0 and all three independent.
 *
 * @param space  where the answer is kept until the next of as many parts is asked for; a new one without
 */
export function mixtureDifference(
  a: NormalMixture,
  b: NormalMixture,
  variance: number,
  space: MixtureSpace = [],
): NormalMixture {
  const columns = b.weight.length;
  const size = a.weight.length * columns;
  space[size] ??= {
    weight: new Float64Array(size),
    mean: new Float64Array(size),
    deviation: new Float64Array(size),
  };
  const { weight, mean, deviation } = space[size];
  for (let i = 0; i < a.weight.length; i++) {
    const own = a.deviation[i] ** 2 + variance;
    for (let j = 0; j < columns; j++) {
      const k = i * columns + j;
      weight[k] = a.weight[i] * b.weight[j];
      mean[k] = a.mean[i] - b.mean[j];
      deviation[k] = Math.sqrt(own + b.deviation[j] * b.deviation[j]);
    }
  }
  return space[size];
}
