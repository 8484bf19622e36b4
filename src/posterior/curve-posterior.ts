import { solveLeastSquares } from '../numerics/least-squares/least-squares.ts';
import { cholesky, invertSpd, solveLower, solveUpperT } from '../numerics/matrix.ts';
import type { CoolerRuns } from './cooler-runs.ts';
import { type CurveValues, curveValues, type RiseCurve } from './rise-curve.ts';

/** Gaussian prior of a curve's parameters on the fitting scale, independent between parameters. */
export interface CurvePrior {
  readonly mean: Float64Array;
  readonly deviation: Float64Array;
  /** Which parameters were pooled over the bench's coolers; absent where none was. */
  readonly pooled?: readonly boolean[];
}

/** The prior that the model file alone gives. */
export function statedPrior(curve: RiseCurve): CurvePrior {
  return {
    mean: Float64Array.from(curve.scales, (scale) => scale.priorMean),
    deviation: Float64Array.from(curve.scales, (scale) => scale.priorDeviation),
  };
}

/**
 * One formula model fitted to one cooler: mode and Gaussian spread of its parameters, given the scatters.
 *
 * n runs, p parameters; matrices are row-major.
 */
export interface CurvePosterior {
  readonly curve: RiseCurve;
  readonly prior: CurvePrior;
  readonly eta: Float64Array;
  /** Covariance of η, p × p. */
  readonly covariance: Float64Array;
  /** Information of the runs alone on η, JᵀV⁻¹J, p × p. */
  readonly information: Float64Array;
  /** Curve at the runs. */
  readonly at: CurveValues;
  /** y − curve, n. */
  readonly residual_K: Float64Array;
  /** V⁻¹·residual, n. */
  readonly weightedResidual: Float64Array;
  /** V⁻¹·J, n × p. */
  readonly weightedJacobian: Float64Array;
  readonly converged: boolean;
  readonly reason: string;
  readonly warnings: readonly string[];
}

/**
 * Penalised generalised least squares: minimises (y − f)ᵀV⁻¹(y − f) + Σ((η − μ)/τ)².
 *
 * @param factor  Cholesky factor of V, n × n
 * @param starts  where to begin, on the fitting scale; the best end counts
 */
export function fitCurve(
  curve: RiseCurve,
  data: CoolerRuns,
  leak_W_per_K: number,
  factor: Float64Array,
  prior: CurvePrior,
  starts: readonly ArrayLike<number>[],
): CurvePosterior {
  const n = data.runs.length;
  const p = curve.parameterCount;
  const values = curveValues(n, p);
  const [start, ...moreStarts] = starts.map((eta) =>
    Array.from(eta, (value, j) => clamp(value, curve.scales[j].low, curve.scales[j].high)),
  );
  const fit = solveLeastSquares({
    residualCount: n,
    names: curve.model.parameters.map((parameter) => parameter.name),
    residual: (eta, residuals, jacobian) => {
      curve.evaluate(eta, data, leak_W_per_K, values);
      for (let i = 0; i < n; i++) residuals[i] = values.rise_K[i] - data.rise_K[i];
      solveLower(factor, n, residuals);
      if (!jacobian) return;
      jacobian.set(values.jacobian);
      solveLower(factor, n, jacobian, p);
    },
    start,
    moreStarts,
    low: curve.scales.map((scale) => scale.low),
    high: curve.scales.map((scale) => scale.high),
    priors: Array.from(prior.mean, (mean, j) => ({ mean, standardDeviation: prior.deviation[j] })),
  });
  return posteriorAt(curve, data, leak_W_per_K, factor, prior, fit.parameters, fit);
}

/** Distance on the fitting scale within which a parameter is on its bound. */
const ON_BOUND = 1e-9;

