import type { LogBlocks } from '../logs/log-blocks.ts';

/** Stretches of a response, each with its mean: arrays of one value a block, in order of time. */
export interface Blocks {
  readonly count: number;
  /** Mean time since the load step, s. */
  readonly time_s: Float64Array;
  /** How long each block is, s. */
  readonly length_s: Float64Array;
  /** Deviation of the load from its mean over the step, share of the change of load; absent: as good as constant. */
  readonly loadShare?: Float64Array;
}

/** A load step as it is kept for fits: all that they need of a log, in at most some two hundred blocks. */
export interface Response extends Blocks {
  readonly rows: Float64Array;
  readonly source_C: Float64Array;
  /** Ambient with the noise of its own reading smoothed out. */
  readonly air_C: Float64Array;
  /** Spacing of rows, s. */
  readonly interval_s: number;
  /** Variance that rounding of source and of ambient may hide in a mean at the end, K², see {@link hiddenRounding}. */
  readonly rounding: number;
}

/** Blocks grow to this share of the time since the step, at most to `longest_s` or to a part of the whole. */
const growth = 0.2;
const longest_s = 15;
const mostParts = 160;

/**
 * Cuts a load step into blocks.
 *
 * @param first  first block of the log that belongs to the step
 * @param end    block after the last
 * @param origin_s  time of the step on the log's clock
 * @param change_W  change of the load at the step; when given, drift of the load is carried along
 */
export function responseOf(
  log: LogBlocks,
  first: number,
  end: number,
  origin_s: number,
  change_W?: number,
): Response {
  const { time_s, timeVariance, rows, source_C, ambient_C, power_W, interval_s } = log;
  const total = time_s[end - 1] - origin_s + interval_s;
  const longest = Math.max(Math.min(longest_s, total / 24), total / mostParts);
  const most = Math.min(end - first, 2 * mostParts + 64);
  const columns = Array.from({ length: 6 }, () => new Float64Array(most));
  const [time, length, count, source, ambient, power] = columns;
  let k = 0;
  for (let i = first; i < end; k++) {
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
    } while (i < end && (time_s[i] < stop || k === most - 1));
    const mean = t / n;
    time[k] = begin + mean - origin_s;
    length[k] = Math.max(interval_s, Math.sqrt(12 * Math.max(0, tt / n - mean * mean)));
    count[k] = n;
    source[k] = s / n;
    ambient[k] = a / n;
    power[k] = p / n;
  }
  const [time_, length_, rows_, source_, ambient_, power_] = columns.map((column) => column.subarray(0, k));
  const ambientVariance = jumpVariance(log.ambient_C, rows, first, end);
  return {
    count: k,
    time_s: time_,
    length_s: length_,
    rows: rows_,
    source_C: source_,
    air_C: smoothedAir(time_, rows_, ambient_, ambientVariance),
    interval_s,
    loadShare: change_W === undefined ? undefined : loadShare(power_, rows_, change_W),
    rounding:
      hiddenRounding(log.sourceStep_K, jumpVariance(source_C, rows, first, end), source_) +
      hiddenRounding(log.ambientStep_K, ambientVariance, ambient_),
  };
}

/** The first blocks of a response, as if the log had ended there; at least one. */
export function responseUntil(response: Response, end_s: number): Response {
  let count = response.count;
  while (count > 1 && response.time_s[count - 1] + 0.5 * response.length_s[count - 1] > end_s) count--;
  const cut = (values: Float64Array) => values.subarray(0, count);
  return {
    ...response,
    count,
    time_s: cut(response.time_s),
    length_s: cut(response.length_s),
    rows: cut(response.rows),
    source_C: cut(response.source_C),
    air_C: cut(response.air_C),
    loadShare: response.loadShare && cut(response.loadShare),
  };
}

/** When the last block ends, s. */
export const lengthOf = ({ count, time_s, length_s }: Blocks): number =>
  time_s[count - 1] + 0.5 * length_s[count - 1];

/** Variance of a row's own noise by second differences, which slow movement does not reach, K². */
function jumpVariance(values: Float64Array, rows: Float64Array, first: number, end: number): number {
  let sum = 0;
  for (let i = first + 2; i < end; i++) {
    const d = values[i] - 2 * values[i - 1] + values[i - 2];
    sum += d * d * rows[i];
  }
  return sum / (6 * Math.max(1, end - first - 2));
}

/** Half-widths of smoothing tried, s (an assumption). */
const halfWidths_s = [0, 30, 60, 120];

/**
 * Air without the noise of its own reading, which would otherwise pull the law by which the source follows it (errors in the variable): a
 * line through the blocks within some time of each one. Of no smoothing and ± 30, 60 and 120 s the one whose expected square error
 * (Mallows' criterion) is least.
 *
 * Source: Mallows (1973), Technometrics 15, 661–675, from memory.
 */
