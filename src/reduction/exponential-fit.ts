import { cholesky, invertFactored, logDeterminant, solveLower, solveUpperT } from '../numerics/matrix.ts';
import type { Whitening } from './reading-noise.ts';
import {
  addBow,
  bowOf,
  type LagWeights,
  lagWeights,
  lagWith,
  mostBlocks,
  type ResponseBlocks,
} from './response-blocks.ts';
import {
  dot,
  takeFrom,
  whiten,
  whitenedDrift,
  whitenedExponential,
  whitenedRise,
} from './whitened-columns.ts';

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
}

const least = 1.25;
/** Of the logarithm of a time constant, before the data. */
const priorCurvature = 0.25;
const basisSize = mostTerms + 1;
/** Of a fit: rise, amplitudes, time constants. */
export const mostParameters = 1 + 2 * mostTerms;
const column = () => new Float64Array(mostBlocks);
const columns = (count: number) => Array.from({ length: count }, column);
const ones = column();
const exponentials = columns(mostTerms);

/**
 * Working columns, shared by all fits: a fit is over before the next one begins, and some thousand short-lived arrays
 * a second cost more in clearing up than in use.
 */
const scratch = {
  /** The constant and the exponentials, whitened, and their inner products. */
  basis: [ones, ...exponentials],
  columns: exponentials,
  inner: new Float64Array(basisSize * basisSize),
  one: column(),
  lag: column(),
  residual: column(),
  slopes: columns(mostTerms),
  drifts: columns(mostTerms),
  joint: columns(mostTerms),
  lags: Array.from({ length: mostTerms }, (): LagWeights => ({ keep: column(), mean: column() })),
  /** The time constants whose columns are filled. */
  known: new Float64Array(mostTerms),
  linear: new Float64Array(basisSize),
  normal: new Float64Array(basisSize * basisSize),
  normalMatrix: new Float64Array(mostParameters * mostParameters),
  factor: new Float64Array(mostParameters * mostParameters),
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
  readonly n: number;
  white: Whitening;
  /** The whitened constant. */
  readonly ones = ones;
  private readonly bow: Float64Array;
  /** Taken from every reading so that sums of squares keep their digits, K. */
  readonly reference_C: number;
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
    let lowest = Infinity;
    let most = -Infinity;
    for (let k = 0; k < n; k++) {
      const y = blocks.source_C[k] - blocks.ambient_C[k];
      if (y < lowest) lowest = y;
      if (y > most) most = y;
    }
    this.swing_K = Math.max(0.5, most - lowest);
    this.reference_C = blocks.source_C[n - 1] - blocks.ambient_C[n - 1];
    this.bow = bowOf(blocks, blocks.ambient_C);
    scratch.linear.fill(0);
    this.setWhitening(white);
  }

  setWhitening(white: Whitening): void {
    this.white = white;
    scratch.known.fill(Number.NaN);
    ones.fill(1, 0, this.n);
    whiten(this.n, white, ones);
  }

  /** Solves the linear part at the given time constants and leaves columns, slopes and residuals filled. */
  private project(logTaus: Float64Array, terms: number): number {
    const { n, blocks, white } = this;
    const { columns, slopes, drifts, lags, lag, residual, linear, normal, known, basis, inner } = scratch;
    let renewed = 0;
    for (let i = 0; i < terms; i++) {
      if (known[i] === logTaus[i]) continue;
      known[i] = logTaus[i];
      renewed |= 2 << i;
      const tau = Math.exp(logTaus[i]);
      whitenedExponential(blocks, white, tau, lags[i], columns[i], slopes[i]);
      if (blocks.loadDeviation) {
        // The load's own drift goes through the same element as its step did.
        lagWith(n, lags[i], blocks.loadDeviation, scratch.one);
        whiten(n, white, scratch.one);
        for (let k = 0; k < n; k++) columns[i][k] -= scratch.one[k];
      }
    }
    // Inner products with columns out of use are not kept up.
    if (renewed !== 0) for (let i = terms; i < mostTerms; i++) known[i] = Number.NaN;
    this.follow(terms, lag);
    for (let i = 0; i < terms; i++) {
      const follows = this.following === 'ladder' || (this.following === 'slowest' && i === terms - 1);
      if (follows) whitenedDrift(n, white, lags[i], lag, drifts[i]);
      else drifts[i].fill(0, 0, n);
    }
    whitenedRise(blocks, white, lag, this.reference_C, residual);
    const p = terms + 1;
    const ridge = 1 / (this.swing_K * this.swing_K);
    for (let i = 0; i < p; i++) {
      const a = basis[i];
      linear[i] = dot(a, residual, n);
      for (let j = 0; j <= i; j++) {
        const place = i * basisSize + j;
        // Columns that stayed keep their inner products.
        if (i === 0 || ((renewed >> i) | (renewed >> j)) & 1) inner[place] = dot(a, basis[j], n);
        const value = inner[place];
        normal[i * p + j] = i === j && i > 0 ? value + ridge : value;
        normal[j * p + i] = normal[i * p + j];
      }
    }
    if (!cholesky(normal, p)) return Infinity;
    solveLower(normal, p, linear);
    solveUpperT(normal, p, linear);
    let chiSquare = takeFrom(residual, linear, p, basis, n);
    for (let i = 1; i < p; i++) chiSquare += linear[i] * linear[i] * ridge;
    return chiSquare;
  }

  /** Ambient as the source sees it, by the law of {@link Following}. */
  private follow(terms: number, out: Float64Array): void {
    const { blocks, n } = this;
    const { ambient_C } = blocks;
    const { lags, linear, one } = scratch;
    if (terms === 0) out.set(ambient_C);
    else if (this.following === 'at-once') out.set(ambient_C);
    else if (this.following !== 'shares') {
      // The slowest lag comes first: what it lets through is smooth.
      lagWith(n, lags[terms - 1], ambient_C, out);
      addBow(n, lags[terms - 1], this.bow, out);
      if (this.following === 'ladder') for (let i = terms - 2; i >= 0; i--) lagWith(n, lags[i], out, out);
    } else {
      let total = 0;
      for (let i = 0; i < terms; i++) total += Math.abs(linear[i + 1]);
      out.fill(0, 0, n);
      for (let i = 0; i < terms; i++) {
        const share = total > 0 ? Math.abs(linear[i + 1]) / total : 1 / terms;
        lagWith(n, lags[i], ambient_C, one);
        addBow(n, lags[i], this.bow, one);
        for (let k = 0; k < n; k++) out[k] += share * one[k];
      }
    }
  }

  /** Ambient as a mode saw it, at the blocks. */
  ambientOf(mode: Pick<ExponentialMode, 'terms' | 'logTaus' | 'amplitudes_K'>): Float64Array {
    mode.logTaus.forEach((logTau, i) => {
      lagWeights(this.blocks, Math.exp(logTau), scratch.lags[i].keep, scratch.lags[i].mean);
      scratch.linear[i + 1] = mode.amplitudes_K[i];
    });
    scratch.known.fill(Number.NaN);
    const out = new Float64Array(this.n);
    this.follow(mode.terms, out);
    return out;
  }

  /**
   * Normal equations of all parameters at the place where {@link project} solved the linear ones, left in the working
   * room.
   *
   * @param free  how many time constants move: the first ones
   * @returns the number of parameters
   */
  private setUp(terms: number, free: number): number {
    const { n } = this;
    const { basis, inner, joint, slopes, drifts, residual, linear, normalMatrix, gradient } = scratch;
    const p = 1 + terms + free;
    const ridge = 1 / (this.swing_K * this.swing_K);
    for (let i = 0; i < free; i++) {
      const amplitude = linear[i + 1];
      const slope = slopes[i];
      const drift = drifts[i];
      const both = joint[i];
      for (let k = 0; k < n; k++) both[k] = amplitude * slope[k] + drift[k];
    }
    for (let i = 0; i < p; i++) {
      const a = i <= terms ? basis[i] : joint[i - 1 - terms];
      gradient[i] = i > terms ? dot(a, residual, n) : 0;
      for (let j = 0; j <= i; j++) {
        normalMatrix[i * p + j] =
          i <= terms ? inner[i * basisSize + j] : dot(a, j <= terms ? basis[j] : joint[j - 1 - terms], n);
      }
      if (i > 0 && i <= terms) normalMatrix[i * p + i] += ridge;
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
    const free = terms - held;
    let chiSquare = this.settled(logTaus, terms);
    if (!Number.isFinite(chiSquare)) return undefined;
    const size = 1 + terms + free;
    const { factor, step, trial } = scratch;
    // Whether columns and residuals are those of the best place so far, and whether its normal equations are set up.
    let fresh = true;
    let ready = false;
    let damping = priorCurvature;
    let failures = 0;
    for (let iteration = 0; iteration < iterations && free > 0; iteration++) {
      if (!ready) this.setUp(terms, free);
      ready = true;
      if (Number.isNaN(gaussNewton(size, 1 + terms, damping))) break;
      let share = 1;
      for (let i = 0; i < free; i++) share = Math.min(share, 0.8 / Math.abs(step[1 + terms + i]));
      for (let i = 0; i < terms; i++) trial[i] = logTaus[i];
      for (let i = 0; i < free; i++)
        trial[i] = Math.min(this.high, Math.max(this.low, logTaus[i] + share * step[1 + terms + i]));
      separate(trial, terms);
      const next = this.project(trial, terms);
      fresh = false;
      if (next < chiSquare) {
        const gain = chiSquare - next;
        chiSquare = next;
        for (let i = 0; i < terms; i++) logTaus[i] = trial[i];
        fresh = true;
        ready = false;
        damping = Math.max(priorCurvature, 0.2 * damping);
        failures = 0;
        if (gain < tolerance + tolerableShare * chiSquare) break;
      } else {
        if (++failures > 3) break;
        const typical = factor[size * size - 1] ** 2;
        damping = Math.max(8 * damping, 0.05 * typical);
      }
    }
    if (!fresh) chiSquare = this.settled(logTaus, terms);
    return this.describe(logTaus, terms, free, chiSquare, false);
  }

  /**
   * The optimum near `logTaus` as one Gauss–Newton step foresees it, without taking the step: enough where an
   * additional exponential changes little.
   */
  foresee(logTaus: Float64Array, terms: number, held: number): ExponentialMode | undefined {
    const free = terms - held;
    const chiSquare = this.settled(logTaus, terms);
    return Number.isFinite(chiSquare) ? this.describe(logTaus, terms, free, chiSquare, true) : undefined;
  }

  /** Of what {@link foresee} gives, how well it describes the response and where that ends. */
  outlook(logTaus: Float64Array, terms: number): { chiSquare: number; rise_K: number } | undefined {
    const chiSquare = this.settled(logTaus, terms);
    if (!Number.isFinite(chiSquare)) return undefined;
    const gain = gaussNewton(this.setUp(terms, terms), 1 + terms, priorCurvature);
    if (Number.isNaN(gain)) return undefined;
    const rise_K = scratch.linear[0] + this.reference_C + scratch.step[0];
    return { chiSquare: Math.max(0, chiSquare - gain), rise_K };
  }

  /** {@link project}, twice where the law takes its shares from the amplitudes of the time before. */
  private settled(logTaus: Float64Array, terms: number): number {
    if (this.following === 'shares') this.project(logTaus, terms);
    return this.project(logTaus, terms);
  }

  private describe(
    logTaus: Float64Array,
    terms: number,
    free: number,
    chiSquare: number,
    foresee: boolean,
  ): ExponentialMode | undefined {
    const { factor, step } = scratch;
    const size = 1 + terms + free;
    const gain = gaussNewton(this.setUp(terms, free), 1 + terms, priorCurvature);
    if (Number.isNaN(gain)) return undefined;
    if (!foresee) step.fill(0);
    const covariance = factor.slice(0, size * size);
    invertFactored(covariance, size);
    const amplitudes_K = scratch.linear.slice(1, 1 + terms);
    for (let i = 0; i < terms; i++) amplitudes_K[i] += step[1 + i];
    return {
      terms,
      logTaus: logTaus.slice(0, terms),
      amplitudes_K,
      rise_K: scratch.linear[0] + this.reference_C + step[0],
      chiSquare: foresee ? Math.max(0, chiSquare - gain) : chiSquare,
      covariance,
      size,
      logDeterminant: logDeterminant(factor, size),
    };
  }

  /** Fit without exponentials: a source that only follows the air. */
  constant(): ExponentialMode | undefined {
    return this.refine(new Float64Array(0), 0, 0, 0);
  }
}

/**
 * One Gauss–Newton step by the normal equations in the working room: leaves the step and the Cholesky factor of the damped
 * matrix there.
 *
 * @param firstDamped  the parameters from this on are damped
 * @param damping  added to the diagonal at each of those
 * @returns what the sum of squares would fall by; NaN where the matrix is not safely positive definite
 */
function gaussNewton(size: number, firstDamped: number, damping: number): number {
  const { normalMatrix, gradient, factor, step } = scratch;
  for (let i = 0; i < size * size; i++) factor[i] = normalMatrix[i];
  for (let i = firstDamped; i < size; i++) factor[i * size + i] += damping;
  if (!cholesky(factor, size)) return Number.NaN;
  for (let i = 0; i < size; i++) step[i] = gradient[i];
  solveLower(factor, size, step);
  solveUpperT(factor, size, step);
  let gain = 0;
  for (let i = 0; i < size; i++) gain += gradient[i] * step[i];
  return gain;
}

/** Keeps the time constants in order and a little apart. */
function separate(logTaus: Float64Array, terms: number): void {
  for (let i = terms - 1; i > 0; i--) logTaus[i - 1] = Math.min(logTaus[i - 1], logTaus[i] - Math.log(least));
}
