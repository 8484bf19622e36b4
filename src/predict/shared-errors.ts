import { sourceOf } from '../bench/source.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { SESSION } from '../fit/components.ts';
import { offsetOn } from '../fit/cooler-runs.ts';
import {
  FIRST_OFFSET,
  LEAK,
  OTHER_PASTE,
  PASTE,
  POWER_SCALE,
  sharedErrorCount,
} from '../fit/shared-error-order.ts';
import { errorCount } from './chip-rises.ts';
import type { Conditions } from './conditions.ts';

/**
 * Standard uncertainties of the errors that all runs of a bench have in common.
 *
 * They are not scatter: no number of runs averages them away, and a comparison of two coolers holds them only in so far
 * as the coolers answer to them differently. Each is carried as a sensitivity (what a unit of the error does to a
 * predicted rise, through the fit and directly) times its standard uncertainty, as JCGM 100:2008 5.1 has it.
 *
 * @param meterErrors  independent parts of the sound level meter's errors, of unit size, where a level is the condition
 * @param paste  `any` adds what another batch of paste differs by from those of this bench
 */
export function sharedUncertainties(
  posterior: BenchPosterior,
  meterErrors = 0,
  paste: Conditions['paste'] = 'bench',
): Float64Array {
  return Float64Array.of(...benchUncertainties(posterior, paste), ...new Float64Array(meterErrors).fill(1));
}

/**
 * Standard uncertainty of each shared error: power, leak, paste, and the offset and paste of each session.
 */
function benchUncertainties(posterior: BenchPosterior, paste: Conditions['paste']): Float64Array {
  // On a chip all is written in independent errors of unit size.
  if (posterior.term) {
    const out = new Float64Array(errorCount(posterior.term)).fill(1);
    out[OTHER_PASTE] = paste === 'any' ? 1 : 0;
    return out;
  }
  const { bench, source, sessions } = posterior;
  const { power_systematic_percent, leak_W_per_K } = sourceOf(bench, source);
  const out = new Float64Array(sharedErrorCount(sessions));
  out[POWER_SCALE] = power_systematic_percent / 100;
  out[LEAK] = leak_W_per_K.uncertainty;
  if (paste === 'any') out[OTHER_PASTE] = otherPaste(posterior);
  if (posterior.sessionEffects) {
    out.fill(1, FIRST_OFFSET);
    return out;
  }
  out[PASTE] = posterior.scatter.sigma[SESSION];
  out[FIRST_OFFSET] = offsetOn(bench, source, sessions[0]).u_K;
  return out;
}

/** Standard deviation of another batch of paste less the mean of those of the bench's S sessions, K/W: σ·√(1 + 1/S). */
export function otherPaste({ scatter, sessions }: BenchPosterior): number {
  return scatter.sigma[SESSION] * Math.sqrt(1 + 1 / Math.max(sessions.length, 1));
}

/** Variance that a vector of sensitivities gives with these uncertainties. */
export function sharedVariance(sensitivity: Float64Array, uncertainty: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < sensitivity.length; k++) sum += (sensitivity[k] * uncertainty[k]) ** 2;
  return sum;
}
