import { cholesky, invertSpd, logDeterminant, solveLower, solveUpperT } from '../fitting/dense.ts';
import type { Whitening } from './reading-noise.ts';
import {
  blockExponential,
  type LagWeights,
  laggedAmbient,
  lagWeights,
  lagWith,
  mostBlocks,
  type ResponseBlocks,
} from './response-blocks.ts';

/** Most exponentials a fit may have. */
export const mostTerms = 3;

/**
 * How the source follows the air. `ladder`: through all lags in a row, as a ladder of resistances and masses does.
 * `slowest`: through the slowest alone, where only the fins and what hangs on them meet the air. `shares`: each lag by
 * its share of the resistance, where the air reaches the parts side by side. `at-once`: without lag.
 */
export type Following = 'ladder' | 'slowest' | 'shares' | 'at-once';

/** A fitted sum `rise + Σ amplitudeᵢ exp(−t/τᵢ)` over lagged ambient, with its curvature. */
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
  /** Logarithm of the Laplace integral over the parameters, noise scale one, up to a constant shared by all modes. */
  readonly logDeterminant: number;
  readonly free: readonly number[];
}

const least = 1.25;
const basisSize = mostTerms + 1;
const mostCandidates = 16;
const mostParameters = 1 + 2 * mostTerms;
const column = () => new Float64Array(mostBlocks);
const columns = (count: number) => Array.from({ length: count }, column);

/**
 * Working columns, shared by all fits: a fit is over before the next one begins, and some thousand short-lived arrays
 * a second cost more in clearing up than in use.
 */
const scratch = {
  ones: column(),
  one: column(),
  lag: column(),
  residual: column(),
  columns: columns(mostTerms),
  slopes: columns(mostTerms),
  drifts: columns(mostTerms),
  joint: columns(mostTerms),
  candidates: columns(mostCandidates),
  targets: columns(mostCandidates),
  lags: Array.from({ length: mostTerms }, (): LagWeights => ({ keep: column(), mean: column() })),
  curvature: new Float64Array(mostParameters * mostParameters),
  step: new Float64Array(mostParameters),
  gradient: new Float64Array(mostParameters),
  trial: new Float64Array(mostTerms),
};

/**
 * Variable projection for sums of exponentials: given the time constants, everything else is linear.
 *
 * The linear part is solved exactly at each set of time constants; the time constants move by Gauss–Newton on their
 * logarithms (Golub and Pereyra; Kaufman's simplification). Amplitudes have a weak zero-mean prior of the size of
 * the whole swing, which keeps two nearly equal time constants from running off against each other.
 */
export class ExponentialFit {
  readonly blocks: ResponseBlocks;
  readonly low: number;
  readonly high: number;
  readonly swing_K: number;
  private readonly n: number;
  private white: Whitening;
  private readonly ones: Float64Array;
  private readonly columns: Float64Array[];
  private readonly slopes: Float64Array[];
  private readonly drifts: Float64Array[];
  private readonly joint: Float64Array[];
  private readonly lag: Float64Array;
  private readonly residual: Float64Array;
  /** The constant and the exponentials, whitened, and their inner products. */
  private readonly basis: Float64Array[];
  private readonly inner = new Float64Array(basisSize * basisSize);
  /** The time constants whose columns are filled. */
  private readonly known = new Float64Array(mostTerms).fill(Number.NaN);
  private readonly linear = new Float64Array(mostTerms + 1);
  private readonly normal = new Float64Array((mostTerms + 1) ** 2);
  private readonly taus = new Float64Array(mostTerms);
  private readonly reference_C: number;
  following: Following = 'ladder';

  /**
   * @param low   least time constant, s
   * @param high  greatest time constant, s
   */
  constructor(blocks: ResponseBlocks, white: Whitening, low: number, high: number) {
    const n = blocks.count;
    this.blocks = blocks;
    this.n = n;
    this.white = white;
    this.low = Math.log(low);
    this.high = Math.log(high);
    if (n > mostBlocks) throw new RangeError(`${n} blocks; at most ${mostBlocks} are accepted`);
    this.ones = scratch.ones;
    this.lag = scratch.lag;
    this.residual = scratch.residual;
    this.columns = scratch.columns;
    this.slopes = scratch.slopes;
    this.drifts = scratch.drifts;
    this.joint = scratch.joint;
    this.basis = [this.ones, ...this.columns];
    let lowest = Infinity;
    let most = -Infinity;
    for (let k = 0; k < n; k++) {
      const y = blocks.source_C[k] - blocks.ambient_C[k];
      if (y < lowest) lowest = y;
      if (y > most) most = y;
    }
    this.swing_K = Math.max(0.5, most - lowest);
    this.reference_C = blocks.source_C[n - 1] - blocks.ambient_C[n - 1];
    this.setWhitening(white);
  }

