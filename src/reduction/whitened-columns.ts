import type { Whitening } from './reading-noise.ts';
import { type LagWeights, meanFactor, type ResponseBlocks } from './response-blocks.ts';

/** Below this an exponential is taken as over: e⁻⁴⁰. */
const over = 4.25e-18;

/** Whitens a column in place. */
export function whiten(count: number, white: Whitening, column: Float64Array): void {
  const { pass, scale } = white;
  for (let k = count - 1; k > 0; k--) column[k] = (column[k] - pass[k] * column[k - 1]) * scale[k];
  column[0] *= scale[0];
}

/**
 * The column of one exponential and its derivative by −1 times the logarithm of its rate, both whitened, in one pass.
 *
 * What a lag of the same time constant keeps from block to block is also what the exponential falls by, so each
 * value is the one before times that, and the pass needs one exponential for every new spacing of blocks and one for
 * every new length.
 *
 * @param tau     time constant, s
 * @param lag     filled with the weights of the lag, see `lagWeights`
 * @param column  filled with the means of exp(−t/τ) over the blocks
 * @param slope   filled with those times t/τ
 */
export function whitenedExponential(
  blocks: ResponseBlocks,
  white: Whitening,
  tau: number,
  lag: LagWeights,
  column: Float64Array,
  slope: Float64Array,
): void {
  const { count, time_s, length_s } = blocks;
  const { pass, scale } = white;
  const { keep: keeps, mean: means } = lag;
  const rate = 1 / tau;
  let lastStep = -1;
  let keep = 0;
  let mean = 0;
  let time = time_s[0];
  let decay = Math.exp(-time * rate);
  let before = 0;
  let slopeBefore = 0;
  let lastLength = -1;
  let factor = 1;
  for (let k = 0; k < count; k++) {
    if (k > 0) {
      const now = time_s[k];
      const step = now - time;
      time = now;
      if (Math.abs(step - lastStep) > 1e-9) {
        lastStep = step;
        keep = Math.exp(-step * rate);
        mean = (tau / step) * (1 - keep);
      }
      keeps[k] = keep;
      means[k] = mean;
      decay *= keep;
    }
    if (decay < over) decay = 0;
    else if (Math.abs(length_s[k] - lastLength) > 1e-9) {
      lastLength = length_s[k];
      factor = meanFactor(0.5 * lastLength * rate);
    }
    const value = decay * factor;
    const steep = value * time * rate;
    column[k] = (value - pass[k] * before) * scale[k];
    slope[k] = (steep - pass[k] * slopeBefore) * scale[k];
    before = value;
    slopeBefore = steep;
  }
}

/** What one more lag would change in air that the source sees as `seen`, whitened. */
export function whitenedDrift(
  count: number,
  white: Whitening,
  lag: LagWeights,
  seen: Float64Array,
  out: Float64Array,
): void {
  const { keep, mean } = lag;
  const { pass, scale } = white;
  let before = seen[0];
  let value = before;
  let lastDrift = 0;
  out[0] = 0;
  for (let k = 1; k < count; k++) {
    const now = seen[k];
    value = keep[k] * value + (mean[k] - keep[k]) * before + (1 - mean[k]) * now;
    before = now;
    const drift = value - now;
    out[k] = (drift - pass[k] * lastDrift) * scale[k];
    lastDrift = drift;
  }
}

/** Source above the air it sees, less `reference`, whitened. */
export function whitenedRise(
  blocks: ResponseBlocks,
  white: Whitening,
  seen: Float64Array,
  reference: number,
  out: Float64Array,
): void {
  const { count, source_C } = blocks;
  const { pass, scale } = white;
  let before = 0;
  for (let k = 0; k < count; k++) {
    const value = source_C[k] - seen[k] - reference;
    out[k] = (value - pass[k] * before) * scale[k];
    before = value;
  }
}

/**
 * Takes up to four columns times their amplitudes from the residual.
 *
 * @param used  number of columns that count
 * @returns the sum of squares that is left
 */
export function takeFrom(
  residual: Float64Array,
  amplitudes: Float64Array,
  used: number,
  columns: readonly Float64Array[],
  count: number,
): number {
  const [a, b, c, d] = columns;
  const p = amplitudes[0];
  const q = used > 1 ? amplitudes[1] : 0;
  const r = used > 2 ? amplitudes[2] : 0;
  const s = used > 3 ? amplitudes[3] : 0;
  let sum = 0;
  for (let k = 0; k < count; k++) {
    const left = residual[k] - p * a[k] - q * b[k] - r * c[k] - s * d[k];
    residual[k] = left;
    sum += left * left;
  }
  return sum;
}

/** Inner product in four running sums, which a processor can work on side by side. */
export function dot(a: Float64Array, b: Float64Array, n: number): number {
  const whole = n & ~3;
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  for (let k = 0; k < whole; k += 4) {
    s0 += a[k] * b[k];
    s1 += a[k + 1] * b[k + 1];
    s2 += a[k + 2] * b[k + 2];
    s3 += a[k + 3] * b[k + 3];
  }
  for (let k = whole; k < n; k++) s0 += a[k] * b[k];
  return s0 + s1 + (s2 + s3);
}
