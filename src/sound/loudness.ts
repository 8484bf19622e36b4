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
