import { type LeastSquaresProblem, solveLeastSquares } from '../numerics/least-squares/least-squares.ts';
import { invertSpd } from '../numerics/matrix.ts';
import type { SplitCovariance } from '../numerics/split-covariance.ts';
import type { CoolerRuns } from './cooler-runs.ts';
import { type CurveValues, curveValues, type RiseCurve } from './rise-curve.ts';

/** Gaussian prior of a curve's parameters on the fitting scale, independent between parameters. */
export interface CurvePrior {
  readonly mean: Float64Array;
  readonly deviation: Float64Array;
  /** Which parameters were pooled over the bench's coolers; absent where none was. */
  readonly pooled?: readonly boolean[];
  /** ln of its share of a wider prior, of which it is one slice; absent for a whole one. */
  readonly logMass?: number;
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

/** How near to the minimum a fit ends, whether it starts near it, and which parameters stay where they are. */
export type FitEnds = Pick<LeastSquaresProblem, 'enough' | 'isNear' | 'fixed' | 'maxEvaluations'>;

/**
 * Penalised generalised least squares: minimises (y − f)ᵀV⁻¹(y − f) + Σ((η − μ)/τ)².
 *
 * @param covariance  V
 * @param starts  where to begin, on the fitting scale; the best end counts
 */
export function fitCurve(
  curve: RiseCurve,
  data: CoolerRuns,
  leak_W_per_K: number,
  covariance: SplitCovariance,
  prior: CurvePrior,
  starts: readonly ArrayLike<number>[],
  ends: FitEnds = {},
): CurvePosterior {
  const n = data.runs.length;
  const p = curve.parameterCount;
  const values = curveValues(n, p);
  const off = new Float64Array(n);
  const [start, ...moreStarts] = starts.map((eta) =>
    Array.from(eta, (value, j) => clamp(value, curve.scales[j].low, curve.scales[j].high)),
  );
  const fit = solveLeastSquares({
    residualCount: n + covariance.columns,
    names: curve.model.parameters.map((parameter) => parameter.name),
    residual: (eta, residuals, jacobian) => {
      curve.evaluate(eta, data, leak_W_per_K, values);
      for (let i = 0; i < n; i++) off[i] = values.rise_K[i] - data.rise_K[i];
      covariance.whiten(off, 1, residuals);
      if (jacobian) covariance.whiten(values.jacobian, p, jacobian);
    },
    start,
    moreStarts,
    low: curve.scales.map((scale) => scale.low),
    high: curve.scales.map((scale) => scale.high),
    priors: Array.from(prior.mean, (mean, j) => ({ mean, standardDeviation: prior.deviation[j] })),
    ...ends,
  });
  return posteriorAt(curve, data, leak_W_per_K, covariance, prior, fit.parameters, fit);
}

/** Distance on the fitting scale within which a parameter is on its bound. */
const ON_BOUND = 1e-9;

/** The Gaussian posterior about a mode that is already known, for example after the scatters have moved a little. */
export function posteriorAt(
  curve: RiseCurve,
  data: CoolerRuns,
  leak_W_per_K: number,
  ofRuns: SplitCovariance,
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
  const weightedResidual = ofRuns.solve(residual_K);
  const weightedJacobian = ofRuns.solve(at.jacobian, p);
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
 * Covariance of the runs with the curve's prior integrated out, V + J·T·Jᵀ.
 *
 * @param covariance  V
 * @throws RangeError where it is not positive definite
 */
export function marginalCovariance(
  { at, eta, prior }: CurvePosterior,
  covariance: SplitCovariance,
): SplitCovariance {
  const p = eta.length;
  const z = at.jacobian.map((slope, k) => slope * prior.deviation[k % p]);
  const out = covariance.with({ z, columns: p });
  if (!out) throw new RangeError('the covariance of the runs is not positive definite');
  return out;
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(Math.max(value, low), high);
}
