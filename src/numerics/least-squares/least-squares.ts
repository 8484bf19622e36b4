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
 * linear parameters (`separable.ts`), starts of its own (`starts.ts`, `search.ts`).
 */
import { untoldSentence } from './diagnosis.ts';
import { type Candidate, LocalFitter, STEPS } from './local-fit.ts';
import {
  type LeastSquaresProblem,
  type LeastSquaresResult,
  type Reduction,
  reduceProblem,
} from './problem.ts';
import { better, hasPattern, MUCH, searchOn } from './search.ts';

export type { LeastSquaresProblem, LeastSquaresResult, ResidualFunction } from './problem.ts';

/** Another minimum within this factor is worth a warning. */
const RIVAL = 1.3;
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
  const minima: number[] = [];
  if (problem.search && linear.length < free.size) {
    best = searchOn(problem, reduction, fitter, start, best, minima);
  }
  return report(problem, reduction, best, linear.length < free.size, minima);
}

/**
 * The best candidate as the result: the covariance in the order of all parameters, standard errors by the
 * residual scatter (infinite where the data do not tell), and what is to be warned of.
 */
function report(
  problem: LeastSquaresProblem,
  reduction: Reduction,
  best: Candidate,
  nonlinear: boolean,
  minima: readonly number[],
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
  const hasNoFreedom = degreesOfFreedom === 0 && best.free.length > 0;
  const warnings = [
    ...onBound.map((name) => `${name} ended on its bound: no standard error is given for it`),
    ...(hasNoFreedom
      ? ['as many parameters as rows: the scatter, and with it every standard error, is not known']
      : []),
    ...best.diagnosis.untold.map((group) => untoldSentence(names, group, problem.hint ?? '')),
    ...doubts(problem, reduction, best, nonlinear, minima),
  ];
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

/** What speaks against the minimum found: others nearly as low, a pole among the rows, a pattern in the residuals. */
function doubts(
  problem: LeastSquaresProblem,
  reduction: Reduction,
  best: Candidate,
  nonlinear: boolean,
  minima: readonly number[],
): string[] {
  const out: string[] = [];
  const rivals = minima.filter((ssr) => ssr > best.ssr * 1.001 + best.floor && ssr < best.ssr * RIVAL);
  if (rivals.length > 0) {
    const next = (100 * (Math.min(...rivals) / best.ssr - 1)).toPrecision(2);
    out.push(
      `the sum of squares has other minima nearly as low (the next is ${next} % higher): a start near the truth matters`,
    );
  }
  if (!problem.search) return out;
  if (problem.poleAmongRows?.(reduction.expand(best.p))) {
    out.push('a divisor changes its sign between rows: the fitted curve runs off to infinity there');
  }
  const remains = best.ssr / (problem.totalSumOfSquares ?? Number.POSITIVE_INFINITY);
  if (nonlinear && remains > MUCH && hasPattern(problem, best)) {
    out.push(
      `${(100 * remains).toFixed(0)} % of the scatter is left, and in a pattern: the formula misses something, or a lower minimum was not found`,
    );
  }
  return out;
}

/** Why the end of the search is no minimum, in words; empty where it is one. */
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

/** The result where every parameter is fixed: the residuals there, no covariance. */
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

/** The result where parameters outnumber the rows: nothing is fitted, and the reason says so. */
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
    reason: `${counted(free.rows, 'row')} cannot fix ${counted(free.size, 'parameter')}`,
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

function counted(count: number, what: string): string {
  return `${count} ${what}${count === 1 ? '' : 's'}`;
}