/** The Gaussian posterior about a mode that is already known, for example after the scatters have moved a little. */
export function posteriorAt(
  curve: RiseCurve,
  data: CoolerRuns,
  leak_W_per_K: number,
  factor: Float64Array,
  prior: CurvePrior,
  eta: Float64Array,
  told: { converged: boolean; reason: string; warnings: readonly string[] },
): CurvePosterior {
  const n = data.runs.length;
  const p = curve.parameterCount;
  const at = curveValues(n, p);
  curve.evaluate(eta, data, leak_W_per_K, at);
  // A parameter on a bound is pushed farther than it may go: it stays there and takes no part in the spread.
  const held = curve.scales.map(({ low, high }, j) => eta[j] <= low + ON_BOUND || eta[j] >= high - ON_BOUND);
  for (let i = 0; i < n; i++) for (let j = 0; j < p; j++) if (held[j]) at.jacobian[i * p + j] = 0;
  const residual_K = Float64Array.from(at.rise_K, (rise, i) => data.rise_K[i] - rise);
  const weightedResidual = residual_K.slice();
  solveLower(factor, n, weightedResidual);
  solveUpperT(factor, n, weightedResidual);
  const weightedJacobian = at.jacobian.slice();
  solveLower(factor, n, weightedJacobian, p);
  solveUpperT(factor, n, weightedJacobian, p);
  const information = new Float64Array(p * p);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < p; j++) {
      const w = weightedJacobian[i * p + j];
      for (let k = 0; k < p; k++) information[j * p + k] += w * at.jacobian[i * p + k];
    }
  }
  const covariance = information.slice();
  for (let j = 0; j < p; j++) covariance[j * p + j] += 1 / prior.deviation[j] ** 2;
  if (!invertSpd(covariance, p)) covariance.fill(Number.NaN);
  for (let j = 0; j < p; j++) if (held[j]) covariance[j * p + j] = 0;
  return {
    curve,
    prior,
    eta: Float64Array.from(eta),
    covariance,
    information,
    at,
    residual_K,
    weightedResidual,
    weightedJacobian,
    converged: told.converged,
    reason: told.reason,
    warnings: told.warnings,
  };
}

/** The runs less the curve at the mean of its prior, to first order about the mode, K. */
export function departureFromPrior({ residual_K, at, eta, prior }: CurvePosterior): Float64Array {
  const p = eta.length;
  return residual_K.map((residual, i) => {
    let sum = residual;
    for (let j = 0; j < p; j++) sum += at.jacobian[i * p + j] * (eta[j] - prior.mean[j]);
    return sum;
  });
}

/**
 * Precision of the runs with the curve's prior integrated out, Ω = (V + J·T·Jᵀ)⁻¹ = V⁻¹ − V⁻¹J·C·JᵀV⁻¹, n × n.
 *
 * @param inverse  V⁻¹, left as it is
 */
export function marginalPrecision(
  { covariance, weightedJacobian, eta, residual_K }: CurvePosterior,
  inverse: Float64Array,
): Float64Array {
  const n = residual_K.length;
  const p = eta.length;
  const omega = inverse.slice();
  const half = new Float64Array(n * p);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < p; j++) {
      const w = weightedJacobian[i * p + j];
      for (let k = 0; k < p; k++) half[i * p + k] += w * covariance[j * p + k];
    }
  }
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      let sum = 0;
      for (let k = 0; k < p; k++) sum += half[i * p + k] * weightedJacobian[j * p + k];
      omega[i * n + j] -= sum;
    }
  }
  return omega;
}

/** Cholesky factor of a covariance, with a jitter of rounding size if it needs one. */
export function factorOf(covariance: Float64Array, n: number): Float64Array {
  for (let jitter = 0; jitter < 12; jitter++) {
    const factor = covariance.slice();
    if (jitter > 0) for (let i = 0; i < n; i++) factor[i * n + i] *= 1 + 10 ** (jitter - 14);
    if (cholesky(factor, n)) return factor;
  }
  throw new RangeError('the covariance of the runs is not positive definite');
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(Math.max(value, low), high);
}
