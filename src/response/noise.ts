import type { Blocks } from './response.ts';

/** A part of a noise: its variance in the long run, K², and the time in which it forgets, s. */
export interface NoisePart {
  readonly variance: number;
  readonly memory_s: number;
  /** It is zero at the load step; what it was until then is an offset of the sensor, which no single run tells from a rise. */
  readonly fromStep?: boolean;
}

/**
 * Noise of the source's reading as it reaches means over ten seconds and longer: a part that is white there, and parts that forget
 * exponentially, each in a time of its own.
 */
export interface Noise {
  /** Of the white part: variance of a mean over one second, K²·s. */
  readonly white: number;
  /** At most two parts with memory. */
  readonly parts: readonly NoisePart[];
  /** Covariance of the two parts, K²: not zero where both are driven by one white noise, as where a sensor with a lag reads it. */
  readonly covariance?: number;
}

/**
 * A part that forgets in `memory_s`, read through a sensor with a lag of `filter_s`: smooth over times shorter than the lag.
 *
 * 1/((1 + s m)(1 + s f)) = [m/(1 + s m) − f/(1 + s f)]/(m − f): two parts driven by one white noise, with opposite signs.
 *
 * @param variance  of what is read of it, K²
 * @param filter_s  shorter than `memory_s`
 * @param ahead  variance of what is read of white noise ahead of the sensor, K²: it forgets in the sensor's lag
 */
export function filtered(
  white: number,
  variance: number,
  memory_s: number,
  filter_s: number,
  ahead: number,
): Noise {
  const unit = variance / (memory_s - filter_s) ** 2;
  return {
    white,
    parts: [
      { variance: unit * memory_s * (memory_s + filter_s), memory_s },
      { variance: unit * filter_s * (memory_s + filter_s) + ahead, memory_s: filter_s },
    ],
    covariance: -2 * unit * memory_s * filter_s,
  };
}

/** The same noise at `factor` times the variance. */
export const scaled = ({ white, parts, covariance }: Noise, factor: number): Noise => ({
  white: white * factor,
  parts: parts.map((part) => ({ ...part, variance: part.variance * factor })),
  ...(covariance !== undefined && { covariance: covariance * factor }),
});

/** Longer than any log: such a part is to each a random walk. */
const walking_s = 30_000;

/** A random walk from the load step on; its variance grows by `slope` a second, K²/s. */
export const walk = (slope: number): NoisePart => ({
  variance: 0.5 * slope * walking_s,
  memory_s: walking_s,
  fromStep: true,
});

/** By how much the variance of a part's change grows at first, K²/s. */
export const slopeOf = ({ variance, memory_s }: NoisePart): number => (2 * variance) / memory_s;

/** Variance of the sum of the parts with memory, K². */
export const varianceOfParts = ({ parts, covariance = 0 }: Noise): number =>
  parts.reduce((sum, { variance }) => sum + variance, 2 * covariance);

/** Variance of the mean over so many seconds, K². */
export function varianceOfMean({ white, parts, covariance = 0 }: Noise, seconds: number): number {
  let sum = white / seconds;
  // The autocovariance of the sum of both holds their covariance once with each memory.
  const passing = new Passing();
  for (const { variance, memory_s, fromStep } of parts) {
    passing.over(seconds, 0, memory_s);
    sum += (variance + covariance) * (passing.rest + (fromStep ? 0 : passing.see ** 2));
  }
  return sum;
}

/** Turns blocks with such noise into independent ones of variance one: the one-step errors of a Kalman filter. */
export class Whitening {
  readonly n: number;
  /** Of the two parts: how a block sees them, what is left of them at the next block, and how far this block's error moves them there. */
  readonly see1: Float64Array;
  readonly see2: Float64Array;
  readonly keep1: Float64Array;
  readonly keep2: Float64Array;
  readonly gain1: Float64Array;
  readonly gain2: Float64Array;
  /** One over the standard deviation of each error. */
  readonly scale: Float64Array;
  /** Logarithm of the determinant of the blocks' covariance. */
  readonly logDeterminant: number;

