/**
 * Variable projection: a fit in the nonlinear parameters alone.
 *
 * In R = R_c + R_a·n^(−m) only the exponent is nonlinear: for any m the best R_c and R_a are a linear regression.
 * Solving for them at every step leaves a fit of one parameter instead of three. It needs no start for the others
 * and does not fall into the long flat valleys that sums of exponentials and steep power laws have.
 *
 * With Φ the Jacobian columns of the linear parameters and Q₂ the complement of their range, the reduced residual is
 * Q₂ᵀr and its Jacobian is taken as Q₂ᵀ·J of the other columns (Kaufman's form, which gives the
 * Gauss–Newton step of the full problem). Both are returned rotated, with zeros in the rows of the range.
 *
 * Sources: Golub and Pereyra (1973), SIAM J. Numer. Anal. 10, 413; Kaufman (1975), BIT 15, 49.
 */
import { qrPivoted, solveUpperPivoted } from '../orthogonal.ts';
import type { FreeProblem } from './problem.ts';

/** Columns whose QR diagonal falls below this share are not told apart by the data. */
const RANK_TOLERANCE = 1e-12;

export interface SeparableProblem {
  readonly reduced: FreeProblem;
  /** The nonlinear part of a full point. */
  restrict(full: Float64Array): Float64Array;
  /** Full point with the best linear parameters, not moved into their bounds; undefined where there are none. */
  lift(reducedPoint: Float64Array): Float64Array | undefined;
}

/**
 * @param problem  the full problem
 * @param linear   indices in which, together, the residuals are of first degree; their bounds are not heeded here
 */
export function separate(problem: FreeProblem, linear: readonly number[]): SeparableProblem {
  const projection = new Projection(problem, linear);
  const pick = (vector: Float64Array) => Float64Array.from(projection.others, (j) => vector[j]);
  return {
    reduced: {
      rows: problem.rows,
      size: projection.others.length,
      low: pick(problem.low),
      high: pick(problem.high),
      scale: pick(problem.scale),
      dataNorm: problem.dataNorm,
      budget: problem.budget,
      evaluate: (point, out, jacobian) => projection.evaluate(point, out, jacobian),
    },
    restrict: pick,
    lift: (point) => projection.lift(point),
  };
}

/** The full problem at one point at a time, with its storage. */
class Projection {
  readonly others: readonly number[];
  private readonly problem: FreeProblem;
  private readonly linear: readonly number[];
  private readonly full: Float64Array;
  private readonly r: Float64Array;
  private readonly jacobian: Float64Array;
  /** Φ with columns of length 1, then its factors. */
  private readonly basis: Float64Array;
  private readonly norms: Float64Array;
  private readonly pivots: Int32Array;
  private readonly right: Float64Array;

  constructor(problem: FreeProblem, linear: readonly number[]) {
    const { rows, size } = problem;
    this.problem = problem;
    this.linear = linear;
    this.others = Array.from({ length: size }, (_, j) => j).filter((j) => !linear.includes(j));
    this.full = new Float64Array(size);
    this.r = new Float64Array(rows);
    this.jacobian = new Float64Array(rows * size);
    this.basis = new Float64Array(rows * linear.length);
    this.norms = new Float64Array(linear.length);
    this.pivots = new Int32Array(linear.length);
    this.right = new Float64Array(rows * (1 + this.others.length));
  }

  /** The reduced residual Q₂ᵀr at a nonlinear point, with its Jacobian if asked; its sum of squares. */
  evaluate(point: Float64Array, out: Float64Array, outJacobian: Float64Array | undefined): number {
    const { problem, others, full, r, jacobian, right } = this;
    const first = this.solveLinear(point);
    if (first < 0) return Number.NaN;
    if (!outJacobian) return this.tail(1, first, out);
    if (!Number.isFinite(problem.evaluate(full, r, jacobian))) return Number.NaN;
    const width = 1 + others.length;
    const rank = this.project(width);
    for (let i = 0; i < problem.rows; i++) {
      for (let k = 0; k < others.length; k++) {
        outJacobian[i * others.length + k] = i < rank ? 0 : right[i * width + 1 + k];
      }
    }
    return this.tail(width, rank, out);
  }

  lift(point: Float64Array): Float64Array | undefined {
    return this.solveLinear(point) < 0 ? undefined : this.full.slice();
  }

  /** Factors Φ at the nonlinear point in `full`; `right` gets Qᵀ of r and, if asked, of the other columns. */
  private project(columns: number): number {
    const { linear, others, r, jacobian, basis, norms, right } = this;
    const { rows, size } = this.problem;
    const lines = linear.length;
    norms.fill(0);
    for (let i = 0; i < rows; i++) {
      for (let k = 0; k < lines; k++) norms[k] += jacobian[i * size + linear[k]] ** 2;
    }
    for (let k = 0; k < lines; k++) norms[k] = norms[k] > 0 ? Math.sqrt(norms[k]) : 1;
    for (let i = 0; i < rows; i++) {
      for (let k = 0; k < lines; k++) basis[i * lines + k] = jacobian[i * size + linear[k]] / norms[k];
      right[i * columns] = r[i];
      for (let c = 1; c < columns; c++) right[i * columns + c] = jacobian[i * size + others[c - 1]];
    }
    return qrPivoted(basis, rows, lines, this.pivots, right, columns, RANK_TOLERANCE);
  }

  /**
   * Leaves in `full` the nonlinear point with the best linear entries; returns the rank, −1 where not finite.
   * From zero and not from their last values: those may be huge, and the residuals then lost in their rounding.
   */
  private solveLinear(point: Float64Array): number {
    const { problem, linear, full, right, norms } = this;
    this.others.forEach((j, k) => {
      full[j] = point[k];
    });
    for (const j of linear) full[j] = 0;
    if (!Number.isFinite(problem.evaluate(full, this.r, this.jacobian))) return -1;
    const rank = this.project(1);
    const head = norms.map((_, k) => -right[k]);
    const move = new Float64Array(linear.length);
    solveUpperPivoted(this.basis, linear.length, rank, this.pivots, head, move);
    for (let k = 0; k < linear.length; k++) full[linear[k]] = move[k] / norms[k];
    return linear.every((j) => Number.isFinite(full[j])) ? rank : -1;
  }

  /** The rows of Qᵀr outside the range of Φ; their sum of squares. */
  private tail(columns: number, rank: number, out: Float64Array): number {
    let sum = 0;
    for (let i = 0; i < this.problem.rows; i++) {
      out[i] = i < rank ? 0 : this.right[i * columns];
      sum += out[i] * out[i];
    }
    return Number.isFinite(sum) ? sum : Number.NaN;
  }
}
