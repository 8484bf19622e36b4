/**
 * What the Jacobian at the end of a fit says: the covariance, and which parameters the data cannot tell.
 *
 * Columns are brought to unit length first, so that the singular values do not depend on units. A singular value
 * that is zero to rounding is a direction in which the parameters can move and the model does not: the entries of its
 * vector name the parameters that trade off against each other.
 */
import { qrPivoted, singularValues } from '../orthogonal.ts';
import { RANK_TOLERANCE } from './gauss-newton.ts';
import type { Point } from './levenberg.ts';
import type { FreeProblem } from './problem.ts';

export interface Diagnosis {
  /** size × size, zero for parameters not free. */
  readonly covariance: Float64Array;
  /** Groups of free parameters (indices) that the data cannot tell apart; a group of one has no effect at all. */
  readonly untold: readonly (readonly number[])[];
  /** Largest over smallest singular value of the scaled Jacobian. */
  readonly condition: number;
}

/** @param free  indices of the parameters not held by a bound */
export function diagnose(problem: FreeProblem, point: Point, free: readonly number[]): Diagnosis {
  const { rows, size } = problem;
  const count = free.length;
  const covariance = new Float64Array(size * size);
  if (count === 0) return { covariance, untold: [], condition: 1 };
  const norms = new Float64Array(count);
  const a = new Float64Array(rows * count);
  let largest = problem.dataNorm;
  for (let k = 0; k < count; k++) {
    for (let i = 0; i < rows; i++) norms[k] += point.jacobian[i * size + free[k]] ** 2;
    norms[k] = Math.sqrt(norms[k]);
    largest = Math.max(largest, norms[k] * Math.abs(point.p[free[k]]));
  }
  const untold: number[][] = [];
  for (let k = 0; k < count; k++) {
    const j = free[k];
    const reach = norms[k] * Math.max(Math.abs(point.p[j]), problem.scale[j]);
    const felt = norms[k] > 0 && (reach === 0 || reach > 8 * Number.EPSILON * largest);
    if (!felt) untold.push([j]);
    for (let i = 0; i < rows; i++) {
      a[i * count + k] = felt ? point.jacobian[i * size + j] / norms[k] : 0;
    }
  }
  const pivots = new Int32Array(count);
  qrPivoted(a, rows, count, pivots, undefined, 1, RANK_TOLERANCE, false);
  const short = Math.min(rows, count);
  const v = new Float64Array(count * count);
  const values = singularValues(a.subarray(0, short * count), short, count, v);
  const rank = values.filter((value) => value > RANK_TOLERANCE * values[0]).length;
  for (let s = rank; s < count; s++) {
    const group = groupOf(v, count, s).map((k) => free[k]);
    const known = group.every((j) => untold.some((other) => other.length === 1 && other[0] === j));
    if (group.length > 0 && !known) untold.push(group);
  }
  for (let k = 0; k < count; k++) {
    for (let l = 0; l <= k; l++) {
      let sum = 0;
      for (let s = 0; s < rank; s++) sum += (v[k * count + s] * v[l * count + s]) / values[s] ** 2;
      sum /= norms[k] * norms[l];
      if (!Number.isFinite(sum)) sum = 0;
      covariance[free[k] * size + free[l]] = sum;
      covariance[free[l] * size + free[k]] = sum;
    }
  }
  return {
    covariance,
    untold,
    condition: rank < count ? Number.POSITIVE_INFINITY : values[0] / values[count - 1],
  };
}

/** Entries of a null vector that matter. */
function groupOf(v: Float64Array, count: number, column: number): number[] {
  const group: number[] = [];
  for (let k = 0; k < count; k++) if (Math.abs(v[k * count + column]) > 1e-3) group.push(k);
  return group;
}

/** Largest share of one row in the fit (diagonal of the hat matrix): 1 where a row is met whatever its value. */
export function largestLeverage(problem: FreeProblem, point: Point, covariance: Float64Array): number {
  const { rows, size } = problem;
  let largest = 0;
  for (let i = 0; i < rows; i++) {
    let sum = 0;
    for (let j = 0; j < size; j++) {
      let inner = 0;
      for (let k = 0; k < size; k++) inner += covariance[j * size + k] * point.jacobian[i * size + k];
      sum += inner * point.jacobian[i * size + j];
    }
    largest = Math.max(largest, sum);
  }
  return largest;
}

/** The sentence on parameters that cannot be told apart. */
export function untoldSentence(names: readonly string[], group: readonly number[], hint: string): string {
  const because = hint === '' ? '' : `: ${hint}`;
  if (group.length === 1) {
    return `${names[group[0]]} has no effect on the fit here, so the data cannot give it a value${because}`;
  }
  const list = group.map((j) => names[j]);
  return `${list.slice(0, -1).join(', ')} and ${list[list.length - 1]} cannot be told apart${because || ': the data fix only a combination of them'}`;
}
