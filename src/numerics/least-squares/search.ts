/**
 * Looking for a lower minimum than the one the given start led to.
 *
 * A fit that leaves little of the data's scatter and no pattern in it is most likely the right one: a few samples guard it.
 * Any other is worth a search: many samples, the best of them followed up.
 */
import { inOrderOf } from './arrangement.ts';
import { largestLeverage } from './diagnosis.ts';
import { type Candidate, type LocalFitter, STEPS } from './local-fit.ts';
import type { LeastSquaresProblem, Reduction } from './problem.ts';
import { scatteredStart } from './starts.ts';

/** Samples per round of the search, starts followed up in a round, rounds. */
const SAMPLES = 64;
const FOLLOWED = 6;
const ROUNDS = 5;
/** Samples looked at to guard a fit that already leaves little of the data's scatter. */
const GUARDS = 6;
/** Part of the data's scatter beyond which a fit has left much of it. */
export const MUCH = 0.1;
/** Neighbouring residuals whose ratio is below this hang together. */
const PATTERNED = 1.4;
/** A row with more leverage than this is met by the fit whatever its value. */
const SPIKE = 0.99;
/** A minimum must be lower than another by this factor to be preferred to that of an earlier start. */
const CLEARLY = 0.98;

/** The better of two: an earlier healthy one unless the later is healthy and clearly lower. */
export function better(reduction: Reduction, earlier: Candidate, later: Candidate): Candidate {
  if (!later.healthy) return earlier.healthy || earlier.ssr <= later.ssr ? earlier : later;
  if (!earlier.healthy) return later;
  if (!(later.ssr < CLEARLY * earlier.ssr) || earlier.ssr <= earlier.floor) return earlier;
  return meetsOneRow(reduction, earlier, later) ? earlier : later;
}

/** True where `later` is lower because it runs through one row that `earlier` treats as scatter. */
function meetsOneRow(reduction: Reduction, earlier: Candidate, later: Candidate): boolean {
  return leverageOf(reduction, later) > SPIKE && leverageOf(reduction, earlier) <= SPIKE;
}

/** Largest leverage of one row at a candidate: near 1 it is fitted by itself. */
function leverageOf({ free }: Reduction, { point, diagnosis }: Candidate): number {
  return largestLeverage(free, point, diagnosis.covariance);
}

/** Tries starts of the engine's own; few where the fit is good already, many where it is not. */
export function searchOn(
  problem: LeastSquaresProblem,
  reduction: Reduction,
  fitter: LocalFitter,
  start: Float64Array,
  first: Candidate,
  minima: number[],
): Candidate {
  const { free } = reduction;
  let best = first;
  if (leavesLittle(problem, reduction, best)) {
    for (let k = 1; k <= GUARDS; k++) {
      const sample = scatteredStart(free, start, k, 3);
      if (fitter.sumOfSquaresAt(sample) < CLEARLY * best.ssr) {
        best = better(reduction, best, fitter.fit(sample, STEPS));
      }
    }
  } else {
    for (let round = 0; round < ROUNDS; round++) {
      const before = best;
      best = searchRound(problem, reduction, fitter, start, best, round * SAMPLES, minima);
      if (free.budget.used >= free.budget.limit || leavesLittle(problem, reduction, best)) break;
      if (best.healthy && best === before) break;
    }
  }
  return inOrderOf(start, best, fitter, reduction);
}

/** Follows up the best of a round of samples, until one leads to a fit that leaves little to explain. */
function searchRound(
  problem: LeastSquaresProblem,
  reduction: Reduction,
  fitter: LocalFitter,
  start: Float64Array,
  first: Candidate,
  from: number,
  minima: number[],
): Candidate {
  const { free } = reduction;
  const samples: { sample: Float64Array; ssr: number }[] = [];
  for (let k = 1; k <= SAMPLES; k++) {
    const sample = scatteredStart(free, start, from + k);
    const ssr = fitter.sumOfSquaresAt(sample);
    if (Number.isFinite(ssr)) samples.push({ sample, ssr });
  }
  samples.sort((a, b) => a.ssr - b.ssr);
  let best = first;
  for (const { sample } of samples.slice(0, FOLLOWED)) {
    if (free.budget.used >= free.budget.limit) return best;
    const found = fitter.fit(sample, STEPS / 2);
    if (found.healthy) minima.push(found.ssr);
    best = better(reduction, best, found);
    if (leavesLittle(problem, reduction, best)) break;
  }
  return best;
}

/** True for a minimum that leaves little of the data's scatter, no pattern in it, and no row met for its own sake. */
function leavesLittle(problem: LeastSquaresProblem, reduction: Reduction, candidate: Candidate): boolean {
  if (!candidate.healthy) return false;
  if (candidate.ssr <= candidate.floor) return true;
  const total = problem.totalSumOfSquares ?? Number.POSITIVE_INFINITY;
  if (candidate.ssr > MUCH * total) return false;
  if (leverageOf(reduction, candidate) > SPIKE) return false;
  if (problem.poleAmongRows?.(reduction.expand(candidate.p))) return false;
  return !hasPattern(problem, candidate);
}

/** True where neighbouring residuals hang together along one of the problem's orders. */
export function hasPattern({ orders = [] }: LeastSquaresProblem, { point }: Candidate): boolean {
  return orders.some((order) => neighbourRatio(point.r, order) <= PATTERNED);
}

/**
 * Mean square of the differences of neighbouring residuals over their mean square: about 2 where they are
 * independent, towards 0 where they hang together (von Neumann's ratio).
 */
function neighbourRatio(r: Float64Array, order: ArrayLike<number>): number {
  if (order.length < 6) return 2;
  let differences = 0;
  let squares = r[order[0]] ** 2;
  for (let i = 1; i < order.length; i++) {
    differences += (r[order[i]] - r[order[i - 1]]) ** 2;
    squares += r[order[i]] ** 2;
  }
  return squares > 0 ? differences / squares : 2;
}
