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
  const { rows, size } = problem;
  const others = Array.from({ length: size }, (_, j) => j).filter((j) => !linear.includes(j));
  const lines = linear.length;
  const width = 1 + others.length;
  const full = new Float64Array(size);
  const r = new Float64Array(rows);
  const jacobian = new Float64Array(rows * size);
  const basis = new Float64Array(rows * lines);
  const norms = new Float64Array(lines);
  const pivots = new Int32Array(lines);
  const right = new Float64Array(rows * width);
  const head = new Float64Array(lines);
  const move = new Float64Array(lines);

  /** Factors Φ at the nonlinear point in `full`; `right` gets Qᵀ of r and, if asked, of the other columns. */
  function project(columns: number): number {
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
    return qrPivoted(basis, rows, lines, pivots, right, columns, RANK_TOLERANCE);
  }

  /**
   * Moves the linear entries of `full`, zero before, to their best values; returns the rank, −1 where not finite.
   * From zero and not from their last values: those may be huge, and the residuals then lost in their rounding.
   */
  function solveLinear(): number {
    if (!Number.isFinite(problem.evaluate(full, r, jacobian))) return -1;
    const rank = project(1);
    for (let k = 0; k < lines; k++) head[k] = -right[k];
    solveUpperPivoted(basis, lines, rank, pivots, head, move);
    for (let k = 0; k < lines; k++) full[linear[k]] = move[k] / norms[k];
    return linear.every((j) => Number.isFinite(full[j])) ? rank : -1;
  }

  function place(point: Float64Array): void {
    others.forEach((j, k) => {
      full[j] = point[k];
    });
    for (const j of linear) full[j] = 0;
  }

  function evaluate(point: Float64Array, out: Float64Array, outJacobian: Float64Array | undefined): number {
    place(point);
    const first = solveLinear();
    if (first < 0) return Number.NaN;
    if (!outJacobian) return tailOf(1, first, out);
    if (!Number.isFinite(problem.evaluate(full, r, jacobian))) return Number.NaN;
    const rank = project(width);
    for (let i = 0; i < rows; i++) {
      for (let k = 0; k < others.length; k++) {
        outJacobian[i * others.length + k] = i < rank ? 0 : right[i * width + 1 + k];
      }
    }
    return tailOf(width, rank, out);
  }

  function tailOf(columns: number, rank: number, out: Float64Array): number {
    let sum = 0;
    for (let i = 0; i < rows; i++) {
      out[i] = i < rank ? 0 : right[i * columns];
      sum += out[i] * out[i];
    }
    return Number.isFinite(sum) ? sum : Number.NaN;
  }

  const pick = (vector: Float64Array) => Float64Array.from(others, (j) => vector[j]);
  return {
    reduced: {
      rows,
      size: others.length,
      low: pick(problem.low),
      high: pick(problem.high),
      scale: pick(problem.scale),
      dataNorm: problem.dataNorm,
      budget: problem.budget,
      evaluate,
    },
    restrict: pick,
    lift(point) {
      place(point);
      return solveLinear() < 0 ? undefined : full.slice();
    },
  };
}
