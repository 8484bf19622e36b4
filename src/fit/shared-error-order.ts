import type { CoolerRuns } from './cooler-runs.ts';
import type { CurvePosterior } from './curve-posterior.ts';
import type { SessionEffects } from './session-effects.ts';

/**
 * The errors that all runs of a bench have in common, in the order used throughout: power scale (relative), leak (W/K),
 * paste state (K/W), what another batch of paste differs by from those of this bench (K/W, in no run), and then sensor offset (K) of a
 * single session. With several sessions their sensor and paste states hang together, and the columns from FIRST_OFFSET on are the
 * independent parts (standard normal) of which they are made.
 */
export const POWER_SCALE = 0;
export const LEAK = 1;
export const PASTE = 2;
export const OTHER_PASTE = 3;
export const FIRST_OFFSET = 4;

/** How many shared errors a bench with these sessions has. */
export function sharedErrorCount(sessions: readonly unknown[]): number {
  return FIRST_OFFSET + (sessions.length > 1 ? 2 * sessions.length : 1);
}

/** ∂(reading of run i)/∂(shared error k), n × count row-major, for one cooler's runs about a fitted curve. */
export function sharedErrorSlopes(
  data: CoolerRuns,
  fitted: CurvePosterior,
  sessions: readonly (string | undefined)[],
  effects: SessionEffects | undefined,
): Float64Array {
  const count = sharedErrorCount(sessions);
  const n = data.runs.length;
  const out = new Float64Array(n * count);
  for (let i = 0; i < n; i++) {
    const row = out.subarray(i * count, (i + 1) * count);
    row[POWER_SCALE] = data.power_W[i] * fitted.at.slope_K_per_W[i];
    row[LEAK] = fitted.at.leakSlope[i];
    row[PASTE] = data.base_W[i];
    addSessionSlopes(row, sessions.indexOf(data.runs[i].session), data.base_W[i], 1, effects);
  }
  return out;
}

/** Adds to `row` what the paste batches of the bench, on average over its sessions, do to a rise, `sign` times. */
export function addBenchPaste(
  row: Float64Array,
  loading_W: number,
  sign: number,
  effects: SessionEffects | undefined,
): void {
  if (!effects) {
    row[PASTE] += sign * loading_W;
    return;
  }
  const sessions = effects.offset_K.length;
  const size = 2 * sessions;
  for (let k = sessions; k < size; k++) {
    for (let z = 0; z < size; z++) {
      row[FIRST_OFFSET + z] += (sign * loading_W * effects.root[k * size + z]) / sessions;
    }
  }
}

/** Adds to `row` what the state of a session does to a reading in it, `sign` times. */
export function addSessionSlopes(
  row: Float64Array,
  session: number,
  base_W: number,
  sign: number,
  effects: SessionEffects | undefined,
): void {
  if (!effects) {
    row[FIRST_OFFSET] += sign;
    return;
  }
  const sessions = effects.offset_K.length;
  const size = 2 * sessions;
  const k = Math.max(0, session);
  for (let z = 0; z < size; z++) {
    const state = effects.root[k * size + z] + base_W * effects.root[(sessions + k) * size + z];
    row[FIRST_OFFSET + z] += sign * state;
  }
}
