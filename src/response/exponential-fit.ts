import { cholesky, invertFactored, logDeterminant, solveLower, solveUpperT } from '../numerics/matrix.ts';
import { type AirSeen, lagOf } from './air-laws.ts';
import type { Whitening } from './noise.ts';
import type { Blocks } from './response.ts';

/** Most exponentials a fit may have. */
export const mostTerms = 5;
/** Of a fit: rise, amplitudes, time constants. */
const mostParameters = 1 + 2 * mostTerms;
/** Places of the whitened columns: the constant, the exponentials, what is to be described. */
const ones = 0;
const target = 1 + mostTerms;
const width = target + 1;

/** A fitted sum `rise + Σ amplitudeᵢ exp(−t/τᵢ)`, with its curvature. */
export interface ExponentialMode {
  readonly terms: number;
  /** Ascending natural logarithms of the time constants in s. */
  readonly logTaus: Float64Array;
  readonly amplitudes_K: Float64Array;
  readonly rise_K: number;
  /** Whitened sum of squares with the penalty of the amplitudes' prior. */
  readonly chiSquare: number;
  /** Covariance of (rise, amplitudes, log τ of the free ones), row-major, at noise scale one. */
  readonly covariance: Float64Array;
  readonly size: number;
  /** Logarithm of the determinant of the covariance's inverse. */
  readonly logDeterminant: number;
}

/** Time constants of one fit are apart by this factor at least, as a logarithm (an assumption). */
const least = Math.log(1.25);
/** Of the logarithm of a time constant, before the data (an assumption). */
const priorCurvature = 0.25;
/** Farthest that a time constant moves in one step, and least that is worth one, as logarithms. */
const farthest = 0.8;
const leastStep = 1e-6;
/** Below this an exponential is taken as over: e⁻⁴⁰. */
const over = 4.25e-18;

/**
 * Variable projection for sums of exponentials: given the time constants, everything else is linear.
 *
 * The linear part is solved exactly at each set of time constants; the time constants move by Gauss–Newton on their
 * logarithms (Golub and Pereyra; Kaufman's simplification), damped as by Levenberg. Amplitudes have a weak zero-mean prior of the size of
 * the whole swing, which keeps two nearly equal time constants from running off against each other. All of it works on inner products of
 * whitened columns, and a column is renewed where its time constant moves. Where the law of the air goes by the cooler's own lags, the air
 * that is taken off moves with them.
 *
 * One object serves fit after fit; `load` begins the next.
 */
export class ExponentialFit {
  n = 0;
  low = 0;
  high = 0;
  swing_K = 1;
  blocks!: Blocks;
  white!: Whitening;
  private source!: Float64Array;
  private air!: AirSeen;
  private reference = 0;
  private columns: Float64Array[] = [];
  private slopes: Float64Array[] = [];
  private joint: Float64Array[] = [];
  private raw: Float64Array[] = [];
  private residual = new Float64Array(0);
  private readonly taus = new Float64Array(mostTerms);
  private readonly amplitudes = new Float64Array(mostTerms);
  private readonly inner = new Float64Array(width * width);
  /** The time constants whose columns are filled. */
  private readonly known = new Float64Array(mostTerms);
  private readonly linear = new Float64Array(1 + mostTerms);
  private readonly normal = new Float64Array(mostParameters * mostParameters);
  private readonly factor = new Float64Array(mostParameters * mostParameters);
  private readonly gradient = new Float64Array(mostParameters);
  private readonly step = new Float64Array(mostParameters);
  private readonly trial = new Float64Array(mostTerms);

  /**
   * @param source  temperature of the source, °C, a value a block
   * @param air   what is taken off it
   * @param low   least time constant, s
   * @param high  greatest time constant, s
   */
  load(
    blocks: Blocks,
    white: Whitening,
    source: Float64Array,
    air: AirSeen,
    low: number,
    high: number,
  ): void {
    const n = blocks.count;
    this.blocks = blocks;
    this.n = n;
    this.source = source;
    this.air = air;
    this.low = Math.log(low);
    this.high = Math.log(high);
    if (this.columns.length === 0 || this.columns[0].length < n) {
      const rooms = (count: number) =>
        Array.from({ length: count }, () => new Float64Array(Math.max(64, 2 * n)));
      this.columns = rooms(width);
      this.slopes = rooms(mostTerms);
      this.joint = rooms(mostTerms);
      this.raw = rooms(2);
      [this.residual] = rooms(1);
    }
    let lowest = Infinity;
    let most = -Infinity;
    for (let k = 0; k < n; k++) {
      const rise = source[k] - air.air_C[k];
      if (rise < lowest) lowest = rise;
      if (rise > most) most = rise;
    }
    this.swing_K = Math.max(0.5, most - lowest);
    this.reweigh(white);
  }

