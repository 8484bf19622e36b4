import { logSum, softmax } from '../numerics/log-weights.ts';
import {
  addProduct,
  addScaled,
  addTransposeProduct,
  cholesky,
  dot,
  invertFactored,
  logDeterminant,
  product,
  solveFactored,
  transposeProduct,
} from '../numerics/matrix.ts';
import type { SoundWork } from './level-against-speed.ts';
import { type SpeedGroup, sessionDesign } from './sound-levels-by-speed.ts';

/** What the meter of each session is thought to read too high, about the mean of the bench's sessions. */
export interface MeterErrors {
  readonly sessions: readonly string[];
  /** Estimates, dB, S. */
  readonly offset_dB: Float64Array;
  /** What is not known of them: offset + root·z with z independent and standard normal, S × (S − 1). */
  readonly root: Float64Array;
}

/** The meter's errors given one set of the other scatters. */
export interface MeterGiven {
  /** ln of what the sessions do to the probability of the readings. */
  readonly log: number;
  /** The scatters between sessions that are looked at, with their probabilities. */
  readonly scatters: readonly { readonly session_dB: number; readonly weight: number }[];
  /** Mean and covariance of the sessions' contrasts. */
  readonly mean: Float64Array;
  readonly covariance: Float64Array;
}

/**
 * Standard deviations by which ln of the scatter between sessions is looked at about what is stated, and their weights: a normal of
 * 0.5, so that the stated figure may be wrong by a factor of 1.6 either way (an assumption).
 */
const SCATTERS = [-2, -1, 0, 1, 2].map((z) => ({ factor: Math.exp(0.5 * z), log: -0.5 * z * z }));

/**
 * The meter's error of each session, as effects that all readings of a session have in common.
 *
 * Levels of one session share the meter's calibration and where it stood, which cancels between coolers metered together and
 * does not between others. The errors are normal with the meter's stated uncertainty or what the readings show of it;
 * coolers metered in two sessions say how far these are apart. What all sessions have in common is no matter of theirs: a target level is
 * as the bench's sessions read on average, so the errors add to zero and are written as S − 1 contrasts. The background of each
 * session is its own, known to the meter's uncertainty, so that what it reads says nothing of the meter.
 *
 * With A the covariance of a cooler's readings about the law's prior mean, F the share of the cooler in each by sessions and r what
 * they are off by, the errors δ have the information Σ FᵀA⁻¹F and are told Σ FᵀA⁻¹r: best linear unbiased prediction (Searle, Casella
 * and McCulloch 1992, Variance Components, chapter 7).
 */
export class MeterSessions {
  readonly sessions: readonly string[];
  readonly stated_dB: number;
  /** Orthonormal contrasts of the sessions (Helmert's), S × (S − 1). */
  readonly #contrasts: Float64Array;

  /** @param stated_dB  standard uncertainty of the meter in one session, above zero */
  constructor(sessions: readonly string[], stated_dB: number) {
    this.sessions = sessions;
    this.stated_dB = stated_dB;
    const count = sessions.length;
    this.#contrasts = Float64Array.from({ length: count * (count - 1) }, (_, index) => {
      const [session, k] = [Math.floor(index / (count - 1)), index % (count - 1)];
      const scale = Math.sqrt((k + 1) * (k + 2));
      if (session > k + 1) return 0;
      return session <= k ? 1 / scale : -(k + 1) / scale;
    });
  }

  /**
   * What solved readings tell of the errors, about `offset_dB` that were taken off them.
   *
   * @param works  of `solveSound`, one a cooler
   */
  given(
    coolers: readonly (readonly SpeedGroup[])[],
    works: readonly SoundWork[],
    offset_dB: Float64Array,
  ): MeterGiven {
    const size = this.sessions.length;
    const free = size - 1;
    const information = new Float64Array(size * size);
    const told = new Float64Array(size);
    coolers.forEach((groups, c) => {
      const { factor, share, weighted } = works[c];
      const n = groups.length;
      const design = sessionDesign(groups, share, size);
      addTransposeProduct(information, design, solveFactored(factor, n, design.slice(), size), n, size, size);
      groups.forEach(({ session }, i) => {
        told[session] += weighted[i];
      });
    });
    const h = this.#contrasts;
    const ofContrasts = transposeProduct(h, product(information, h, size, size, free), size, free, free);
    const pull = transposeProduct(h, told, size, free);
    // The errors' prior is about zero, so that of what is left after `offset_dB` was taken off is about −offset.
    const before = transposeProduct(h, offset_dB, size, free).map((value) => -value);
    const parts = SCATTERS.map(({ factor, log }) => {
      const session_dB = this.stated_dB * factor;
      const precision = ofContrasts.slice();
      for (let k = 0; k < free; k++) precision[k * free + k] += session_dB ** -2;
      const target = pull.map((value, k) => value + before[k] / session_dB ** 2);
      cholesky(precision, free);
      const mean = solveFactored(precision, free, target.slice());
      const evidence =
        log -
        0.5 * logDeterminant(precision, free) -
        free * Math.log(session_dB) +
        0.5 * (dot(mean, target) - dot(before, before) / session_dB ** 2);
      invertFactored(precision, free);
      return { session_dB, evidence, mean, covariance: precision };
    });
    const logs = parts.map(({ evidence }) => evidence);
    const weights = softmax(logs);
    const scatters = parts.map((part, k) => ({ ...part, weight: weights[k] }));
    return { log: logSum(logs), scatters, ...momentsOf(scatters, free) };
  }

  /** The errors over all sets of scatters, whose weights add to 1. */
  over(nodes: readonly { weight: number; meter: MeterGiven }[], offset_dB: Float64Array): MeterErrors {
    const size = this.sessions.length;
    const free = size - 1;
    const { mean, covariance } = momentsOf(
      nodes.map(({ weight, meter }) => ({ weight, ...meter })),
      free,
    );
    cholesky(covariance, free);
    for (let i = 0; i < free; i++) covariance.fill(0, i * free + i + 1, (i + 1) * free);
    return {
      sessions: this.sessions,
      offset_dB: addProduct(offset_dB.slice(), this.#contrasts, mean, size, free, 1),
      root: product(this.#contrasts, covariance, size, free, free),
    };
  }
}

/** Mean and covariance of a mixture of normals. */
function momentsOf(
  parts: readonly { weight: number; mean: Float64Array; covariance: Float64Array }[],
  size: number,
): { mean: Float64Array; covariance: Float64Array } {
  const mean = new Float64Array(size);
  const covariance = new Float64Array(size * size);
  for (const part of parts) addScaled(mean, part.mean, part.weight);
  for (const part of parts) {
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) {
        const apart = (part.mean[i] - mean[i]) * (part.mean[j] - mean[j]);
        covariance[i * size + j] += part.weight * (part.covariance[i * size + j] + apart);
      }
    }
  }
  return { mean, covariance };
}
