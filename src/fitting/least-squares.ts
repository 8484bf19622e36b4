/**
 * The least-squares engine: every fit of the project comes out of it.
 *
 * It aims never to be silently wrong. A result is called converged only where the parameters could remove no more of
 * the residual (relative offset of Bates and Watts, `gauss-newton.ts`), where the data tell every free parameter
 * (singular values of the scaled Jacobian, `diagnosis.ts`), where none of them is still running off,
 * and where none of the other starts tried led to a clearly lower sum of squares. Anything else comes with
 * `converged: false` and a reason in plain language.
 *
 * The parts: damped steps from afar (`levenberg.ts`), Gauss–Newton at the end (`gauss-newton.ts`), elimination of
 * linear parameters (`separable.ts`), starts of its own (`starts.ts`).
 */
import { largestLeverage, untoldSentence } from './diagnosis.ts';
import { type Candidate, LocalFitter } from './local-fit.ts';
import {
  type LeastSquaresProblem,
  type LeastSquaresResult,
  type Reduction,
  reduceProblem,
} from './problem.ts';
import { scatteredStart } from './starts.ts';

export type { LeastSquaresProblem, LeastSquaresResult, ResidualFunction } from './problem.ts';

/** Damped steps allowed from one start. */
const STEPS = 200;
/** Samples per round of the search, starts followed up in a round, rounds. */
const SAMPLES = 64;
const FOLLOWED = 6;
const ROUNDS = 5;
/** Samples looked at to guard a fit that already leaves little of the data's scatter. */
const GUARDS = 6;
/** Neighbouring residuals whose ratio is below this hang together. */
const PATTERNED = 1.4;
/** A row with more leverage than this is met by the fit whatever its value. */
const SPIKE = 0.99;
/** A minimum must be lower than another by this factor to be preferred to that of an earlier start. */
const CLEARLY = 0.98;

/**
 * Minimises the sum of squared residuals.
 *
 * @throws RangeError for a problem that makes no sense (bounds out of order, a start that is not finite)
 * @example
 * // y = b·x through (1, 2) and (2, 4)
 * solveLeastSquares({
 *   residualCount: 2, names: ['b'], start: [1],
 *   residual: ([b], r, j) => { r[0] = b - 2; r[1] = 2 * b - 4; if (j) { j[0] = 1; j[1] = 2; } },
 * }).parameters // [2]
 */
export function solveLeastSquares(problem: LeastSquaresProblem): LeastSquaresResult {
  const reduction = reduceProblem(problem);
  const { free, indices } = reduction;
  if (free.size === 0) return nothingFree(problem, reduction);
  const start = reduction.restrict(problem.start);
  if (free.rows < free.size) return tooFewRows(problem, reduction, start);

  const linear = (problem.linear ?? []).map((j) => indices.indexOf(j)).filter((k) => k >= 0);
  const fitter = new LocalFitter(free, linear);
  let best = fitter.fit(start, STEPS);
  for (const more of problem.moreStarts ?? []) {
    best = better(reduction, best, fitter.fit(reduction.restrict(more), STEPS));
  }
  if (problem.search && linear.length < free.size) {
    best = searchOn(problem, reduction, fitter, start, best);
  }
  return report(problem, reduction, best, linear.length < free.size);
}

/** The better of two: an earlier healthy one unless the later is healthy and clearly lower. */
function better(reduction: Reduction, earlier: Candidate, later: Candidate): Candidate {
  if (!later.healthy) return earlier.healthy || earlier.ssr <= later.ssr ? earlier : later;
  if (!earlier.healthy) return later;
  if (!(later.ssr < CLEARLY * earlier.ssr) || earlier.ssr <= earlier.floor) return earlier;
  return meetsOneRow(reduction, earlier, later) ? earlier : later;
}

/** True where `later` is lower because it runs through one row that `earlier` treats as scatter. */
function meetsOneRow(reduction: Reduction, earlier: Candidate, later: Candidate): boolean {
  return leverageOf(reduction, later) > SPIKE && leverageOf(reduction, earlier) <= SPIKE;
}

function leverageOf({ free }: Reduction, { point, diagnosis }: Candidate): number {
  return largestLeverage(free, point, diagnosis.covariance);
}

/** Tries starts of the engine's own; few where the fit is good already, many where it is not. */
function searchOn(
  problem: LeastSquaresProblem,
  reduction: Reduction,
  fitter: LocalFitter,
  start: Float64Array,
  first: Candidate,
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
      best = searchRound(problem, reduction, fitter, start, best, round * SAMPLES);
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
    best = better(reduction, best, fitter.fit(sample, STEPS / 2));
    if (leavesLittle(problem, reduction, best)) break;
  }
  return best;
}