  setWhitening(white: Whitening): void {
    this.white = white;
    this.known.fill(Number.NaN);
    this.ones.fill(1, 0, this.n);
    this.whiten(this.ones);
  }

  private whiten(column: Float64Array): void {
    const { pass, scale } = this.white;
    for (let k = this.n - 1; k > 0; k--) column[k] = (column[k] - pass[k] * column[k - 1]) * scale[k];
    column[0] *= scale[0];
  }

  /** Solves the linear part at the given time constants and leaves columns, slopes and residuals filled. */
  private project(logTaus: Float64Array, terms: number): number {
    const { n, columns, slopes, blocks, lag, residual, linear, normal, taus } = this;
    for (let i = 0; i < terms; i++) {
      if (this.known[i] === logTaus[i]) continue;
      this.known[i] = logTaus[i];
      const tau = Math.exp(logTaus[i]);
      taus[i] = tau;
      lagWeights(blocks, tau, scratch.lags[i].keep, scratch.lags[i].mean);
      const column = columns[i];
      blockExponential(blocks, tau, column, 0);
      if (blocks.loadDeviation) {
        // The load's own drift goes through the same element as its step did.
        lagWith(n, scratch.lags[i], blocks.loadDeviation, scratch.one);
      }
      const slope = slopes[i];
      for (let k = 0; k < n; k++) slope[k] = column[k] * (blocks.time_s[k] / tau);
      if (blocks.loadDeviation) for (let k = 0; k < n; k++) column[k] -= scratch.one[k];
      this.whiten(column);
      this.whiten(slope);
    }
    this.follow(terms, lag);
    for (let i = 0; i < terms; i++) {
      const drift = this.drifts[i];
      if (this.following !== 'ladder' && !(this.following === 'slowest' && i === terms - 1)) {
        drift.fill(0, 0, n);
        continue;
      }
      lagWith(n, scratch.lags[i], lag, drift);
      for (let k = 0; k < n; k++) drift[k] -= lag[k];
      this.whiten(drift);
    }
    for (let k = 0; k < n; k++) residual[k] = blocks.source_C[k] - lag[k] - this.reference_C;
    this.whiten(residual);
    const p = terms + 1;
    const ridge = 1 / (this.swing_K * this.swing_K);
    const { basis, inner } = this;
    for (let i = 0; i < p; i++) {
      const a = basis[i];
      linear[i] = dot(a, residual, this.n);
      for (let j = 0; j <= i; j++) {
        const value = dot(a, basis[j], this.n);
        inner[i * basisSize + j] = value;
        normal[i * p + j] = i === j && i > 0 ? value + ridge : value;
        normal[j * p + i] = normal[i * p + j];
      }
    }
    if (!cholesky(normal, p)) return Infinity;
    solveLower(normal, p, linear);
    solveUpperT(normal, p, linear);
    for (let i = 0; i < p; i++) {
      const amplitude = linear[i];
      const a = basis[i];
      for (let k = 0; k < n; k++) residual[k] -= amplitude * a[k];
    }
    let chiSquare = dot(residual, residual, this.n);
    for (let i = 1; i < p; i++) chiSquare += linear[i] * linear[i] * ridge;
    return chiSquare;
  }

  /** Ambient as the source sees it, by the law of {@link Following}. */
  private follow(terms: number, out: Float64Array): void {
    const { blocks, n } = this;
    const { ambient_C } = blocks;
    if (terms === 0) out.set(ambient_C);
    else if (this.following === 'ladder') {
      for (let i = 0; i < terms; i++) lagWith(n, scratch.lags[i], i === 0 ? ambient_C : out, out);
    } else if (this.following === 'slowest') lagWith(n, scratch.lags[terms - 1], ambient_C, out);
    else if (this.following === 'at-once') out.set(ambient_C);
    else {
      let total = 0;
      for (let i = 0; i < terms; i++) total += Math.abs(this.linear[i + 1]);
      out.fill(0, 0, n);
      for (let i = 0; i < terms; i++) {
        const share = total > 0 ? Math.abs(this.linear[i + 1]) / total : 1 / terms;
        lagWith(n, scratch.lags[i], ambient_C, scratch.one);
        for (let k = 0; k < n; k++) out[k] += share * scratch.one[k];
      }
    }
  }

  /** Ambient as a mode saw it, at the blocks. */
  ambientOf(mode: Pick<ExponentialMode, 'terms' | 'logTaus' | 'amplitudes_K'>): Float64Array {
    mode.logTaus.forEach((logTau, i) => {
      lagWeights(this.blocks, Math.exp(logTau), scratch.lags[i].keep, scratch.lags[i].mean);
      this.linear[i + 1] = mode.amplitudes_K[i];
    });
    this.known.fill(Number.NaN);
    const out = new Float64Array(this.n);
    this.follow(mode.terms, out);
    return out;
  }

