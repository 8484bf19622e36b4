import type { BenchPosterior } from '../fit/bench-posterior.ts';
import {
  addBenchPaste,
  addSessionSlopes,
  LEAK,
  OTHER_PASTE,
  PASTE,
  POWER_SCALE,
  sharedErrorCount,
} from '../fit/shared-error-order.ts';
import type { RiseMoments } from './joint-rises.ts';
import type { RisePoint } from './rise-point.ts';

/**
 * What each shared error does to the predicted true rise and to the prediction of a reading: through the runs, and directly. The true
 * rise is that with the bench's own batches of paste, and what another batch differs by comes on top.
 */
export function sensitivities(
  posterior: BenchPosterior,
  { sensitivity, ...at }: Pick<RiseMoments, 'sensitivity' | 'leakSlope' | 'slope_K_per_W' | 'loading_W'>,
  { power_W }: RisePoint,
  t: number,
): { mean: Float64Array; run: Float64Array } {
  const size = sharedErrorCount(posterior.sessions);
  const mean = sensitivity.slice(t * size, (t + 1) * size);
  mean[LEAK] -= at.leakSlope[t];
  const run = mean.slice();
  addBenchPaste(mean, at.loading_W[t], -1, posterior.sessionEffects);
  mean[OTHER_PASTE] = -at.loading_W[t];
  run[POWER_SCALE] -= power_W * at.slope_K_per_W[t];
  run[PASTE] -= at.loading_W[t];
  // The present session is the last that the runs name.
  addSessionSlopes(run, posterior.sessions.length - 1, at.loading_W[t], -1, posterior.sessionEffects);
  return { mean, run };
}
