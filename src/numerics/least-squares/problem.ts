/**
 * What is to be fitted, as the engine sees it, and the reduced form it works on: fixed parameters taken out, priors
 * turned into rows.
 */

/** Residuals and Jacobian of a problem: fill `residuals` (n) and, if given, `jacobian` (n × p, row-major). */
export type ResidualFunction = (
  parameters: Float64Array,
  residuals: Float64Array,
  jacobian: Float64Array | undefined,
) => void;

export interface LeastSquaresProblem {
  /** Number of residuals (priors not counted). Residuals are already whitened. */
  readonly residualCount: number;
  readonly names: readonly string[];
  /**
   * residual = (model − data) · whitening; the Jacobian is its derivative by the parameters. Values that are not
   * finite mean that the model does not exist there; the engine stays away from them.
   */
  readonly residual: ResidualFunction;
  readonly start: readonly number[];
  /** Further starts to try when the first does not converge or to guard against a local minimum. */
  readonly moreStarts?: readonly (readonly number[])[];
  readonly low?: readonly number[];
  readonly high?: readonly number[];
  /** Parameters held at their start. */
  readonly fixed?: readonly boolean[];
  /** Gaussian priors as pseudo-observations; `undefined` entries have none. */
  readonly priors?: readonly ({ mean: number; standardDeviation: number } | undefined)[];
  /** Total model evaluations allowed over all starts (default 20,000). */
  readonly maxEvaluations?: number;
  /**
   * Parameters (by index) in which, taken together, the residuals are of first degree whatever the others are. The
   * engine then solves for them exactly at each step instead of searching for them: see `separable.ts`.
   */
  readonly linear?: readonly number[];
  /**
   * Let the engine make starts of its own, within the bounds or scattered about the given one, where the fit from the
   * given starts fails, is poor, or is bettered by a sample of others. Default false: only the starts given.
   */
  readonly search?: boolean;
  /**
   * Whitened sum of squares of the data about their mean, if that means something: a fit that leaves little of it is
   * searched less widely for a better one.
   */
  readonly totalSumOfSquares?: number;
  /**
   * Orders of the rows in which neighbours are alike (sorted by an input, say). Residuals that hang together along
   * one of them show a pattern the model misses, and the search is then wide.
   */
  readonly orders?: readonly ArrayLike<number>[];
  /**
   * Tells at which parameters the model runs off to infinity between rows, so that small residuals do not make it a good one. Such a
   * minimum is searched past, and named in a warning where nothing lower is found.
   */
  readonly poleAmongRows?: (parameters: Float64Array) => boolean;
  /** Norm of the whitened data, which sets how far rounding reaches. Default: judged from the Jacobian. */
  readonly dataNorm?: number;
  /** Relative offset at which a fit ends; absent: where rounding ends it. */
  readonly enough?: number;
  /** Whether the starts lie so near a minimum that undamped steps are tried first. */
  readonly isNear?: boolean;
  /** Said after a sentence on parameters that cannot be told apart: what in the data makes it so. */
  readonly hint?: string;
}

export interface LeastSquaresResult {
  readonly parameters: Float64Array;
  readonly converged: boolean;
  /** Empty when converged; else plain language. */
  readonly reason: string;
  /**
   * Unscaled covariance (JᵀJ + prior precision)⁻¹, p × p row-major, zero rows for fixed parameters and for those that
   * ended on a bound; multiply by the residual variance if the residuals were not whitened to unit variance. Where
   * the Jacobian is rank deficient it is the pseudo-inverse.
   */
  readonly covariance: Float64Array;
  /**
   * Square roots of the diagonal of the covariance times the residual standard deviation; zero for fixed parameters
   * and for those on a bound, infinite for those the data cannot tell, NaN without a degree of freedom.
   */
  readonly standardErrors: Float64Array;
  /** Sum of squares of the residuals and of the priors' pseudo-residuals. */
  readonly residualSumOfSquares: number;
  /** √(sum of squares / degrees of freedom); NaN without a degree of freedom. */
  readonly residualStandardDeviation: number;
  /** Residuals and priors less the parameters that were free to move. */
  readonly degreesOfFreedom: number;
  /** Sentences naming parameters that the data cannot tell apart or a bound holds. */
  readonly warnings: readonly string[];
  readonly evaluations: number;
  /**
   * Relative offset (Bates and Watts): the part of the residual that the parameters could still remove, against the
   * part they cannot, each per degree of freedom.
   */
  readonly relativeOffset: number;
  /** Names of the parameters that ended on a bound. */
  readonly onBound: readonly string[];
}

/** Counts model evaluations over all starts of a fit. */
export interface Budget {
  used: number;
  readonly limit: number;
}

/** A problem without fixed parameters or priors: what the minimisers work on. */
export interface FreeProblem {
  readonly rows: number;
  readonly size: number;
  readonly low: Float64Array;
  readonly high: Float64Array;
  /** Magnitudes of the parameters at the given start, for rounding and for run-away tests. */
  readonly scale: Float64Array;
  /** Norm of the data, 0 where not known. */
  readonly dataNorm: number;
  readonly budget: Budget;
  readonly enough?: number;
  readonly isNear?: boolean;
  /** @returns the sum of squares, NaN where the model does not exist */
  evaluate(point: Float64Array, residuals: Float64Array, jacobian: Float64Array | undefined): number;
}