  private curvature(
    terms: number,
    free: readonly number[],
    out: Float64Array,
    damping: number,
    gradient?: Float64Array,
  ): number {
    const p = 1 + terms + free.length;
    const ridge = 1 / (this.swing_K * this.swing_K);
    for (const i of free) {
      const amplitude = this.linear[i + 1];
      for (let k = 0; k < this.n; k++) this.joint[i][k] = amplitude * this.slopes[i][k] + this.drifts[i][k];
    }
    const { basis, inner } = this;
    for (let i = 0; i < p; i++) {
      const a = i <= terms ? basis[i] : this.joint[free[i - 1 - terms]];
      if (gradient) gradient[i] = i > terms ? dot(a, this.residual, this.n) : 0;
      for (let j = 0; j <= i; j++) {
        let value =
          i <= terms
            ? inner[i * basisSize + j]
            : dot(a, j <= terms ? basis[j] : this.joint[free[j - 1 - terms]], this.n);
        if (i === j) value += i === 0 ? 0 : i <= terms ? ridge : damping;
        out[i * p + j] = value;
        out[j * p + i] = value;
      }
    }
    return p;
  }

  /**
   * Moves the time constants to the nearest optimum.
   *
   * @param logTaus  start, ascending; changed in place
   * @param held     number of slowest time constants that stay where they are (0 or 1)
   */
  refine(
    logTaus: Float64Array,
    terms: number,
    held: number,
    iterations: number,
    tolerance = 0.02,
    tolerableShare = 0,
  ): ExponentialMode | undefined {
    const free: number[] = [];
    for (let i = 0; i < terms - held; i++) free.push(i);
    if (this.following === 'shares') this.project(logTaus, terms);
    let chiSquare = this.project(logTaus, terms);
    if (!Number.isFinite(chiSquare)) return undefined;
    const size = 1 + terms + free.length;
    const { curvature: h, step, trial } = scratch;
    let fresh = true;
    let damping = 0.25;
    let failures = 0;
    for (let iteration = 0; iteration < iterations && free.length > 0; iteration++) {
      if (!fresh) chiSquare = this.project(logTaus, terms);
      fresh = true;
      this.curvature(terms, free, h, damping, step);
      if (!cholesky(h, size)) break;
      solveLower(h, size, step);
      solveUpperT(h, size, step);
      let share = 1;
      for (let f = 0; f < free.length; f++) share = Math.min(share, 0.8 / Math.abs(step[1 + terms + f]));
      for (let i = 0; i < terms; i++) trial[i] = logTaus[i];
      for (let f = 0; f < free.length; f++) {
        const i = free[f];
        trial[i] = Math.min(this.high, Math.max(this.low, logTaus[i] + share * step[1 + terms + f]));
      }
      separate(trial, terms);
      const next = this.project(trial, terms);
      fresh = false;
      if (next < chiSquare) {
        const gain = chiSquare - next;
        chiSquare = next;
        for (let i = 0; i < terms; i++) logTaus[i] = trial[i];
        fresh = true;
        damping = Math.max(0.25, 0.2 * damping);
        failures = 0;
        if (gain < tolerance + tolerableShare * chiSquare) break;
      } else {
        if (++failures > 3) break;
        const typical = h[size * size - 1] ** 2;
        damping = Math.max(8 * damping, 0.05 * typical);
      }
    }
    if (!fresh) chiSquare = this.project(logTaus, terms);
    return this.describe(logTaus, terms, free, chiSquare, false);
  }

  /**
   * The optimum near `logTaus` as one Gauss–Newton step foresees it, without taking the step: enough where an
   * additional exponential changes little.
   */
  foresee(logTaus: Float64Array, terms: number, held: number): ExponentialMode | undefined {
    const free: number[] = [];
    for (let i = 0; i < terms - held; i++) free.push(i);
    if (this.following === 'shares') this.project(logTaus, terms);
    const chiSquare = this.project(logTaus, terms);
    return Number.isFinite(chiSquare) ? this.describe(logTaus, terms, free, chiSquare, true) : undefined;
  }

  private describe(
    logTaus: Float64Array,
    terms: number,
    free: readonly number[],
    chiSquare: number,
    foresee: boolean,
  ): ExponentialMode | undefined {
    const size = 1 + terms + free.length;
    const { curvature: h, step } = scratch;
    this.curvature(terms, free, h, 0.25, step);
    const covariance = h.slice(0, size * size);
    if (!invertSpd(covariance, size) || !cholesky(h, size)) return undefined;
    const logDet = logDeterminant(h, size);
    let gain = 0;
    if (foresee) {
      const { gradient } = scratch;
      gradient.set(step);
      solveLower(h, size, step);
      solveUpperT(h, size, step);
      for (let i = 0; i < size; i++) gain += gradient[i] * step[i];
    } else step.fill(0);
    const amplitudes_K = this.linear.slice(1, 1 + terms);
    for (let i = 0; i < terms; i++) amplitudes_K[i] += step[1 + i];
    return {
      terms,
      logTaus: logTaus.slice(0, terms),
      amplitudes_K,
      rise_K: this.linear[0] + this.reference_C + step[0],
      chiSquare: Math.max(0, chiSquare - gain),
      covariance,
      size,
      logDeterminant: logDet,
      free,
    };
  }