function smoothedAir(
  time_s: Float64Array,
  rows: Float64Array,
  ambient: Float64Array,
  rowVariance: number,
): Float64Array {
  const n = time_s.length;
  let best = ambient;
  let least = Infinity;
  for (const half of halfWidths_s) {
    const smooth = half === 0 ? ambient : new Float64Array(n);
    let risk = 0;
    let from = 0;
    let to = 0;
    for (let k = 0; k < n; k++) {
      let leverage = 1;
      if (half > 0) {
        while (time_s[from] < time_s[k] - half) from++;
        while (to < n && time_s[to] <= time_s[k] + half) to++;
        let w = 0;
        let wt = 0;
        let wtt = 0;
        let wy = 0;
        let wty = 0;
        for (let i = from; i < to; i++) {
          const t = time_s[i] - time_s[k];
          const m = rows[i];
          w += m;
          wt += m * t;
          wtt += m * t * t;
          wy += m * ambient[i];
          wty += m * t * ambient[i];
        }
        const det = w * wtt - wt * wt;
        const flat = !(det > 1e-9 * w * wtt);
        smooth[k] = flat ? wy / w : (wtt * wy - wt * wty) / det;
        leverage = (rows[k] * (flat ? 1 : wtt)) / (flat ? w : det);
      }
      const off = ambient[k] - smooth[k];
      risk += rows[k] * off * off + rowVariance * (2 * leverage - 1);
    }
    if (risk < least) {
      least = risk;
      best = smooth;
    }
  }
  return best;
}

/** Drift of the load worth carrying along: three ten-thousandths of its change. */
const loadWorth = 3e-4;

/** How the load wandered, as a share of the step; `undefined` where it wandered too little to matter. */
function loadShare(power: Float64Array, rows: Float64Array, change_W: number): Float64Array | undefined {
  let total = 0;
  let mean = 0;
  for (let k = 0; k < power.length; k++) {
    total += rows[k];
    mean += rows[k] * power[k];
  }
  mean /= total;
  let square = 0;
  for (let k = 0; k < power.length; k++) square += rows[k] * (power[k] - mean) ** 2;
  if (!(Math.sqrt(square / total) > loadWorth * Math.abs(change_W))) return undefined;
  return power.map((value) => (value - mean) / change_W);
}

/** Neighbouring blocks of a response joined, for a fit that must be quick. */
export interface Joined extends Blocks {
  /** First block of the response in each, and one past the last. */
  readonly start: Int32Array;
  readonly rows: Float64Array;
}

/** Joins blocks up to a share of the time since the step, at most to so many parts of the whole. */
export function joined(response: Response, share: number, parts: number): Joined {
  const { count, time_s, length_s, rows } = response;
  const longest = lengthOf(response) / parts;
  const start = new Int32Array(count + 1);
  let n = 0;
  for (let k = 0; k < count; n++) {
    start[n] = k;
    const begin = time_s[k] - 0.5 * length_s[k];
    const stop = begin + Math.min(longest, share * begin);
    do k++;
    while (k < count && time_s[k] + 0.5 * length_s[k] <= stop);
  }
  start[n] = count;
  const lengths = new Float64Array(n);
  const weights = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    const a = start[j];
    const b = start[j + 1] - 1;
    lengths[j] = a === b ? length_s[a] : time_s[b] - time_s[a] + 0.5 * (length_s[a] + length_s[b]);
    for (let k = a; k <= b; k++) weights[j] += rows[k];
  }
  const out: Joined = {
    count: n,
    time_s: new Float64Array(0),
    length_s: lengths,
    rows: weights,
    start: start.subarray(0, n + 1),
  };
  return {
    ...out,
    time_s: meansOver(out, rows, time_s),
    loadShare: response.loadShare && meansOver(out, rows, response.loadShare),
  };
}

/** Means of a response's values over joined blocks. */
export function meansOver(
  { start, count, rows: weights }: Pick<Joined, 'start' | 'count' | 'rows'>,
  rows: Float64Array,
  values: Float64Array,
  out: Float64Array = new Float64Array(count),
): Float64Array {
  for (let j = 0; j < count; j++) {
    let sum = 0;
    for (let k = start[j]; k < start[j + 1]; k++) sum += rows[k] * values[k];
    out[j] = sum / weights[j];
  }
  return out;
}

/**
 * Variance that rounding leaves in the mean of the tail, K²: readings whose noise is small against the step carry the
 * same rounding error until the value has drifted on, by about one step.
 *
 * Readings that wander over several steps round fairly (Widrow's quantisation theorem); with readings of standard deviation σ the bias
 * of the mean has variance `step²/(2π²) Σ exp(−(2πkσ/step)²)/k²`, which is step²/12 at σ = 0.
 */
function hiddenRounding(step: number, rowVariance: number, values: Float64Array): number {
  if (step < 0.004) return 0;
  const from = Math.floor(0.6 * values.length);
  let path = 0;
  for (let k = from + 2; k < values.length; k += 2) path += Math.abs(values[k] - values[k - 2]);
  const own = Math.sqrt(Math.max(0, rowVariance - (step * step) / 12));
  let sum = 0;
  for (let k = 1; k <= 50; k++) {
    const term = Math.exp(-(((2 * Math.PI * k * own) / step) ** 2)) / (k * k);
    sum += term;
    if (term < 1e-6) break;
  }
  return (((step * step) / (2 * Math.PI ** 2)) * sum) / (1 + path / step) ** 1.25;
}
