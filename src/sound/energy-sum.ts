/** From this much above the background a metered level tells the source's own well enough, dB (ISO 3744). */
export const CORRECTION_VALID_FROM_dB = 6;

/**
 * Level of several incoherent sources heard together.
 *
 * Sources that are not locked in phase add their mean-square pressures, not their decibels:
 * `L = 10·lg(Σ 10^(Li/10))`. Two equal levels give 3.0 dB more than one; a level 10 dB below another adds 0.4 dB.
 *
 * @param levels_dBA  levels of the single sources at one place, dB re 20 µPa (one or more; −∞ is silence)
 * @returns the level of all together in dBA
 * @throws RangeError if there is no level or one is not a number
 * @example energySum([35, 35]) // 38.01
 */
export function energySum(levels_dBA: readonly number[]): number {
  if (levels_dBA.length === 0) throw new RangeError('energySum: no level given; at least one is needed');
  let greatest = -Infinity;
  for (const level of levels_dBA) {
    if (Number.isNaN(level) || level === Infinity) {
      throw new RangeError(`energySum: a level is ${level}; levels in dB are accepted`);
    }
    if (level > greatest) greatest = level;
  }
  if (greatest === -Infinity) return -Infinity;
  let energy = 0;
  for (const level of levels_dBA) energy += 10 ** ((level - greatest) / 10);
  return greatest + 10 * Math.log10(energy);
}

/**
 * The share of the energy that one source has in its sum with the background: 1 far above it, ½ at equal levels, 0
 * far below. It is also the slope of the metered level by the source's own level, and so says how much a reading near
 * the background can tell.
 *
 * @param own_dBA         level of the source alone, dBA
 * @param background_dBA  level with the source off, dBA; −∞ or undefined: none
 * @example energyShare(30, 30) // 0.5
 */
export function energyShare(own_dBA: number, background_dBA: number | undefined): number {
  if (background_dBA === undefined) return 1;
  return 1 / (1 + 10 ** ((background_dBA - own_dBA) / 10));
}

/**
 * What the meter reads for a source of a given own level: the energy sum with the background, where one is known.
 *
 * @example meteredLevel(30, 30) // 33.01
 */
export function meteredLevel(own_dBA: number, background_dBA: number | undefined): number {
  if (background_dBA === undefined) return own_dBA;
  const above_dB = own_dBA - background_dBA;
  return above_dB > 0
    ? own_dBA + 10 * Math.log10(1 + 10 ** (-above_dB / 10))
    : background_dBA + 10 * Math.log10(1 + 10 ** (above_dB / 10));
}
