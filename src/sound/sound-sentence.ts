import { loudnessRatio } from './loudness.ts';

/** A cooler at full speed and at equal sound, with the rise differences and their half-widths that a test gives. */
export interface SoundComparison {
  a: string;
  b: string;
  /** Metered levels at full speed, dBA. */
  a_full_dBA: number;
  b_full_dBA: number;
  /** Rise of a less rise of b with both at full speed, K: value and interval. */
  full: { rise_K: number; low_K: number; high_K: number };
  /** The same with both at one metered level, where that was asked for. */
  equal?: { sound_dBA: number; rise_K: number; low_K: number; high_K: number };
}

/** Levels closer than this read as the same on a meter in practice (common practice, no source). */
const SAME_LEVEL_dB = 1;

/**
 * Two coolers compared in words: who is ahead at full speed, what it costs in sound, and who is ahead at equal sound.
 *
 * A difference whose interval holds 0 is a tie, never a lead.
 *
 * @example soundSentence({ a: 'Heron', b: 'Plover', a_full_dBA: 46, b_full_dBA: 39, full: { rise_K: 0.2, low_K: -0.9, high_K: 1.3 } })
 * // 'Heron ties with Plover at full speed but needs 7 dB more to do so (about 1.6 times as loud, as a rule of thumb).'
 */
export function soundSentence(comparison: SoundComparison): string {
  const { a, b, a_full_dBA, b_full_dBA, full, equal } = comparison;
  const louderIsA = a_full_dBA >= b_full_dBA;
  const [louder, quieter] = louderIsA ? [a, b] : [b, a];
  const more_dB = Math.abs(a_full_dBA - b_full_dBA);
  const sameLevel = more_dB < SAME_LEVEL_dB;
  const cost = `${more_dB.toFixed(0)} dB more to do so (about ${loudnessRatio(more_dB, 0).toFixed(1)} times as loud, as a rule of thumb)`;
  const better = leader(a, b, full);
  const lead = Math.abs(full.rise_K).toFixed(1);
  let atFull: string;
  if (better === undefined) {
    atFull = sameLevel
      ? `${a} and ${b} tie at full speed and are about as loud`
      : `${louder} ties with ${quieter} at full speed but needs ${cost}`;
  } else {
    const worse = better === a ? b : a;
    if (sameLevel) atFull = `${better} is ${lead} K ahead of ${worse} at full speed and about as loud`;
    else if (better === louder) {
      atFull = `${better} is ${lead} K ahead of ${worse} at full speed but needs ${cost}`;
    } else
      atFull = `${better} is ${lead} K ahead of ${worse} at full speed and ${more_dB.toFixed(0)} dB quieter`;
  }
  if (equal === undefined) return `${atFull}.`;
  const ahead = leader(a, b, equal);
  const atEqual =
    ahead === undefined
      ? 'the two are not resolved'
      : `${ahead} is ${Math.abs(equal.rise_K).toFixed(1)} K ahead of ${ahead === a ? b : a}`;
  return `${atFull}; at ${equal.sound_dBA} dBA each, ${atEqual}.`;
}

/** The cooler of the two that is resolved to be ahead. */
function leader(a: string, b: string, difference: { low_K: number; high_K: number }): string | undefined {
  if (difference.high_K < 0) return a;
  if (difference.low_K > 0) return b;
  return undefined;
}