/** True for a minimum that leaves little of the data's scatter, no pattern in it, and no row met for its own sake. */
function leavesLittle(problem: LeastSquaresProblem, reduction: Reduction, candidate: Candidate): boolean {
  if (!candidate.healthy) return false;
  if (candidate.ssr <= candidate.floor) return true;
  const total = problem.totalSumOfSquares ?? Number.POSITIVE_INFINITY;
  if (candidate.ssr > 0.1 * total) return false;
  if (leverageOf(reduction, candidate) > SPIKE) return false;
  return (problem.orders ?? []).every((order) => neighbourRatio(candidate.point.r, order) > PATTERNED);
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

/**
 * Where terms of a model can change places (two exponentials, two peaks), the sum of squares is the same for each
 * arrangement. Takes the one whose parameters are in the order of the start.
 */
function inOrderOf(
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

function permutations(items: readonly number[]): number[][] {
  if (items.length < 2) return [[...items]];
  return items.flatMap((item, k) =>
    permutations([...items.slice(0, k), ...items.slice(k + 1)]).map((rest) => [item, ...rest]),
  );
}

function report(
  problem: LeastSquaresProblem,
  reduction: Reduction,
  best: Candidate,
  nonlinear: boolean,
): LeastSquaresResult {
  const { free, indices } = reduction;
  const count = problem.names.length;
  const names = indices.map((j) => problem.names[j]);
  const degreesOfFreedom = free.rows - best.free.length;
  const sd = degreesOfFreedom > 0 ? Math.sqrt(best.ssr / degreesOfFreedom) : Number.NaN;
  const covariance = new Float64Array(count * count);
  const standardErrors = new Float64Array(count);
  for (let k = 0; k < free.size; k++) {
    for (let l = 0; l < free.size; l++) {
      covariance[indices[k] * count + indices[l]] = best.diagnosis.covariance[k * free.size + l];
    }
    standardErrors[indices[k]] = sd * Math.sqrt(best.diagnosis.covariance[k * free.size + k]);
  }
  for (const group of best.diagnosis.untold) {
    for (const k of group) standardErrors[indices[k]] = Number.POSITIVE_INFINITY;
  }
  const onBound = names.filter((_, k) => !best.free.includes(k) && best.end !== 'undefined');
  const warnings = onBound.map((name) => `${name} ended on its bound: no standard error is given for it`);
  if (degreesOfFreedom === 0 && best.free.length > 0) {
    warnings.push('as many parameters as rows: the scatter, and with it every standard error, is not known');
  }
  const hint = problem.hint ?? '';
  for (const group of best.diagnosis.untold) warnings.push(untoldSentence(names, group, hint));
  const reason = reasonOf(problem, reduction, best, names, nonlinear);
  return {
    parameters: reduction.expand(best.p),
    converged: reason === '',
    reason,
    covariance,
    standardErrors,
    residualSumOfSquares: best.ssr,
    residualStandardDeviation: sd,
    degreesOfFreedom,
    warnings,
    evaluations: free.budget.used,
    relativeOffset: best.offset,
    onBound,
  };
}

function reasonOf(
  problem: LeastSquaresProblem,
  { free }: Reduction,
  best: Candidate,
  names: readonly string[],
  nonlinear: boolean,
): string {
  const total = problem.totalSumOfSquares;
  if (best.end === 'undefined') return 'the model has no finite value or derivative at the start';
  if (best.diagnosis.untold.length > 0) {
    return untoldSentence(names, best.diagnosis.untold[0], problem.hint ?? '');
  }
  if (best.running.length > 0) {
    const list = best.running.map((k) => `${names[k]} (${best.p[k].toPrecision(3)})`).join(', ');
    return `still moving when it stopped, with the sum of squares hardly falling: ${list}; the data do not hold it, or the start is too far off`;
  }
  if (best.end !== 'settled') {
    const spent = free.budget.used >= free.budget.limit;
    return spent
      ? `no minimum found within ${free.budget.limit} evaluations of the model`
      : `no step lowers the sum of squares, and yet this is no minimum (relative offset ${best.offset.toPrecision(2)}): the model may have a kink here, or the start is too far off`;
  }
  if (problem.search && nonlinear && total !== undefined && best.ssr > total && total > best.floor) {
    return 'no start led to a fit better than the mean of the data: try another start';
  }
  return '';
}

function nothingFree(problem: LeastSquaresProblem, { free }: Reduction): LeastSquaresResult {
  const count = problem.names.length;
  const ssr = free.evaluate(new Float64Array(0), new Float64Array(free.rows), undefined);
  const finite = Number.isFinite(ssr);
  return {
    parameters: Float64Array.from(problem.start),
    converged: finite,
    reason: finite ? '' : 'the model has no finite value at the fixed parameters',
    covariance: new Float64Array(count * count),
    standardErrors: new Float64Array(count),
    residualSumOfSquares: ssr,
    residualStandardDeviation: free.rows > 0 ? Math.sqrt(ssr / free.rows) : Number.NaN,
    degreesOfFreedom: free.rows,
    warnings: ['every parameter is fixed: nothing was fitted'],
    evaluations: free.budget.used,
    relativeOffset: 0,
    onBound: [],
  };
}

function tooFewRows(
  problem: LeastSquaresProblem,
  reduction: Reduction,
  start: Float64Array,
): LeastSquaresResult {
  const { free } = reduction;
  const count = problem.names.length;
  const ssr = free.evaluate(start, new Float64Array(free.rows), undefined);
  return {
    parameters: reduction.expand(start),
    converged: false,
    reason: `${free.rows} rows cannot fix ${free.size} parameters`,
    covariance: new Float64Array(count * count),
    standardErrors: new Float64Array(count).fill(Number.POSITIVE_INFINITY),
    residualSumOfSquares: ssr,
    residualStandardDeviation: Number.NaN,
    degreesOfFreedom: free.rows - free.size,
    warnings: [],
    evaluations: free.budget.used,
    relativeOffset: Number.POSITIVE_INFINITY,
    onBound: [],
  };
}
