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
  const { mean, weight, deviation } = sortedByMean(mixture);
  const variance = deviation;
  const size = weight.length;
  // Each part's own share of the bound, its neighbours, and what merging it with the next would cost.
  const share = new Float64Array(size);
  const next = new Int32Array(size);
  const before = new Int32Array(size);
  const cost = new Float64Array(size).fill(Number.POSITIVE_INFINITY);
  const mergedVariance = (k: number, j: number): number => {
    const w = weight[k] + weight[j];
    const apart = mean[k] - mean[j];
    const between = ((weight[k] * weight[j]) / (w * w)) * (apart * apart);
    return (weight[k] * variance[k] + weight[j] * variance[j]) / w + between;
  };
  const costAt = (k: number): number => {
    const j = next[k];
    if (j >= size) return Number.POSITIVE_INFINITY;
    return ((weight[k] + weight[j]) * Math.log(mergedVariance(k, j)) - share[k] - share[j]) / 2;
  };
  for (let k = 0; k < size; k++) {
    variance[k] *= deviation[k];
    share[k] = weight[k] * Math.log(variance[k]);
    [next[k], before[k]] = [k + 1, k - 1];
  }
  for (let k = 0; k < size; k++) cost[k] = costAt(k);
  // The cheapest of every stretch of parts, so that few are looked at after each merging.
  const length = Math.max(4, Math.ceil(Math.sqrt(size)));
  const cheapest = new Int32Array(Math.ceil(size / length));
  const look = (stretch: number): void => {
    const end = Math.min(size, (stretch + 1) * length);
    let least = stretch * length;
    for (let k = least + 1; k < end; k++) if (cost[k] < cost[least]) least = k;
    cheapest[stretch] = least;
  };
  for (let stretch = 0; stretch < cheapest.length; stretch++) look(stretch);
  let count = size;
  for (; count > 1; count--) {
    let k = cheapest[0];
    for (let i = 1; i < cheapest.length; i++) if (cost[cheapest[i]] < cost[k]) k = cheapest[i];
    if (count <= most && cost[k] > loss) break;
    const j = next[k];
    variance[k] = mergedVariance(k, j);
    mean[k] = (weight[k] * mean[k] + weight[j] * mean[j]) / (weight[k] + weight[j]);
    weight[k] += weight[j];
    share[k] = weight[k] * Math.log(variance[k]);
    weight[j] = 0;
    cost[j] = Number.POSITIVE_INFINITY;
    next[k] = next[j];
    if (next[k] < size) before[next[k]] = k;
    cost[k] = costAt(k);
    const b = before[k];
    if (b >= 0) cost[b] = costAt(b);
    const [first, last] = [Math.floor(Math.max(b, 0) / length), Math.floor(j / length)];
    for (let stretch = first; stretch <= last; stretch++) look(stretch);
  }
  const left = {
    weight: new Float64Array(count),
    mean: new Float64Array(count),
    deviation: new Float64Array(count),
  };
  for (let k = 0, i = 0; k < size; k = next[k], i++) {
    left.weight[i] = weight[k];
    left.mean[i] = mean[k];
    left.deviation[i] = Math.sqrt(variance[k]);
  }
  return left;
}

/** A copy of the parts that have weight, in the order of their means. */
function sortedByMean({ weight, mean, deviation }: NormalMixture): NormalMixture {
  const order: number[] = [];
  for (let k = 0; k < weight.length; k++) if (weight[k] > 0) order.push(k);
  order.sort((a, b) => mean[a] - mean[b]);
  const sorted = (values: Float64Array): Float64Array => {
    const out = new Float64Array(order.length);
    for (let i = 0; i < out.length; i++) out[i] = values[order[i]];
    return out;
  };
  return { weight: sorted(weight), mean: sorted(mean), deviation: sorted(deviation) };
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
