/** Loudness level from which doubling per 10 phon holds; below it loudness falls faster (ISO 532-1, ISO 226). */
export const DOUBLING_LAW_FROM_phon = 40;

/**
 * How many times as loud one level sounds as another, as a rule of thumb.
 *
 * Common practice, no source: every 10 dBA is about twice as loud. The rule is the sone scale,
 * `2^((phon − 40)/10)`, with dBA put in the place of phon. dBA is not phon: it weighs by one fixed curve, knows
 * nothing of tones and of masking; and the doubling law itself starts at 40 phon, below which loudness falls off
 * faster than this says. Say it as a rule of thumb or not at all.
 *
 * @param level_dBA      level asked about, dBA
 * @param reference_dBA  level it is compared with, dBA
 * @example loudnessRatio(45, 35) // 2
 */
export function loudnessRatio(level_dBA: number, reference_dBA: number): number {
  return 2 ** ((level_dBA - reference_dBA) / 10);
}

/**
 * The rule in words, with its caveat, for a report.
 *
 * @example loudnessSentence(42, 35)
 * // '7.0 dB more, about 1.6 times as loud (rule of thumb: dBA is not phon; below about 40 phon the rule understates it)'
 */
export function loudnessSentence(level_dBA: number, reference_dBA: number): string {
  const difference_dB = level_dBA - reference_dBA;
  if (Math.abs(difference_dB) < 0.05) return 'the same level';
  const ratio = loudnessRatio(Math.max(level_dBA, reference_dBA), Math.min(level_dBA, reference_dBA));
  const ratioText = ratio.toFixed(1);
  const caveat =
    Math.min(level_dBA, reference_dBA) < DOUBLING_LAW_FROM_phon
      ? 'rule of thumb: dBA is not phon; below about 40 phon the rule understates it'
      : 'rule of thumb: dBA is not phon';
  const louder = `${Math.abs(difference_dB).toFixed(1)} dB ${difference_dB > 0 ? 'more' : 'less'}`;
  return difference_dB > 0
    ? `${louder}, about ${ratioText} times as loud (${caveat})`
    : `${louder}, about 1/${ratioText} as loud (${caveat})`;
}
