import type { ExponentialMode } from './exponential-fit.ts';
import type { LogBlocks } from './log-blocks.ts';
import { estimateNoise, type ReadingNoise, roundingVariance } from './reading-noise.ts';
import type { ResponseBlocks } from './response-blocks.ts';

/** Variance of a row as second differences show it, K²: a first guess, blind to correlated noise. */
export function differenceVariance(log: LogBlocks, first: number, end: number): number {
  let sum = 0;
  const s = log.source_C;
  for (let i = first + 2; i < end; i++) {
    const d = s[i] - 2 * s[i - 1] + s[i - 2];
    sum += d * d * log.rows[i];
  }
  return Math.max(1e-8, sum / (6 * Math.max(1, end - first - 2)));
}

let residualRoom = new Float64Array(2048);

/** Noise from the residuals of rows after the first third, where blocks follow the curve closely. */
export function residualNoise(
  log: LogBlocks,
  first: number,
  end: number,
  origin_s: number,
  blocks: ResponseBlocks,
  mode: ExponentialMode,
  air: Float64Array,
): ReadingNoise {
  const begin = first + Math.floor((end - first) / 3);
  if (residualRoom.length < end - begin) residualRoom = new Float64Array(end - begin);
  const residuals = residualRoom;
  const rows = takeResiduals(log, begin, end, origin_s, blocks, mode, air, residuals);
  const perBlock = rows / (end - begin);
  const noise = estimateNoise(
    residuals,
    end - begin,
    log.interval_s * perBlock,
    freedomTaken(mode, log.time_s[begin] - origin_s, log.time_s[end - 1] - origin_s),
  );
  return perBlock > 1.5 ? { ...noise, white: noise.white * perBlock, interval_s: log.interval_s } : noise;
}

/**
 * How much of a mode's freedom lies in the rows from one time to the end: of the constant and of each amplitude and
 * time constant the share of its curve's squares.
 */
function freedomTaken(mode: ExponentialMode, from_s: number, to_s: number): number {
  let freedom = 1 - from_s / to_s;
  for (let i = 0; i < mode.terms; i++) {
    const rate = Math.exp(-mode.logTaus[i]);
    const start = from_s * rate;
    const stop = to_s * rate;
    // Of e^(−t/τ) and of (t/τ)·e^(−t/τ).
    freedom += shareBetween(start, stop, (x) => -0.5 * Math.exp(-2 * x));
    freedom += shareBetween(start, stop, (x) => -0.25 * (2 * x * x + 2 * x + 1) * Math.exp(-2 * x));
  }
  return freedom;
}

/** Integral from `start` to `stop` over that from nought, by the antiderivative. */
function shareBetween(start: number, stop: number, antiderivative: (x: number) => number): number {
  const end = antiderivative(stop);
  return (end - antiderivative(start)) / (end - antiderivative(0));
}

/** What a mode leaves of the blocks from `begin` to `end`; the number of rows in them. */
function takeResiduals(
  log: LogBlocks,
  begin: number,
  end: number,
  origin_s: number,
  blocks: ResponseBlocks,
  mode: ExponentialMode,
  air: Float64Array,
  out: Float64Array,
): number {
  const { time_s, source_C } = log;
  const last = blocks.count - 1;
  // Rows are mostly equally far apart, so that each exponential is the one before times a constant.
  let before = time_s[begin] - origin_s;
  const rateA = rateOf(mode, 0);
  const rateB = rateOf(mode, 1);
  const rateC = rateOf(mode, 2);
  let a = amplitudeOf(mode, 0) * Math.exp(-before * rateA);
  let b = amplitudeOf(mode, 1) * Math.exp(-before * rateB);
  let c = amplitudeOf(mode, 2) * Math.exp(-before * rateC);
  let keepA = 1;
  let keepB = 1;
  let keepC = 1;
  let lastStep = 0;
  let k = 0;
  let rows = 0;
  let slope = (air[1] - air[0]) / (blocks.time_s[1] - blocks.time_s[0]);
  for (let i = begin; i < end; i++) {
    const t = time_s[i] - origin_s;
    if (k < last - 1 && blocks.time_s[k + 1] < t) {
      do k++;
      while (k < last - 1 && blocks.time_s[k + 1] < t);
      slope = (air[k + 1] - air[k]) / (blocks.time_s[k + 1] - blocks.time_s[k]);
    }
    const step = t - before;
    if (Math.abs(step - lastStep) > 1e-9) {
      lastStep = step;
      keepA = Math.exp(-step * rateA);
      keepB = Math.exp(-step * rateB);
      keepC = Math.exp(-step * rateC);
    }
    before = t;
    a *= keepA;
    b *= keepB;
    c *= keepC;
    out[i - begin] = source_C[i] - mode.rise_K - air[k] - slope * (t - blocks.time_s[k]) - a - b - c;
    rows += log.rows[i];
  }
  return rows;
}

/** Of the exponential j of a mode, 1/s and K; nothing where it has none. */
const rateOf = (mode: ExponentialMode, j: number): number =>
  j < mode.terms ? Math.exp(-mode.logTaus[j]) : 0;
const amplitudeOf = (mode: ExponentialMode, j: number): number => (j < mode.terms ? mode.amplitudes_K[j] : 0);

/**
 * Variance that rounding leaves in the mean of the tail: readings whose noise is small against the step carry the
 * same rounding error until the value has drifted on, by about one step.
 */
export function stuckRounding(
  step: number,
  rowVariance: number,
  values: Float64Array,
  from: number,
  to: number,
): number {
  if (step < 0.004) return 0;
  let path = 0;
  for (let k = from + 2; k < to; k += 2) path += Math.abs(values[k] - values[k - 2]);
  const own = Math.sqrt(Math.max(0, rowVariance - (step * step) / 12));
  return roundingVariance(step, own) / (1 + path / step) ** 1.25;
}