  /** The same blocks with other noise. */
  reweigh(white: Whitening): void {
    const { n, columns, source, air } = this;
    this.white = white;
    this.known.fill(Number.NaN);
    this.reference = source[n - 1] - air.air_C[n - 1];
    columns[ones].fill(1, 0, n);
    white.apply(columns[ones], columns[ones]);
    this.multiply(ones, ones);
    this.takeAir(0);
  }

  /** What is to be described, with the air as it is seen now. */
  private takeAir(terms: number): void {
    const { n, columns, source, air, reference, white } = this;
    const y = columns[target];
    for (let k = 0; k < n; k++) y[k] = source[k] - air.air_C[k] - reference;
    white.apply(y, y);
    for (let i = 0; i <= terms; i++) this.multiply(i, target);
    this.multiply(target, target);
  }

  /** Puts the inner product of two columns, and its mirror, into the normal matrix. */
  private multiply(i: number, j: number): void {
    const value = dot(this.columns[i], this.columns[j], this.n);
    this.inner[i * width + j] = value;
    this.inner[j * width + i] = value;
  }

  /** Fills the columns of the terms whose time constants have moved. */
  private renew(logTaus: Float64Array, terms: number): void {
    const { known, taus, amplitudes, air } = this;
    let renewed = 0;
    for (let i = 0; i < terms; i++) {
      if (known[i] === logTaus[i]) continue;
      known[i] = logTaus[i];
      renewed |= 2 << i;
      taus[i] = Math.exp(logTaus[i]);
      this.exponential(taus[i], this.columns[1 + i], this.slopes[i]);
    }
    if (renewed === 0) return;
    // Inner products with columns out of use are not kept up.
    for (let i = terms; i < mostTerms; i++) known[i] = Number.NaN;
    for (let i = 1; i <= terms; i++)
      for (let j = 0; j <= i; j++) if (((renewed >> i) | (renewed >> j)) & 1) this.multiply(i, j);
    if (air.isCoupled) {
      air.follow({ terms, taus, amplitudes });
      this.takeAir(terms);
    } else for (let i = 1; i <= terms; i++) if ((renewed >> i) & 1) this.multiply(i, target);
  }

  /**
   * The whitened column of one exponential and its derivative by the logarithm of its time constant, in one pass: what it falls by from
   * block to block needs an exponential for every new spacing only.
   */
  private exponential(tau: number, column: Float64Array, slope: Float64Array): void {
    const { n, blocks, white } = this;
    const { time_s, loadShare } = blocks;
    if (loadShare) {
      const [value, lagged] = this.raw;
      exponentialMeans(blocks, tau, value);
      lagOf(blocks, tau, loadShare, lagged);
      for (let k = 0; k < n; k++) {
        slope[k] = (value[k] * time_s[k]) / tau;
        // The load's own drift goes through the same element as its step did.
        column[k] = value[k] - lagged[k];
      }
      white.apply(column, column);
      white.apply(slope, slope);
      return;
    }
    const { length_s } = blocks;
    const { see1, see2, gain1, gain2, keep1, keep2, scale } = white;
    const rate = 1 / tau;
    let lastStep = -1;
    let fall = 0;
    let time = time_s[0];
    let decay = Math.exp(-time * rate);
    let lastLength = -1;
    let factor = 1;
    let m1 = 0;
    let m2 = 0;
    let s1 = 0;
    let s2 = 0;
    for (let k = 0; k < n; k++) {
      if (k > 0) {
        const step = time_s[k] - time;
        time = time_s[k];
        if (Math.abs(step - lastStep) > 1e-9) {
          lastStep = step;
          fall = Math.exp(-step * rate);
        }
        decay *= fall;
      }
      if (decay < over) decay = 0;
      else if (Math.abs(length_s[k] - lastLength) > 1e-9) {
        lastLength = length_s[k];
        factor = meanFactor(0.5 * lastLength * rate);
      }
      const value = decay * factor;
      const error = value - see1[k] * m1 - see2[k] * m2;
      const errorOfSlope = value * time * rate - see1[k] * s1 - see2[k] * s2;
      column[k] = error * scale[k];
      slope[k] = errorOfSlope * scale[k];
      m1 = keep1[k] * m1 + gain1[k] * error;
      m2 = keep2[k] * m2 + gain2[k] * error;
      s1 = keep1[k] * s1 + gain1[k] * errorOfSlope;
      s2 = keep2[k] * s2 + gain2[k] * errorOfSlope;
    }
  }

