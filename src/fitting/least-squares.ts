/**
 * Placeholder of the engine's interface; the engine itself replaces this file's body.
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
  /** residual = (model − data) · whitening; the Jacobian is its derivative by the parameters. */
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
  /** Total model evaluations allowed over all starts. */
  readonly maxEvaluations?: number;
}

export interface LeastSquaresResult {
  readonly parameters: Float64Array;
  readonly converged: boolean;
  /** Empty when converged; else plain language. */
  readonly reason: string;
  /** Unscaled covariance (JᵀJ + prior precision)⁻¹, p × p row-major, zero rows for fixed; multiply by s² if wanted. */
  readonly covariance: Float64Array;
  readonly standardErrors: Float64Array;
  readonly residualSumOfSquares: number;
  readonly residualStandardDeviation: number;
  readonly degreesOfFreedom: number;
  /** Sentences naming parameters that the data cannot tell apart or a bound holds. */
  readonly warnings: readonly string[];
  readonly evaluations: number;
}
