/** The arrangement of terms that can change places. */
import { type Candidate, type LocalFitter, STEPS } from './local-fit.ts';
import type { Reduction } from './problem.ts';

/**
 * Where terms of a model can change places (two exponentials, two peaks), the sum of squares is the same for each
 * arrangement. Takes the one whose parameters are in the order of the start.
 */
export function inOrderOf(
  start: Float64Array,
  best: Candidate,
  fitter: LocalFitter,
  reduction: Reduction,
): Candidate {
  const { nonlinear } = fitter;
  if (!best.healthy || nonlinear.length > 5 || sameOrder(start, best.p, nonlinear)) return best;
  const tolerance = best.ssr * 1e-6 + best.floor;
  const awayFrom = (point: Float64Array) =>
    nonlinear.reduce((sum, j) => sum + logDistance(point[j], start[j]), 0);
  let chosen = best.p;
  let distance = awayFrom(best.p);
  for (const order of permutations(nonlinear)) {
    const point = best.p.slice();
    order.forEach((from, k) => {
      point[nonlinear[k]] = best.p[from];
    });
    const { low, high } = reduction.free;
    if (point.some((value, j) => value < low[j] || value > high[j])) continue;
    if (Math.abs(fitter.sumOfSquaresAt(point) - best.ssr) > tolerance) continue;
    const away = awayFrom(point);
    if (away < distance) {
      distance = away;
      chosen = point;
    }
  }
  if (nonlinear.every((j) => chosen[j] === best.p[j])) return best;
  const moved = fitter.fit(chosen, STEPS);
  return moved.healthy && Math.abs(moved.ssr - best.ssr) <= tolerance ? moved : best;
}

/** True where no two of the parameters have changed the order they had at the start. */
function sameOrder(start: Float64Array, point: Float64Array, among: readonly number[]): boolean {
  return among.every((i) => among.every((j) => (start[i] - start[j]) * (point[i] - point[j]) >= 0));
}

/** Square of the distance in magnitude, on a scale that treats a factor of two as one either way. */
function logDistance(a: number, b: number): number {
  if (a === b) return 0;
  if (a * b > 0) return Math.log(a / b) ** 2;
  return 100;
}

/** All orders of some items; n! of them, so for a handful. */
function permutations(items: readonly number[]): number[][] {
  if (items.length < 2) return [[...items]];
  return items.flatMap((item, k) =>
    permutations([...items.slice(0, k), ...items.slice(k + 1)]).map((rest) => [item, ...rest]),
  );
}