  /** Solves the linear part at the given time constants; the sum of squares that is left. */
  private project(logTaus: Float64Array, terms: number): number {
    this.renew(logTaus, terms);
    const { inner, linear, factor } = this;
    const p = terms + 1;
    const ridge = 1 / (this.swing_K * this.swing_K);
    for (let i = 0; i < p; i++) {
      linear[i] = inner[i * width + target];
      for (let j = 0; j <= i; j++) factor[i * p + j] = inner[i * width + j];
      if (i > 0) factor[i * p + i] += ridge;
    }
    if (!cholesky(factor, p)) return Infinity;
    solveLower(factor, p, linear);
    let chiSquare = inner[target * width + target];
    for (let i = 0; i < p; i++) chiSquare -= linear[i] * linear[i];
    solveUpperT(factor, p, linear);
    for (let i = 0; i < terms; i++) this.amplitudes[i] = linear[i + 1];
    return Math.max(0, chiSquare);
  }

  /** Sum of squares that is left with one more time constant, the others held. */
  leftWith(logTaus: Float64Array, logTau: number): number {
    return this.project(Float64Array.of(...logTaus, logTau), logTaus.length + 1);
  }

  /** Normal equations of all parameters where {@link project} solved the linear ones; the number of parameters. */
  private setUp(terms: number, free: number): number {
    const { n, inner, linear, normal, gradient, columns, slopes, joint, residual, air, raw, white } = this;
    const p = 1 + terms + free;
    const ridge = 1 / (this.swing_K * this.swing_K);
    if (free > 0) {
      for (let k = 0; k < n; k++) {
        let left = columns[target][k];
        for (let j = 0; j <= terms; j++) left -= linear[j] * columns[j][k];
        residual[k] = left;
      }
    }
    for (let i = 0; i < free; i++) {
      const amplitude = linear[i + 1];
      const both = joint[i];
      if (air.isCoupled) {
        raw[0].fill(0, 0, n);
        air.addDrift(i, { terms, taus: this.taus, amplitudes: this.amplitudes }, raw[0]);
        white.apply(raw[0], both);
        for (let k = 0; k < n; k++) both[k] += amplitude * slopes[i][k];
      } else for (let k = 0; k < n; k++) both[k] = amplitude * slopes[i][k];
    }
    for (let i = 0; i < p; i++) {
      const isJoint = i > terms;
      gradient[i] = isJoint ? dot(joint[i - 1 - terms], residual, n) : 0;
      for (let j = 0; j <= i; j++) {
        normal[i * p + j] = !isJoint
          ? inner[i * width + j]
          : dot(joint[i - 1 - terms], j > terms ? joint[j - 1 - terms] : columns[j], n);
      }
      if (i > 0 && !isJoint) normal[i * p + i] += ridge;
    }
    return p;
  }

  /** One Gauss–Newton step, left in `step` with the factor; what the sum of squares would fall by, NaN where there is none. */
  private gaussNewton(size: number, firstDamped: number, damping: number): number {
    const { normal, gradient, factor, step } = this;
    for (let i = 0; i < size * size; i++) factor[i] = normal[i];
    for (let i = firstDamped; i < size; i++) factor[i * size + i] += damping;
    if (!cholesky(factor, size)) return Number.NaN;
    for (let i = 0; i < size; i++) step[i] = gradient[i];
    solveLower(factor, size, step);
    solveUpperT(factor, size, step);
    let gain = 0;
    for (let i = 0; i < size; i++) gain += gradient[i] * step[i];
    return gain;
  }

