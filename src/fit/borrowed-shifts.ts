import type { CurvePosterior } from './curve-posterior.ts';
import { pooledShift } from './pooling.ts';
import type { RiseCurve } from './rise-curve.ts';
import type { SessionEffects } from './session-effects.ts';
import { sharedErrorCount, sharedErrorSlopes } from './shared-error-order.ts';
import { curveOf, type Work } from './work.ts';

/** For every cooler and curve, how the pooled prior moves with the errors that all runs share. */
export function borrowedShifts(
  works: readonly Work[],
  curves: readonly RiseCurve[],
  sessions: readonly (string | undefined)[],
  effects: SessionEffects | undefined,
): Map<Work, Float64Array[]> {
  const out = new Map<Work, Float64Array[]>(works.map((work) => [work, []]));
  const count = sharedErrorCount(sessions);
  for (const kind of ['air', 'liquid'] as const) {
    for (const curve of curves) {
      const members = works.flatMap((work) => {
        const posterior = curveOf(work, curve);
        return posterior && work.data.cooler.kind === kind ? [{ work, posterior }] : [];
      });
      const own = members.map(({ work, posterior }) => {
        const slopes = sharedErrorSlopes(work.data, posterior, sessions, effects);
        return parameterShift(posterior, slopes, count);
      });
      const shifts = pooledShift(
        members.map(({ posterior }) => posterior),
        own,
      );
      members.forEach(({ work, posterior }, c) => {
        work.curves.forEach((one, m) => {
          if (one.curve === posterior.curve) (out.get(work) as Float64Array[])[m] = shifts[c];
        });
      });
    }
  }
  return out;
}

/** C·JᵀV⁻¹·∂y/∂error, p × count. */
function parameterShift(posterior: CurvePosterior, slopes: Float64Array, count: number): Float64Array {
  const p = posterior.eta.length;
  const n = posterior.residual_K.length;
  const pull = new Float64Array(p * count);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < p; j++) {
      const w = posterior.weightedJacobian[i * p + j];
      for (let e = 0; e < count; e++) pull[j * count + e] += w * slopes[i * count + e];
    }
  }
  const out = new Float64Array(p * count);
  for (let j = 0; j < p; j++) {
    for (let q = 0; q < p; q++) {
      for (let e = 0; e < count; e++)
        out[j * count + e] += posterior.covariance[j * p + q] * pull[q * count + e];
    }
  }
  return out;
}
