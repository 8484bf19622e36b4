import { cholesky, invertSpd } from '../numerics/matrix.ts';
import type { CoolerRuns } from './cooler-runs.ts';
import { type CurvePosterior, departureFromPrior, marginalPrecision } from './curve-posterior.ts';

/**
 * What each session adds to every reading in it: the state of the sensors (K) and of the paste batch (K/W).
 *
 * Coolers that were run in two sessions tie them together: how much the second read higher than the first on the same cooler
 * is known up to its mounts. What all sessions have in common cannot be told from the coolers themselves and keeps the
 * instruments' own uncertainty. S sessions; the errors left are L·z with z standard normal, L of size 2S × 2S, offsets first.
 */
export interface SessionEffects {
  readonly offset_K: Float64Array;
  readonly paste_K_per_W: Float64Array;
  /** L, lower triangular, row-major. */
  readonly root: Float64Array;
}

/** What one cooler brings to the estimate. */
export interface SessionPart {
  readonly data: CoolerRuns;
  readonly posterior: CurvePosterior;
  /** V⁻¹, n × n. */
  readonly inverse: Float64Array;
  /** Index among the bench's sessions of each run. */
  readonly session: readonly number[];
}

/** Standard deviations so wide that a cooler says nothing of what its own curve could take up instead: K and K/W. */
const WIDE_OFFSET_K = 30;
const WIDE_PASTE_K_PER_W = 0.5;

/**
 * Before any run.
 *
 * @param covariance  of the sessions' offsets (K) and then of their pastes (K/W), 2S × 2S, positive definite
 */
export function priorSessionEffects(covariance: Float64Array): SessionEffects {
  const size = Math.sqrt(covariance.length);
  const root = covariance.slice();
  cholesky(root, size);
  return { offset_K: new Float64Array(size / 2), paste_K_per_W: new Float64Array(size / 2), root };
}

/**
 * Sensor and paste state of each session, from the coolers that were run in more than one.
 *
 * Linear Gaussian update: with Ω the precision of a cooler's runs about its prior curve, F their answer to the effects φ
 * and D their covariance before, φ has precision D⁻¹ + ΣFᵀΩF. To each cooler's covariance a wide common offset and a wide common
 * resistance are added first, so that only differences between sessions count, not the shape of a formula.
 *
 * @param before  covariance of the effects before any run; see {@link priorSessionEffects}
 * @param current  effects already taken off `data.rise_K`
 */
export function estimateSessionEffects(
  parts: readonly SessionPart[],
  before: Float64Array,
  current: SessionEffects,
): SessionEffects {
  const size = Math.sqrt(before.length);
  const sessions = size / 2;
  const precision = before.slice();
  const pull = new Float64Array(size);
  if (!invertSpd(precision, size)) return priorSessionEffects(before);
  for (const part of parts) {
    if (new Set(part.session).size < 2) continue;
    const n = part.session.length;
    const omega = withoutCommonShift(marginalPrecision(part.posterior, part.inverse), part.data.base_W, n);
    const departure = departureFromPrior(part.posterior);
    for (let i = 0; i < n; i++) departure[i] += effectOn(current, part.session[i], part.data.base_W[i]);
    for (let i = 0; i < n; i++) {
      const [a, b] = [part.session[i], sessions + part.session[i]];
      const qi = part.data.base_W[i];
      for (let j = 0; j < n; j++) {
        const w = omega[i * n + j];
        const [c, d] = [part.session[j], sessions + part.session[j]];
        const qj = part.data.base_W[j];
        precision[a * size + c] += w;
        precision[a * size + d] += w * qj;
        precision[b * size + c] += w * qi;
        precision[b * size + d] += w * qi * qj;
        pull[a] += w * departure[j];
        pull[b] += w * qi * departure[j];
      }
    }
  }
  const covariance = precision;
  if (!invertSpd(covariance, size)) return priorSessionEffects(before);
  const mean = new Float64Array(size);
  for (let j = 0; j < size; j++) {
    for (let k = 0; k < size; k++) mean[j] += covariance[j * size + k] * pull[k];
  }
  const root = covariance;
  cholesky(root, size);
  return { offset_K: mean.slice(0, sessions), paste_K_per_W: mean.slice(sessions), root };
}

/** What a session adds to a reading at a heat into the base, K. */
export function effectOn(effects: SessionEffects, session: number, base_W: number): number {
  return effects.offset_K[session] + effects.paste_K_per_W[session] * base_W;
}

/** Leaves in `data.rise_K` the rises as read less what each run's session adds. */
export function takeOff(
  data: CoolerRuns,
  asRead_K: Float64Array,
  session: readonly number[],
  effects: SessionEffects,
): void {
  for (let i = 0; i < asRead_K.length; i++) {
    data.rise_K[i] = asRead_K[i] - effectOn(effects, session[i], data.base_W[i]);
  }
}

/** Precision after a wide common offset and a wide common resistance are added to the covariance (Woodbury). */
function withoutCommonShift(omega: Float64Array, base_W: Float64Array, n: number): Float64Array {
  const u = new Float64Array(n * 2);
  for (let i = 0; i < n; i++) {
    u[i * 2] = WIDE_OFFSET_K;
    u[i * 2 + 1] = WIDE_PASTE_K_PER_W * base_W[i];
  }
  const ou = new Float64Array(n * 2);
  const middle = Float64Array.of(1, 0, 0, 1);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      ou[i * 2] += omega[i * n + j] * u[j * 2];
      ou[i * 2 + 1] += omega[i * n + j] * u[j * 2 + 1];
    }
  }
  for (let i = 0; i < n; i++) {
    for (let a = 0; a < 2; a++) for (let b = 0; b < 2; b++) middle[a * 2 + b] += u[i * 2 + a] * ou[i * 2 + b];
  }
  invertSpd(middle, 2);
  const out = omega;
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      for (let a = 0; a < 2; a++) {
        for (let b = 0; b < 2; b++) out[i * n + j] -= ou[i * 2 + a] * middle[a * 2 + b] * ou[j * 2 + b];
      }
    }
  }
  return out;
}
