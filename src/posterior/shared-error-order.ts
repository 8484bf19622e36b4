import type { CoolerRuns } from './cooler-runs.ts';
import type { CurvePosterior } from './curve-posterior.ts';

/**
 * The errors that all runs of a bench have in common, in the order used throughout: power scale (relative), leak (W/K),
 * paste state of a session (K/W), then one sensor offset per session (K).
 */
export const POWER_SCALE = 0;
export const LEAK = 1;
export const PASTE = 2;
export const FIRST_OFFSET = 3;

/** How many shared errors a bench with these sessions has. */
export function sharedErrorCount(sessions: readonly unknown[]): number {
  return FIRST_OFFSET + Math.max(sessions.length, 1);
}

/** ∂(reading of run i)/∂(shared error k), n × count row-major, for one cooler's runs about a fitted curve. */
export function sharedErrorSlopes(
  data: CoolerRuns,
  fitted: CurvePosterior,
  sessions: readonly (string | undefined)[],
): Float64Array {
  const count = sharedErrorCount(sessions);
  const n = data.runs.length;
  const out = new Float64Array(n * count);
  for (let i = 0; i < n; i++) {
    out[i * count + POWER_SCALE] = data.power_W[i] * fitted.at.slope_K_per_W[i];
    out[i * count + LEAK] = fitted.at.leakSlope[i];
    out[i * count + PASTE] = data.base_W[i];
    out[i * count + FIRST_OFFSET + Math.max(0, sessions.indexOf(data.runs[i].session))] = 1;
  }
  return out;
}