  /**
   * The filter's state is each part at the beginning of a block; the mean over the block, the value at its end and their covariance
   * follow exactly from the autocorrelation exp(−t/τ).
   *
   * @param extra  variance of each block on top, K²
   */
  constructor({ count, time_s, length_s }: Blocks, noise: Noise, extra?: Float64Array) {
    this.n = count;
    const all = new Float64Array(7 * count);
    const column = (i: number) => all.subarray(i * count, (i + 1) * count);
    this.see1 = column(0);
    this.see2 = column(1);
    this.keep1 = column(2);
    this.keep2 = column(3);
    this.gain1 = column(4);
    this.gain2 = column(5);
    this.scale = column(6);
    const [a = nothing, b = nothing] = noise.parts;
    const c = noise.covariance ?? 0;
    const one = new Passing();
    const two = new Passing();
    const shared = new PassingTogether();
    let p11 = a.fromStep ? 0 : a.variance;
    let p22 = b.fromStep ? 0 : b.variance;
    let p12 = c;
    let lastGap = -1;
    let lastLength = -1;
    let logDeterminant = 0;
    for (let k = 0; k < count; k++) {
      const length = length_s[k];
      const gap =
        k + 1 < count ? Math.max(0, time_s[k + 1] - time_s[k] - 0.5 * (length + length_s[k + 1])) : 0;
      if (Math.abs(length - lastLength) > 1e-9 || Math.abs(gap - lastGap) > 1e-9) {
        lastLength = length;
        lastGap = gap;
        one.over(length, gap, a.memory_s);
        two.over(length, gap, b.memory_s);
        if (c !== 0) shared.over(length, gap, a.memory_s, b.memory_s);
      }
      const c1 = p11 * one.see + p12 * two.see;
      const c2 = p12 * one.see + p22 * two.see;
      const own =
        a.variance * one.rest +
        b.variance * two.rest +
        2 * c * shared.rest +
        noise.white / length +
        (extra ? extra[k] : 0);
      const s = c1 * one.see + c2 * two.see + own + 1e-14;
      const g1 = (one.keep * c1 + a.variance * one.both + c * shared.both1) / s;
      const g2 = (two.keep * c2 + b.variance * two.both + c * shared.both2) / s;
      logDeterminant += Math.log(s);
      this.see1[k] = one.see;
      this.see2[k] = two.see;
      this.keep1[k] = one.keep;
      this.keep2[k] = two.keep;
      this.gain1[k] = g1;
      this.gain2[k] = g2;
      this.scale[k] = 1 / Math.sqrt(s);
      p11 = one.keep * one.keep * (p11 - a.variance) + a.variance - g1 * g1 * s;
      p22 = two.keep * two.keep * (p22 - b.variance) + b.variance - g2 * g2 * s;
      p12 = one.keep * two.keep * (p12 - c) + c - g1 * g2 * s;
    }
    this.logDeterminant = logDeterminant;
  }

  /** Whitens a column; `out` may be the column itself. */
  apply(column: Float64Array, out: Float64Array): void {
    const { n, see1, see2, gain1, gain2, keep1, keep2, scale } = this;
    let m1 = 0;
    let m2 = 0;
    for (let k = 0; k < n; k++) {
      const error = column[k] - see1[k] * m1 - see2[k] * m2;
      out[k] = error * scale[k];
      m1 = keep1[k] * m1 + gain1[k] * error;
      m2 = keep2[k] * m2 + gain2[k] * error;
    }
  }
}

const nothing: NoisePart = { variance: 0, memory_s: 1 };

/** What becomes of a part of unit variance over a block and the gap behind it. */
class Passing {
  /** Of its value at the beginning: the share that the block's mean has, and that which is left at the next block. */
  see = 1;
  keep = 0;
  /** Variance of the mean that the beginning does not tell, and its covariance with the value at the next block. */
  rest = 0;
  both = 0;

  /** For a block of this length and the gap behind it, s. */
  over(length: number, gap: number, memory_s: number): void {
    const x = length / memory_s;
    const left = Math.exp(-gap / memory_s);
    this.see = x < 1e-6 ? 1 : -Math.expm1(-x) / x;
    // For small x by its series, as the differences lose their digits.
    const ofMean = x < 1e-3 ? 1 - x / 3 : (2 / x) * (1 - this.see);
    this.rest = x < 1e-3 ? (2 / 3) * x : Math.max(0, ofMean - this.see * this.see);
    this.keep = Math.exp(-x) * left;
    this.both = -this.see * Math.expm1(-x) * left;
  }
}

/** The same for two parts driven by one noise, of unit covariance. */
class PassingTogether {
  /** Covariance of the two means that the beginning does not tell. */
  rest = 0;
  /** Covariance of the first part at the next block with the second's mean, and of the second with the first's. */
  both1 = 0;
  both2 = 0;

  over(length: number, gap: number, memory1_s: number, memory2_s: number): void {
    const a = 1 / memory1_s;
    const b = 1 / memory2_s;
    // ∫₀ᴸ e^{−r t} dt
    const integral = (rate: number) => -Math.expm1(-rate * length) / rate;
    const [ia, ib, iab] = [integral(a), integral(b), integral(a + b)];
    this.rest = ((a + b) / (a * b * length ** 2)) * (length - ia - ib + iab);
    this.both1 = ((a + b) / (b * length)) * (ia - iab) * Math.exp(-gap * a);
    this.both2 = ((a + b) / (a * length)) * (ib - iab) * Math.exp(-gap * b);
  }
}
