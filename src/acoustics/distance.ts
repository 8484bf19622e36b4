/**
 * Sound level at another distance in a free field.
 *
 * Away from reflecting surfaces, and far enough that the source looks small, the pressure falls as 1/r, so the level
 * falls by `20·lg(r2/r1)`: 6.0 dB for each doubling. In a room the far level is higher than this says, and closer
 * than about the greatest dimension of the cooler the law does not hold. It moves the cooler's own level; the
 * background does not depend on the distance, so take it out first and add it again after.
 *
 * @param level_dBA  the source's own level at `from_mm`, dBA
 * @param from_mm    distance at which it holds, mm, positive
 * @param to_mm      distance wanted, mm, positive
 * @returns the source's own level at `to_mm`, dBA
 * @throws RangeError if a distance is not positive
 * @example levelAtDistance(40, 500, 1000) // 33.98
 */
export function levelAtDistance(level_dBA: number, from_mm: number, to_mm: number): number {
  if (!(from_mm > 0) || !(to_mm > 0) || !Number.isFinite(from_mm) || !Number.isFinite(to_mm)) {
    throw new RangeError(
      `levelAtDistance: from ${from_mm} mm to ${to_mm} mm; two positive distances in mm are accepted`,
    );
  }
  return level_dBA - 20 * Math.log10(to_mm / from_mm);
}
