import type { LogBlocks } from './log-blocks.ts';

/**
 * One load step as a response to be fitted: about thirty-five blocks whose length grows with time since the step,
 * because a sum of exponentials has nothing to say faster than that. Times count from the step.
 */
export interface ResponseBlocks {
  readonly count: number;
  readonly time_s: Float64Array;
  /** Length of a uniform block of the same time variance, s. */
  readonly length_s: Float64Array;
  readonly rows: Float64Array;
  readonly source_C: Float64Array;
  readonly ambient_C: Float64Array;
  /** Deviation of the load from its mean over the step, share of the change of load; absent: as good as constant. */
  readonly loadDeviation?: Float64Array;
}

/** Most blocks a response is cut into; the rule below needs about thirty-five. */
export const mostBlocks = 256;

/**
 * Blocks grow to this share of the time since the step, and to at most a part of its whole length. Half as many again
 * tell the asymptote no better (the study of reduced logs), and each costs time in every fit.
 */
const growth = 0.23;
const parts = 24;

const room = {
  time_s: new Float64Array(mostBlocks),
  length_s: new Float64Array(mostBlocks),
  rows: new Float64Array(mostBlocks),
  source_C: new Float64Array(mostBlocks),
  ambient_C: new Float64Array(mostBlocks),
  power_W: new Float64Array(mostBlocks),
};

/**
 * Cuts a load step into blocks.
 *
 * @param first  first block of the log that belongs to the step
 * @param end    block after the last
 * @param origin_s  time of the step on the log's clock
 * @param change_W  change of the load at the step; when given, drift of the load is carried along
 */
export function responseBlocks(
  log: LogBlocks,
  first: number,
  end: number,
  origin_s: number,
  change_W?: number,
): ResponseBlocks {
  const { time_s, timeVariance, rows, source_C, ambient_C, power_W, interval_s } = log;
  const total = time_s[end - 1] - origin_s + interval_s;
  const longest = total / parts;
  const out = room;
  let i = first;
  let k = 0;
  while (i < end) {
    const begin = time_s[i];
    const stop = begin + Math.min(longest, growth * (begin - origin_s)) - 0.5 * interval_s;
    let n = 0;
    let t = 0;
    let tt = 0;
    let s = 0;
    let a = 0;
    let p = 0;
    do {
      const w = rows[i];
      const u = time_s[i] - begin;
      n += w;
      t += w * u;
      tt += w * (u * u + timeVariance[i]);
      s += w * source_C[i];
      a += w * ambient_C[i];
      p += w * power_W[i];
      i++;
    } while (i < end && (time_s[i] < stop || k === mostBlocks - 1));
    const mean = t / n;
    out.time_s[k] = begin + mean - origin_s;
    out.length_s[k] = Math.sqrt(12 * Math.max(0, tt / n - mean * mean));
    out.rows[k] = n;
    out.source_C[k] = s / n;
    out.ambient_C[k] = a / n;
    out.power_W[k] = p / n;
    k++;
  }
  return {
    count: k,
    time_s: out.time_s.slice(0, k),
    length_s: out.length_s.slice(0, k),
    rows: out.rows.slice(0, k),
    source_C: out.source_C.slice(0, k),
    ambient_C: out.ambient_C.slice(0, k),
    loadDeviation: change_W === undefined ? undefined : loadDeviation(out.power_W, out.rows, k, change_W),
  };
}

/** Drift of the load worth carrying along: three ten-thousandths of its change, over blocks that are long enough to tell. */
const loadWorth = 3e-4;

function loadDeviation(
  power: Float64Array,
  rows: Float64Array,
  count: number,
  change_W: number,
): Float64Array | undefined {
  let total = 0;
  let mean = 0;
  for (let k = 0; k < count; k++) {
    total += rows[k];
    mean += rows[k] * power[k];
  }
  mean /= total;
  let square = 0;
  for (let k = 0; k < count; k++) square += rows[k] * (power[k] - mean) ** 2;
  if (!(Math.sqrt(square / total) > loadWorth * Math.abs(change_W))) return undefined;
  return power.slice(0, count).map((value) => (value - mean) / change_W);
}

/**
 * Mean of exp(−t/τ) over a block, by its value at the block's mean time: sinh(x)/x with x = length/(2τ).
 */