/** The free problem of a problem, and the way back. */
export interface Reduction {
  readonly free: FreeProblem;
  /** Index in the full problem of each free parameter. */
  readonly indices: readonly number[];
  /** Full parameter vector of a free one. */
  expand(point: Float64Array): Float64Array;
  /** Free part of a full vector, moved into the bounds. */
  restrict(full: ArrayLike<number>): Float64Array;
}

/**
 * Takes out fixed parameters and appends one row (θ − mean)/sd per prior.
 *
 * @throws RangeError for a start, a bound or a prior that makes no sense, naming the parameter
 */
export function reduceProblem(problem: LeastSquaresProblem): Reduction {
  const { names, start, residualCount, residual } = problem;
  const full = names.length;
  checkProblem(problem);
  const indices: number[] = [];
  for (let j = 0; j < full; j++) if (!problem.fixed?.[j]) indices.push(j);
  const size = indices.length;
  const priors = indices.flatMap((j, k) => {
    const prior = problem.priors?.[j];
    return prior ? [{ k, mean: prior.mean, precision: 1 / prior.standardDeviation }] : [];
  });
  const rows = residualCount + priors.length;
  const low = Float64Array.from(indices, (j) => problem.low?.[j] ?? Number.NEGATIVE_INFINITY);
  const high = Float64Array.from(indices, (j) => problem.high?.[j] ?? Number.POSITIVE_INFINITY);
  const budget: Budget = { used: 0, limit: problem.maxEvaluations ?? 20_000 };
  const fill =
    size === full && priors.length === 0
      ? residual
      : withPriors(residual, start, residualCount, indices, priors);

  function evaluate(point: Float64Array, r: Float64Array, jacobian: Float64Array | undefined): number {
    budget.used++;
    fill(point, r, jacobian);
    let sum = 0;
    for (let i = 0; i < rows; i++) sum += r[i] * r[i];
    return sum < Number.POSITIVE_INFINITY ? sum : Number.NaN;
  }

  const restrict = (vector: ArrayLike<number>) =>
    Float64Array.from(indices, (j, k) => Math.min(Math.max(vector[j], low[k]), high[k]));
  return {
    free: {
      rows,
      size,
      low,
      high,
      scale: restrict(start).map(Math.abs),
      dataNorm: problem.dataNorm ?? 0,
      budget,
      enough: problem.enough,
      isNear: problem.isNear,
      evaluate,
    },
    indices,
    expand(point) {
      const vector = Float64Array.from(start);
      for (let k = 0; k < size; k++) vector[indices[k]] = point[k];
      return vector;
    },
    restrict,
  };
}

/** The residuals as a function of the free parameters, the priors' rows behind them. */
function withPriors(
  residual: LeastSquaresProblem['residual'],
  start: ArrayLike<number>,
  count: number,
  indices: readonly number[],
  priors: readonly { k: number; mean: number; precision: number }[],
): LeastSquaresProblem['residual'] {
  const full = start.length;
  const size = indices.length;
  const fullPoint = Float64Array.from(start);
  const fullResiduals = new Float64Array(count);
  const fullJacobian = new Float64Array(count * full);
  return (point, r, jacobian) => {
    for (let k = 0; k < size; k++) fullPoint[indices[k]] = point[k];
    residual(fullPoint, fullResiduals, jacobian ? fullJacobian : undefined);
    r.set(fullResiduals);
    if (jacobian) {
      for (let i = 0; i < count; i++) {
        for (let k = 0; k < size; k++) jacobian[i * size + k] = fullJacobian[i * full + indices[k]];
      }
      jacobian.fill(0, count * size);
    }
    priors.forEach(({ k, mean, precision }, q) => {
      r[count + q] = (point[k] - mean) * precision;
      if (jacobian) jacobian[(count + q) * size + k] = precision;
    });
  };
}

/** Refuses starts, bounds and priors that make no sense, naming the parameter. */
function checkProblem(problem: LeastSquaresProblem): void {
  const { names, start } = problem;
  if (start.length !== names.length) {
    throw new RangeError(`the start has ${start.length} values for ${names.length} parameters`);
  }
  names.forEach((name, j) => {
    const low = problem.low?.[j] ?? Number.NEGATIVE_INFINITY;
    const high = problem.high?.[j] ?? Number.POSITIVE_INFINITY;
    if (!Number.isFinite(start[j])) throw new RangeError(`the start of ${name} is not a finite number`);
    if (!(low <= high)) throw new RangeError(`the bounds of ${name} are not in order: ${low} to ${high}`);
    const prior = problem.priors?.[j];
    if (prior && !(prior.standardDeviation > 0 && Number.isFinite(prior.mean))) {
      throw new RangeError(`the prior of ${name} needs a finite mean and a positive standard deviation`);
    }
  });
}