  /**
   * The Gauss–Newton step, damped until no time constant moves by more than `radius` as a logarithm, left in `step`.
   *
   * @returns the farthest that one moves; NaN where there is no step
   */
  private stepWithin(radius: number, size: number, first: number): number {
    for (let damping = priorCurvature; damping < 1e12; damping *= 4) {
      if (Number.isNaN(this.gaussNewton(size, first, damping))) return Number.NaN;
      let longest = 0;
      for (let i = first; i < size; i++) longest = Math.max(longest, Math.abs(this.step[i]));
      if (longest <= radius) return longest;
    }
    return Number.NaN;
  }

  /**
   * Moves the time constants to the nearest optimum, by steps no longer than the linearised fit has held so far (a trust region). One
   * constant of which the data say nothing would otherwise run away and hold up the others, should all be shortened alike.
   *
   * @param logTaus  start, ascending; changed in place
   * @param held     number of slowest time constants that stay where they are (0 or 1)
   * @param tolerance  gain of the sum of squares at which to stop
   */
  refine(
    logTaus: Float64Array,
    terms: number,
    held: number,
    iterations: number,
    tolerance = 0.02,
  ): ExponentialMode | undefined {
    const free = terms - held;
    let chiSquare = this.project(logTaus, terms);
    if (!Number.isFinite(chiSquare)) return undefined;
    const size = 1 + terms + free;
    const { step, trial } = this;
    let ready = false;
    let radius = farthest;
    for (let iteration = 0; iteration < iterations && free > 0; iteration++) {
      if (!ready) this.setUp(terms, free);
      ready = true;
      const taken = this.stepWithin(radius, size, 1 + terms);
      if (!(taken > leastStep)) break;
      for (let i = 0; i < terms; i++) trial[i] = logTaus[i];
      for (let i = 0; i < free; i++)
        trial[i] = Math.min(this.high, Math.max(this.low, logTaus[i] + step[1 + terms + i]));
      for (let i = terms - 1; i > 0; i--) trial[i - 1] = Math.min(trial[i - 1], trial[i] - least);
      const next = this.project(trial, terms);
      if (next < chiSquare) {
        const gain = chiSquare - next;
        chiSquare = next;
        for (let i = 0; i < terms; i++) logTaus[i] = trial[i];
        ready = false;
        radius = Math.min(farthest, 2 * Math.max(radius, taken));
        if (gain < tolerance) break;
      } else radius = 0.25 * taken;
    }
    return this.describe(logTaus, terms, free);
  }

  /**
   * The optimum at these time constants: amplitudes solved for, covariance from the curvature with the
   * prior's, χ²; `undefined` where it is singular.
   */
  private describe(logTaus: Float64Array, terms: number, free: number): ExponentialMode | undefined {
    const chiSquare = this.project(logTaus, terms);
    const size = this.setUp(terms, free);
    const { factor } = this;
    if (Number.isNaN(this.gaussNewton(size, 1 + terms, priorCurvature))) return undefined;
    const logDet = logDeterminant(factor, size);
    const covariance = factor.slice(0, size * size);
    invertFactored(covariance, size);
    return {
      terms,
      logTaus: logTaus.slice(0, terms),
      amplitudes_K: this.linear.slice(1, 1 + terms),
      rise_K: this.linear[0] + this.reference,
      chiSquare,
      covariance,
      size,
      logDeterminant: logDet,
    };
  }

  /**
   * By how much the rise of a mode moves, and its sum of squares, where the rise to be described had `change` added, to first order.
   *
   * @param change  K, a value a block
   */
  moved(mode: ExponentialMode, change: Float64Array): { rise_K: number; chiSquare: number } {
    const { n, columns, joint, residual, white } = this;
    const { terms, size, covariance } = mode;
    this.project(mode.logTaus, terms);
    this.setUp(terms, size - 1 - terms);
    const whitened = this.raw[0];
    white.apply(change, whitened);
    const right = new Float64Array(size);
    for (let i = 0; i < size; i++) right[i] = dot(whitened, i > terms ? joint[i - 1 - terms] : columns[i], n);
    let rise = 0;
    let explained = 0;
    for (let i = 0; i < size; i++) {
      rise += covariance[i] * right[i];
      for (let j = 0; j < size; j++) explained += right[i] * covariance[i * size + j] * right[j];
    }
    const chiSquare = 2 * dot(whitened, residual, n) + dot(whitened, whitened, n) - explained;
    return { rise_K: rise, chiSquare };
  }

