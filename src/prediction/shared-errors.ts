import type { Bench } from '../bench/bench.ts';
import type { BenchPosterior } from '../posterior/bench-posterior.ts';
import { leakOf, sensorOffset } from '../posterior/cooler-runs.ts';
import { SESSION } from '../posterior/scatter.ts';

/**
 * The errors that all runs of a bench have in common, and how much is known of each.
 *
 * They are not scatter: no number of runs averages them away, and a comparison of two coolers holds them only in so far
 * as the coolers answer to them differently. Each is carried as a sensitivity (what a unit of the error does to a
 * predicted rise, through the fit and directly) times its standard uncertainty, as JCGM 100:2008 5.1 has it.
 *
 * Order: power scale (relative), leak (W/K), paste state of a session (K/W), then one sensor offset per session (K).
 */
export const POWER_SCALE = 0;
export const LEAK = 1;
export const PASTE = 2;
export const FIRST_OFFSET = 3;

/** Standard uncertainties in that order. */
export function sharedUncertainties(posterior: BenchPosterior): Float64Array {
  const { bench, source, sessions } = posterior;
  const out = new Float64Array(FIRST_OFFSET + Math.max(sessions.length, 1));
  out[POWER_SCALE] = powerScale(bench, source);
  out[LEAK] = leakOf(bench, source).uncertainty;
  // With one session its paste state is common to every run; with several it is among the scatters.
  out[PASTE] = posterior.active[SESSION] ? 0 : posterior.scatter.sigma[SESSION];
  (sessions.length > 0 ? sessions : [undefined]).forEach((session, k) => {
    out[FIRST_OFFSET + k] = offsetUncertainty(bench, source, session);
  });
  return out;
}

function powerScale(bench: Bench, source: string): number {
  if (source === 'heater') return bench.instruments.power.systematic_percent / 100;
  return (bench.chips.find((chip) => chip.chip === source)?.power_systematic_percent ?? 3) / 100;
}

function offsetUncertainty(bench: Bench, source: string, session: string | undefined): number {
  if (source === 'heater') return sensorOffset(bench, session).u_K;
  const sensor = bench.chips.find((chip) => chip.chip === source)?.sensor_systematic_K ?? 2;
  return Math.hypot(sensor, bench.instruments.ambient_temperature.systematic_K);
}

/** Variance that a vector of sensitivities gives with these uncertainties. */
export function sharedVariance(sensitivity: Float64Array, uncertainty: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < sensitivity.length; k++) sum += (sensitivity[k] * uncertainty[k]) ** 2;
  return sum;
}