export function meanFactor(x: number): number {
  const xx = x * x;
  return xx < 0.2 ? 1 + (xx / 6) * (1 + (xx / 20) * (1 + xx / 42)) : Math.sinh(x) / x;
}

/**
 * One lag 1/(1 + s τ) of the air, started at rest, as weights to be used from block to block.
 *
 * Seen from the air, a ladder of thermal resistances and capacities is a voltage divider without zeros, so what
 * reaches the open end at the source is the air temperature through the product of such lags, the τ being the
 * natural time constants that the step response shows. Each lag is integrated exactly for an input that is linear
 * between block centres; the slowest, which comes first, for air that is a parabola there. The unknown air before the first block leaves terms in exp(−t/τ), which the fit has anyway.
 */
export interface LagWeights {
  readonly keep: Float64Array;
  readonly mean: Float64Array;
}

/** What a lag keeps of its value from block to block, and the mean of its kernel over the step between. */
export function lagWeights(
  blocks: ResponseBlocks,
  tau: number,
  keeps: Float64Array,
  means: Float64Array,
): void {
  const { time_s, count } = blocks;
  let lastStep = -1;
  let keep = 0;
  let mean = 0;
  for (let k = 1; k < count; k++) {
    const step = time_s[k] - time_s[k - 1];
    if (Math.abs(step - lastStep) > 1e-9) {
      lastStep = step;
      keep = Math.exp(-step / tau);
      mean = (tau / step) * (1 - keep);
    }
    keeps[k] = keep;
    means[k] = mean;
  }
}

/** Applies weights of {@link lagWeights}. */
export function lagWith(count: number, weights: LagWeights, input: Float64Array, out: Float64Array): void {
  const { keep, mean } = weights;
  let before = input[0];
  let value = before;
  out[0] = value;
  for (let k = 1; k < count; k++) {
    const now = input[k];
    value = keep[k] * value + (mean[k] - keep[k]) * before + (1 - mean[k]) * now;
    before = now;
    out[k] = value;
  }
}

/**
 * By how much the parabolas through neighbouring blocks bow away from the straight line between two of them, four times
 * at mid-way: −½·h²·curvature, K. Of the step that leads to each block; nought at the first. No more than the values
 * differ there, as two blocks at almost the same time have no curvature worth the name.
 */
export function bowOf({ count, time_s }: ResponseBlocks, values: Float64Array): Float64Array {
  const bow = new Float64Array(count);
  let before = 0;
  for (let k = 1; k < count; k++) {
    const step = time_s[k] - time_s[k - 1];
    let curvature = before;
    if (k + 1 < count) {
      const next = time_s[k + 1] - time_s[k];
      const turn = (values[k + 1] - values[k]) / next - (values[k] - values[k - 1]) / step;
      const here = (2 * turn) / (step + next);
      curvature = k === 1 ? here : 0.5 * (before + here);
      before = here;
    }
    const most = Math.max(apart(values, k - 1), apart(values, k), apart(values, k + 1));
    bow[k] = Math.min(most, Math.max(-most, -0.5 * step * step * curvature));
  }
  return bow;
}

/** How far a value is from the one before it; nought beyond either end. */
function apart(values: Float64Array, k: number): number {
  return k > 0 && k < values.length ? Math.abs(values[k] - values[k - 1]) : 0;
}

/**
 * Adds to what {@link lagWith} made of some values what their bow between the blocks comes to.
 *
 * With x the step over the time constant, `∫ s(1−s)·x·exp(−x(1−s)) ds` from 0 to 1 is `mean − 2(mean − keep)/x`, and x is
 * `(1 − keep)/mean`.
 *
 * @param bow  of the values, by {@link bowOf}
 */
export function addBow(
  count: number,
  { keep, mean }: LagWeights,
  bow: Float64Array,
  out: Float64Array,
): void {
  let added = 0;
  for (let k = 1; k < count; k++) {
    // Of a step that is nothing beside the time constant no digit is left, and it reaches nowhere.
    const fall = 1 - keep[k];
    const reach = fall > 1e-8 ? mean[k] - (2 * mean[k] * (mean[k] - keep[k])) / fall : 0;
    added = keep[k] * added + reach * bow[k];
    out[k] += added;
  }
}