  /**
   * Best one, two and three time constants out of a geometric row of candidates, as starts: with the inner products
   * of all candidates at hand, each choice is a system of three at most.
   */
  starts(greatest_s: number): Float64Array[] {
    const { n, columns } = this;
    const low = Math.max(this.low, Math.log(1.2));
    const high = Math.max(low + 1, Math.min(this.high, Math.log(greatest_s)));
    const logTaus = Float64Array.from(
      { length: candidates },
      (_, i) => low + ((high - low) * i) / (candidates - 1),
    );
    const gram = new Float64Array(candidates * candidates);
    const right = new Float64Array(candidates);
    const y = columns[target];
    const one = columns[ones];
    const oneOne = this.inner[ones * width + ones];
    const level = this.inner[ones * width + target] / oneOne;
    const total = this.inner[target * width + target] - level * level * oneOne;
    const made: Float64Array[] = [];
    for (let i = 0; i < candidates; i++) {
      const column = new Float64Array(n);
      this.exponential(Math.exp(logTaus[i]), column, this.slopes[0]);
      const share = dot(column, one, n) / oneOne;
      for (let k = 0; k < n; k++) column[k] -= share * one[k];
      made.push(column);
      right[i] = dot(column, y, n);
      for (let j = 0; j <= i; j++)
        gram[i * candidates + j] = gram[j * candidates + i] = dot(column, made[j], n);
    }
    this.known.fill(Number.NaN);
    return leastLeft(logTaus, gram, right, total);
  }
}

/** Candidates for the starts: a geometric row over the range of the time constants. */
const candidates = 12;

/** The one, two and three candidates that leave least. */
function leastLeft(
  logTaus: Float64Array,
  gram: Float64Array,
  right: Float64Array,
  total: number,
): Float64Array[] {
  const best = [Infinity, Infinity, Infinity];
  const out = [new Float64Array(1), new Float64Array(2), new Float64Array(3)];
  const c = candidates;
  const keep = (left: number, ...which: number[]) => {
    if (!(left < best[which.length - 1])) return;
    best[which.length - 1] = left;
    for (let i = 0; i < which.length; i++) out[which.length - 1][i] = logTaus[which[i]];
  };
  for (let s = 0; s < c; s++) {
    const gss = gram[s * c + s] + 1e-12;
    const bs = right[s];
    const one = total - (bs * bs) / gss;
    keep(one, s);
    for (let m = 0; m < s; m++) {
      const share = gram[m * c + s] / gss;
      const gmm = gram[m * c + m] - share * gram[m * c + s];
      if (!(gmm > 1e-9 * gram[m * c + m])) continue;
      const bm = right[m] - share * bs;
      const two = one - (bm * bm) / gmm;
      keep(two, m, s);
      for (let f = 0; f < m; f++) {
        const fs = gram[f * c + s] / gss;
        const gfm = gram[f * c + m] - fs * gram[m * c + s];
        const fm = gfm / gmm;
        const gff = gram[f * c + f] - fs * gram[f * c + s] - fm * gfm;
        if (!(gff > 1e-9 * gram[f * c + f])) continue;
        const bf = right[f] - fs * bs - fm * bm;
        if (two - (bf * bf) / gff < best[2]) keep(two - (bf * bf) / gff, f, m, s);
      }
    }
  }
  return out;
}

/** Means of exp(−t/τ) over blocks. */
export function exponentialMeans({ count, time_s, length_s }: Blocks, tau: number, out: Float64Array): void {
  for (let k = 0; k < count; k++) out[k] = Math.exp(-time_s[k] / tau) * meanFactor((0.5 * length_s[k]) / tau);
}

/**
 * Mean of exp(−t/τ) over a block, by its value at the block's mean time: sinh(x)/x with x = length/(2τ).
 */
function meanFactor(x: number): number {
  const xx = x * x;
  return xx < 0.2 ? 1 + (xx / 6) * (1 + (xx / 20) * (1 + xx / 42)) : Math.sinh(x) / x;
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
