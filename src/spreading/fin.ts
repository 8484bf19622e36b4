/**
 * Efficiency of a straight fin: what it gives off over what it would give off were all of it as hot as its root.
 *
 * Along a thin fin the excess temperature falls as cosh(m(L − x))/cosh(mL), m² = hP/(kA) = 2h/(k·thickness), which
 * gives tanh(mL)/(mL). Adding more than about mL = 2 of length buys nearly nothing. Tip insulated; for a bare tip
 * lengthen L by half the thickness.
 *
 * Source: any heat-transfer textbook, e.g. Incropera and DeWitt, extended surfaces.
 *
 * @param length_mm    root to tip
 * @param thickness_mm of the fin; valid while h·thickness/(2k) is well below 0.1
 * @throws RangeError unless all four are above zero
 * @example finEfficiency(30, 0.4, 200, 40) // mL = 0.9487, 0.7792
 */
import { requirePositive } from './rectangle.ts';

export function finEfficiency(
  length_mm: number,
  thickness_mm: number,
  k_W_per_mK: number,
  h_W_per_m2K: number,
): number {
  requirePositive('length_mm', length_mm);
  requirePositive('thickness_mm', thickness_mm);
  requirePositive('k_W_per_mK', k_W_per_mK);
  requirePositive('h_W_per_m2K', h_W_per_m2K);
  const mL = (length_mm / 1000) * Math.sqrt((2 * h_W_per_m2K) / (k_W_per_mK * (thickness_mm / 1000)));
  return Math.tanh(mL) / mL;
}
