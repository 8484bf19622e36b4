import { commonMountShare } from '../bench/mounts.ts';
import { largest, smallest } from '../numerics/extremes.ts';
import {
  addProduct,
  addScaled,
  cholesky,
  congruence,
  diagonalMatrix,
  dot,
  inverseForm,
  invertFactored,
  invertSpd,
  logDeterminant,
  product,
  quadraticForm,
  solveFactored,
  submatrix,
  transposeProduct,
} from '../numerics/matrix.ts';
import type { ReferenceRuns, ReferenceSession } from './reference-runs.ts';

/** Scatters that are there while nothing drifts: standard deviations. */
export interface InControlScatter {
  readonly mount_K_per_W: number;
  readonly reading_K: number;
  /** Between paste batches. */
  readonly session_K_per_W: number;
  /** Between sessions, of the sensors' reading. */
  readonly sensor_K: number;
}

/** How far a session stands from what earlier sessions lead one to expect. */
export interface SessionShift {
  /** Shift of the rise at the chart's load, and its standard deviation while nothing drifts, K. */
  readonly rise: Estimate;
  /** The part that is the same at every load: the sensors. Absent where the loads do not tell it. */
  readonly offset?: Estimate;
}

export interface Estimate {
  readonly value: number;
  readonly deviation: number;
}

/** Variance of a condition that no earlier session has shown, K²: nothing is expected of it. */
const UNKNOWN_K2 = 1e4;

/**
 * What the reference cooler is expected to read under each of its conditions, renewed session by session.
 *
 * The state is the reading of each condition. A session's readings are these plus a shift that is the same at all of them
 * (the sensors), one in proportion to the heat (paste and fittings), and the reading scatter. A session that is in control
 * renews the state by the Kalman update, which is generalised least squares in sequence; a drifting one does not.
 *
 * Each session's innovation, its readings less what the earlier ones lead to expect, is independent of those before it
 * while nothing drifts (recursive residuals: Brown, Durbin and Evans 1975, J. R. Statist. Soc. B 37, 149), however few
 * sessions set the target. So limits hold from the second session on.
 */
export class ReferenceState {
  private readonly mean: Float64Array;
  private readonly covariance: Float64Array;
  private readonly seen: Uint8Array;
  private readonly cells: number;

  constructor(
    private readonly reference: ReferenceRuns,
    private readonly scatter: InControlScatter,
  ) {
    this.cells = reference.cells;
    this.mean = new Float64Array(this.cells);
    this.seen = new Uint8Array(this.cells);
    this.covariance = new Float64Array(this.cells * this.cells);
    for (let c = 0; c < this.cells; c++) this.covariance[c * this.cells + c] = UNKNOWN_K2;
  }

  /** Shift of a session, by generalised least squares; `undefined` where no earlier session ran a condition with heat. */
  shiftOf(session: ReferenceSession): SessionShift | undefined {
    if (!session.cell.some((c, i) => this.seen[c] === 1 && session.base_W[i] > 0)) return undefined;
    const { innovation, covariance } = this.innovationOf(session);
    const n = innovation.length;
    if (!cholesky(covariance, n)) return undefined;
    const load = this.reference.load_W;
    const known = session.base_W.filter((_, i) => this.seen[session.cell[i]] === 1);
    const spread = largest(known) - smallest(known);
    // At one load a shift of the rise, in proportion to the heat, is all that shows; else the sensors' part comes first.
    const columns = spread < 0.1 * load ? 1 : 2;
    const design = Float64Array.from({ length: n * columns }, (_, at) =>
      at % columns === columns - 1 ? session.base_W[Math.floor(at / columns)] / load : 1,
    );
    const weighted = solveFactored(covariance, n, design.slice(), columns);
    const variance = transposeProduct(design, weighted, n, columns, columns);
    invertSpd(variance, columns);
    const right = transposeProduct(weighted, innovation, n, columns);
    const estimate = product(variance, right, columns, columns);
    const all = new Float64Array(columns).fill(1);
    return {
      rise: { value: dot(all, estimate), deviation: Math.sqrt(quadraticForm(all, variance)) },
      ...(columns === 2 && { offset: { value: estimate[0], deviation: Math.sqrt(variance[0]) } }),
    };
  }

  /** Takes a session into the target; ln of the density that its readings were expected with, a constant apart. */
  learn(session: ReferenceSession): number {
    const { cells, mean, covariance } = this;
    session.cell.forEach((c, i) => {
      if (this.seen[c] === 0) mean[c] = session.rise_K[i];
      this.seen[c] = 1;
    });
    const { innovation, covariance: inverse } = this.innovationOf(session);
    const n = innovation.length;
    if (!cholesky(inverse, n)) return Number.NEGATIVE_INFINITY;
    const log = -(logDeterminant(inverse, n) + inverseForm(inverse, innovation)) / 2;
    invertFactored(inverse, n);
    const noise = this.noiseOf(session);
    // Gain = M·Hᵀ·S⁻¹ with H the choice of each reading's condition.
    const rows = submatrix(covariance, cells, Array.from(mean.keys()), session.cell);
    const gain = product(rows, inverse, cells, n, n);
    addProduct(mean, gain, innovation, cells, n);
    // (1 − G·H)·M·(1 − G·H)ᵀ + G·R·Gᵀ (Joseph): M less what was told would lose its digits where nothing was known before.
    const keep = diagonalMatrix(cells);
    for (let c = 0; c < cells; c++)
      session.cell.forEach((d, i) => {
        keep[c * cells + d] -= gain[c * n + i];
      });
    covariance.set(addScaled(congruence(keep, covariance, cells, cells), congruence(gain, noise, cells, n)));
    return log;
  }

  /** Readings less what is expected of them, and the covariance of that. */
  private innovationOf(session: ReferenceSession): { innovation: Float64Array; covariance: Float64Array } {
    const covariance = addScaled(submatrix(this.covariance, this.cells, session.cell), this.noiseOf(session));
    return { innovation: session.rise_K.map((rise, i) => rise - this.mean[session.cell[i]]), covariance };
  }

  /** Covariance of a session's readings about its conditions: the sensors, paste and fittings, and the readings' own scatter. */
  private noiseOf({ rise_K, base_W, runs }: ReferenceSession): Float64Array {
    const { mount_K_per_W, reading_K, session_K_per_W, sensor_K } = this.scatter;
    const n = rise_K.length;
    const noise = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) {
        // Readings at zero load have no heat, and with it nothing of paste or fitting.
        const fitting = runs[i].sample === runs[j].sample ? commonMountShare(runs[i], runs[j]) : 0;
        const paste = session_K_per_W ** 2 + fitting * mount_K_per_W ** 2;
        noise[i * n + j] = sensor_K ** 2 + paste * base_W[i] * base_W[j];
      }
      noise[i * n + i] += reading_K ** 2 + (runs[i].u_K ?? 0) ** 2;
    }
    return noise;
  }
}