  /** Fit without exponentials: a source that only follows the air. */
  constant(): ExponentialMode {
    const mode = this.refine(new Float64Array(0), 0, 0, 0);
    if (!mode) throw new RangeError('no sum of exponentials describes the response');
    return mode;
  }

  /**
   * Best one, two and three time constants out of a geometric row of candidates, as starts: with the inner products
   * of all candidates at hand, each choice is a system of three at most.
   */
  starts(candidates: number, greatest_s: number): Float64Array[] {
    const { n } = this;
    const low = Math.max(this.low, Math.log(1.2));
    const high = Math.max(low + 1, Math.min(this.high, Math.log(greatest_s)));
    const logTaus = new Float64Array(candidates);
    const columns: Float64Array[] = [];
    const targets: Float64Array[] = [];
    const oneOne = dot(this.ones, this.ones, this.n);
    const centre = (column: Float64Array) => {
      const share = dot(column, this.ones, this.n) / oneOne;
      for (let k = 0; k < n; k++) column[k] -= share * this.ones[k];
      return column;
    };
    for (let i = 0; i < candidates; i++) {
      logTaus[i] = low + ((high - low) * i) / (candidates - 1);
      const tau = Math.exp(logTaus[i]);
      const column = scratch.candidates[i];
      blockExponential(this.blocks, tau, column, 0);
      this.whiten(column);
      columns.push(centre(column));
      const target = scratch.targets[i];
      laggedAmbient(this.blocks, [tau], 1, target);
      for (let k = 0; k < n; k++) target[k] = this.blocks.source_C[k] - target[k] - this.reference_C;
      this.whiten(target);
      targets.push(centre(target));
    }
    const gram = new Float64Array(candidates * candidates);
    const right = new Float64Array(candidates * candidates);
    const total = new Float64Array(candidates);
    for (let i = 0; i < candidates; i++) {
      total[i] = dot(targets[i], targets[i], this.n);
      for (let j = 0; j <= i; j++) {
        gram[i * candidates + j] = gram[j * candidates + i] = dot(columns[i], columns[j], this.n);
        right[j * candidates + i] = dot(columns[j], targets[i], this.n);
      }
    }
    const best = [Infinity, Infinity, Infinity];
    const out = [new Float64Array(1), new Float64Array(2), new Float64Array(3)];
    const c = candidates;
    for (let s = 0; s < c; s++) {
      const gss = gram[s * c + s] + 1e-12;
      const bs = right[s * c + s];
      const one = total[s] - (bs * bs) / gss;
      if (one < best[0]) {
        best[0] = one;
        out[0][0] = logTaus[s];
      }
      for (let m = 0; m < s; m++) {
        const share = gram[m * c + s] / gss;
        const gmm = gram[m * c + m] - share * gram[m * c + s];
        if (!(gmm > 1e-9 * gram[m * c + m])) continue;
        const bm = right[m * c + s] - share * bs;
        const two = one - (bm * bm) / gmm;
        if (two < best[1]) {
          best[1] = two;
          out[1][0] = logTaus[m];
          out[1][1] = logTaus[s];
        }
        for (let f = 0; f < m; f++) {
          const fs = gram[f * c + s] / gss;
          const gfm = gram[f * c + m] - fs * gram[m * c + s];
          const fm = gfm / gmm;
          const gff = gram[f * c + f] - fs * gram[f * c + s] - fm * gfm;
          if (!(gff > 1e-9 * gram[f * c + f])) continue;
          const bf = right[f * c + s] - fs * bs - fm * bm;
          const three = two - (bf * bf) / gff;
          if (three < best[2]) {
            best[2] = three;
            out[2][0] = logTaus[f];
            out[2][1] = logTaus[m];
            out[2][2] = logTaus[s];
          }
        }
      }
    }
    return out;
  }
}

/** Inner product in four running sums, which a processor can work on side by side. */
function dot(a: Float64Array, b: Float64Array, n: number): number {
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

/** Keeps the time constants in order and a little apart. */
function separate(logTaus: Float64Array, terms: number): void {
  for (let i = terms - 1; i > 0; i--) logTaus[i - 1] = Math.min(logTaus[i - 1], logTaus[i] - Math.log(least));
}
