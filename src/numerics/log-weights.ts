import { largest } from './extremes.ts';

/** A share of e to this power adds nothing to a sum of doubles. */
const NOTHING = -45;

/** ln Σeˣ without overflow; −∞ where there is nothing. @example logSum([0, 0]) // 0.693 = ln 2 */
export function logSum(logs: ArrayLike<number>): number {
  let most = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < logs.length; k++) most = Math.max(most, logs[k]);
  if (!Number.isFinite(most)) return most;
  let sum = 0;
  for (let k = 0; k < logs.length; k++) if (logs[k] - most > NOTHING) sum += Math.exp(logs[k] - most);
  return most + Math.log(sum);
}

/** Weights that add to 1 from their logarithms, which may share any constant. @example softmax([7, 7]) // [0.5, 0.5] */
export function softmax(logs: readonly number[]): number[] {
  const most = largest(logs);
  const weights = logs.map((log) => Math.exp(log - most));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return weights.map((weight) => weight / total);
}
