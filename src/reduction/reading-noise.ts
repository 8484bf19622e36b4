import type { LogBlocks } from './log-blocks.ts';
import type { ResponseBlocks } from './response-blocks.ts';

/**
 * Reading noise as the sum of a white part and of a part that forgets exponentially (a first-order autoregression,
 * in continuous time). The long-run variance, which is what a mean over many rows feels, is
 * `white·Δ + 2·slow·τ` and can exceed the row variance many times.
 */
export interface ReadingNoise {
  /** Variance of a row that is independent from row to row, K². */
  readonly white: number;
  /** Variance of the correlated part, K². */
  readonly slow: number;
  /** Its correlation time, s. */
  readonly correlation_s: number;
  readonly interval_s: number;
}

const lags = 6;

/**
 * Estimates the noise from residuals of rows: autocovariances at lags 1 to 6 give decay and size of the correlated
 * part, what is missing at lag 0 is white.
 *
 * A fitted smooth curve takes with it what of the noise is as smooth: of the long-run variance a share of parameters over
 * rows is missing from the autocovariance at every short lag, and is put back.
 *
 * @param residuals  changed in place: their mean is taken out
 * @param fitted  how many parameters' worth of freedom the curve has taken from these residuals
 */
export function estimateNoise(
  residuals: Float64Array,
  count: number,
  interval_s: number,
  fitted = 0,
): ReadingNoise {
  centre(residuals, count);
  const seen: number[] = [];
  for (let lag = 0; lag <= lags; lag++) seen.push(laggedProduct(residuals, lag, count) / count);
  let noise = noiseOf(seen, count, interval_s);
  for (let pass = 0; pass < 4 && noise.slow > 0; pass++) {
    const longRun = noise.white + (2 * noise.slow * noise.correlation_s) / interval_s;
    const missing = Math.min((fitted / count) * longRun, seen[0]);
    noise = noiseOf(
      seen.map((covariance) => covariance + missing),
      count,
      interval_s,
    );
  }
  return noise;
}

/** White and correlated part by the autocovariances at the lags from 0 on. */
function noiseOf(covariance: readonly number[], count: number, interval_s: number): ReadingNoise {
  const variance = covariance[0];
  if (!(variance > 0) || count < 20 || covariance[1] < (2 / Math.sqrt(count)) * variance) {
    return { white: Math.max(variance, 0), slow: 0, correlation_s: interval_s, interval_s };
  }
  let cross = 0;
  let square = 0;
  for (let lag = 1; lag < lags; lag++) {
    if (covariance[lag + 1] <= 0) break;
    cross += covariance[lag] * covariance[lag + 1];
    square += covariance[lag] * covariance[lag];
  }
  const decay = square > 0 ? Math.min(0.985, Math.max(0.05, cross / square)) : 0.05;
  const slow = Math.min(variance, covariance[1] / decay);
  return { white: variance - slow, slow, correlation_s: -interval_s / Math.log(decay), interval_s };
}

function centre(values: Float64Array, count: number): void {
  let mean = 0;
  for (let i = 0; i < count; i++) mean += values[i];
  mean /= count;
  for (let i = 0; i < count; i++) values[i] -= mean;
}

function laggedProduct(values: Float64Array, lag: number, count: number): number {
  let even = 0;
  let odd = 0;
  let i = lag;
  for (; i + 1 < count; i += 2) {
    even += values[i] * values[i - lag];
    odd += values[i + 1] * values[i + 1 - lag];
  }
  if (i < count) even += values[i] * values[i - lag];
  return even + odd;
}

/** Whitens block values one after the other: `(value − pass·previous) · scale`. */
export interface Whitening {
  readonly pass: Float64Array;
  readonly scale: Float64Array;
}

/**
 * Variance of a block mean and its covariance with the block before follow from integrating the autocorrelation over
 * both; blocks further apart are taken as connected only through their neighbours.
 */
export function whitening(blocks: ResponseBlocks, noise: ReadingNoise): Whitening {
  const n = blocks.count;
  const pass = new Float64Array(n);
  const scale = new Float64Array(n);
  const tau = noise.correlation_s;
  let earlier = 0;
  let earlierReach = 0;
  for (let k = 0; k < n; k++) {
    const length = Math.max(blocks.length_s[k], noise.interval_s);
    const x = length / tau;
    const single = blocks.rows[k] <= 1;
    const reach = single ? 1 : -Math.expm1(-x) / x;
    let variance = noise.white / blocks.rows[k] + noise.slow * (single ? 1 : (2 / x) * (1 - reach));
    variance = Math.max(variance, 1e-12);
    let between = 0;
    if (k > 0 && noise.slow > 0) {
      const apart = blocks.time_s[k] - blocks.time_s[k - 1];
      const half = 0.5 * (single ? 0 : length) + 0.5 * (blocks.rows[k - 1] <= 1 ? 0 : blocks.length_s[k - 1]);
      between = noise.slow * reach * earlierReach * Math.exp(-Math.max(0, apart - half) / tau);
    }
    pass[k] = k > 0 ? between / earlier : 0;
    scale[k] = 1 / Math.sqrt(Math.max(variance - pass[k] * between, 0.01 * variance));
    earlier = variance;
    earlierReach = reach;
  }
  return { pass, scale };
}

/**
 * Variance left in a mean by rounding to steps of `step`.
 *
 * Readings that wander over several steps round fairly (Widrow's quantisation theorem); readings that stand still
 * all round the same way. With readings of standard deviation σ the bias of the mean has variance
 * `step²/(2π²) Σ exp(−(2πkσ/step)²)/k²`, which is step²/12 at σ = 0.
 */
export function roundingVariance(step: number, sigma: number): number {
  if (!(step > 0)) return 0;
  let sum = 0;
  for (let k = 1; k <= 50; k++) {
    const term = Math.exp(-(((2 * Math.PI * k * sigma) / step) ** 2)) / (k * k);
    sum += term;
    if (term < 1e-6) break;
  }
  return ((step * step) / (2 * Math.PI ** 2)) * sum;
}

/**
 * Long-run variance of the ambient reading's own noise, K²·s: from second differences, which its wandering does not
 * reach.
 */
export function ambientLongRun(log: LogBlocks, first: number, end: number): number {
  const a = log.ambient_C;
  let sum = 0;
  const n = end - first - 2;
  if (n < 5) return 0;
  for (let i = first + 2; i < end; i++) {
    const d = a[i] - 2 * a[i - 1] + a[i - 2];
    sum += d * d;
  }
  let rowsPerBlock = 0;
  for (let i = first; i < end; i++) rowsPerBlock += log.rows[i];
  rowsPerBlock /= end - first;
  return (sum / (6 * n)) * rowsPerBlock * log.interval_s;
}
