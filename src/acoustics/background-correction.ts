/** ISO 3744: from this much above the background the correction is valid, dB. */
export const CORRECTION_VALID_FROM_dB = 6;

/** ISO 3744: the most that may be subtracted, dB (the correction at 6 dB, 1.26, rounded as the standard does). */
export const GREATEST_CORRECTION_dB = 1.3;

export interface CorrectedLevel {
  /** Level of the source alone, or its upper bound where `valid` is false, dBA. */
  level_dBA: number;
  /** False closer than 6 dB to the background: `level_dBA` is then only an upper bound. */
  valid: boolean;
}

/**
 * Background correction K1 of ISO 3744: what to subtract from a level metered ΔL above the background,
 * `K1 = −10·lg(1 − 10^(−ΔL/10))`, and 1.3 dB wherever ΔL is below 6 dB.
 *
 * The standard leaves the correction out above 15 dB, where it is below 0.14 dB; here it is always applied, so that
 * the corrected level has no step.
 *
 * @param above_dB  metered level less background level, dB, not negative
 * @throws RangeError if it is negative or not a number
 * @example backgroundCorrection(10) // 0.458
 */
export function backgroundCorrection(above_dB: number): number {
  if (!(above_dB >= 0)) {
    throw new RangeError(
      `backgroundCorrection: ${above_dB} dB above the background; 0 dB or more is accepted, since a level below the background cannot hold it`,
    );
  }
  if (above_dB < CORRECTION_VALID_FROM_dB) return GREATEST_CORRECTION_dB;
  return -10 * Math.log10(1 - 10 ** (-above_dB / 10));
}

/**
 * Background-corrected sound level.
 *
 * Two incoherent sources add on an energy basis, so the level of the source alone is
 * `10·lg(10^(L/10) − 10^(Lb/10))`. Closer than 6 dB to the background the correction is not valid (ISO 3744) and the
 * result is only an upper bound: the level less 1.3 dB. It is a sound pressure level at one stated place (ISO 7779,
 * ISO 11201), never a sound power level.
 *
 * This serves a single reading. A fan's law is fitted to all readings forward through the energy sum instead, because
 * subtracting and dropping would throw away what the quiet readings still tell.
 *
 * @param level_dBA       metered level with the source running, dB re 20 µPa, A-weighted
 * @param background_dBA  metered level with the source off, same position
 * @returns the source's own level in dBA and whether the correction is valid
 * @throws RangeError if the level is below the background
 * @example sourceLevel(35, 26) // { level_dBA: 34.42, valid: true }
 */
export function sourceLevel(level_dBA: number, background_dBA: number): CorrectedLevel {
  if (!(level_dBA >= background_dBA)) {
    throw new RangeError(
      `sourceLevel: ${level_dBA} dBA is below the background of ${background_dBA} dBA; a metered level at or above it is accepted`,
    );
  }
  const above_dB = level_dBA - background_dBA;
  return {
    level_dBA: level_dBA - backgroundCorrection(above_dB),
    valid: above_dB >= CORRECTION_VALID_FROM_dB,
  };
}
