import { sourceOf } from '../bench/source.ts';
import type { BenchPosterior } from '../posterior/bench-posterior.ts';
import { offsetUncertainty } from '../posterior/cooler-runs.ts';
import { SESSION } from '../posterior/scatter.ts';
import { FIRST_OFFSET, LEAK, PASTE, POWER_SCALE, sharedErrorCount } from '../posterior/shared-error-order.ts';
import { errorCount } from './chip-rises.ts';

export { FIRST_OFFSET, LEAK, PASTE, POWER_SCALE } from '../posterior/shared-error-order.ts';

/**
 * Standard uncertainties of the errors that all runs of a bench have in common.
 *
 * They are not scatter: no number of runs averages them away, and a comparison of two coolers holds them only in so far
 * as the coolers answer to them differently. Each is carried as a sensitivity (what a unit of the error does to a
 * predicted rise, through the fit and directly) times its standard uncertainty, as JCGM 100:2008 5.1 has it.
 *
 * @param meterErrors  independent parts of the sound level meter's errors, of unit size, where a level is the condition
 */
export function sharedUncertainties(posterior: BenchPosterior, meterErrors = 0): Float64Array {
  return Float64Array.of(...benchUncertainties(posterior), ...new Float64Array(meterErrors).fill(1));
}

function benchUncertainties(posterior: BenchPosterior): Float64Array {
  // On a chip all is written in independent errors of unit size.
  if (posterior.term) return new Float64Array(errorCount(posterior.term)).fill(1);
  const { bench, source, sessions } = posterior;
  const { power_systematic_percent, leak_W_per_K } = sourceOf(bench, source);
  const out = new Float64Array(sharedErrorCount(sessions));
  out[POWER_SCALE] = power_systematic_percent / 100;
  out[LEAK] = leak_W_per_K.uncertainty;
  if (posterior.sessionEffects) {
    out.fill(1, FIRST_OFFSET);
    return out;
  }
  out[PASTE] = posterior.scatter.sigma[SESSION];
  out[FIRST_OFFSET] = offsetUncertainty(bench, source, sessions[0]);
  return out;
}

/** Variance that a vector of sensitivities gives with these uncertainties. */
export function sharedVariance(sensitivity: Float64Array, uncertainty: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < sensitivity.length; k++) sum += (sensitivity[k] * uncertainty[k]) ** 2;
  return sum;
}
