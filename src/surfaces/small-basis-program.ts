import { transpose } from '../numerics/matrix.ts';
import { solveLinear } from '../numerics/orthogonal.ts';

/**
 * Exact linear programs of the kind that touching surfaces pose: very many candidate contacts, very few in the answer.
 *
 * Maximise Σ value·weight over weights ≥ 0 with Σ weight·column = right-hand side, where a column has three or four
 * entries. Only as many contacts as a column has entries can carry weight, so the simplex method keeps a basis that
 * small and prices all points at each step (column generation). The prices at the end are the plane itself; that no
 * candidate improves on them is the proof that the answer is the best there is.
 *
 * @param rows       entries of a column, 3 or 4 here
 * @param count      number of candidates
 * @param column     writes candidate i into `into`
 * @param value      objective of candidate i
 * @param right      right-hand side
 * @param start      a basis of independent columns whose weights are ≥ 0
 * @param tolerance  what still counts as not improving, in units of value
 */
export function solveSmallBasis(problem: SmallBasisProblem): SmallBasisSolution {
  const { rows, count, column, value, right, tolerance } = problem;
  const basis = [...problem.start];
  const entering = new Float64Array(rows);
  const ofBasis = (): Float64Array => {
    const columns = new Float64Array(rows * rows);
    for (const [k, i] of basis.entries()) columns.set(column(i, entering), k * rows);
    return columns;
  };
  let stalled = 0;
  for (let step = 0; step < 50_000; step += 1) {
    const columns = ofBasis();
    const matrix = transpose(columns, rows, rows);
    const weights = solveLinear(matrix.slice(), rows, Float64Array.from(right));
    const prices = solveLinear(columns, rows, Float64Array.from(basis, value));
    if (!weights || !prices) break;
    let best = -1;
    let bestGain = tolerance;
    for (let i = 0; i < count; i += 1) {
      column(i, entering);
      let gain = value(i);
      for (let r = 0; r < rows; r += 1) gain -= prices[r]! * entering[r]!;
      if (gain <= bestGain || basis.includes(i)) continue;
      best = i;
      bestGain = gain;
      // after many steps that gained nothing the first improving candidate is taken: Bland's rule cannot cycle
      if (stalled > 50) break;
    }
    if (best < 0) return { basis, weights, prices, steps: step };
    column(best, entering);
    const direction = solveLinear(matrix, rows, entering.slice());
    if (!direction) break;
    const leaving = ratioTest(weights, direction, basis);
    if (leaving < 0) break;
    stalled = Math.max(0, weights[leaving]!) / direction[leaving]! > 1e-12 ? 0 : stalled + 1;
    basis[leaving] = best;
  }
  throw new RangeError(
    'the points do not determine a plane; three or more that are not on one line are accepted',
  );
}

export interface SmallBasisProblem {
  rows: number;
  count: number;
  column: (i: number, into: Float64Array) => Float64Array;
  value: (i: number) => number;
  right: readonly number[];
  start: readonly number[];
  tolerance: number;
}

export interface SmallBasisSolution {
  /** The candidates in the basis; those with weight are the contacts. */
  basis: number[];
  weights: Float64Array;
  /** One price per row of a column. */
  prices: Float64Array;
  steps: number;
}

/** Row whose weight reaches zero first; ties go to the lowest candidate. −1: none. */
function ratioTest(weights: Float64Array, direction: Float64Array, basis: readonly number[]): number {
  let leaving = -1;
  let least = Infinity;
  for (let r = 0; r < weights.length; r += 1) {
    if (direction[r]! <= 1e-11) continue;
    const ratio = Math.max(0, weights[r]!) / direction[r]!;
    const tied = leaving >= 0 && Math.abs(ratio - least) <= 1e-13 * (1 + least);
    if (tied ? basis[r]! < basis[leaving]! : ratio < least) {
      leaving = r;
      least = ratio;
    }
  }
  return leaving;
}
