/**
 * Paste between two surfaces: how thick its thinnest film is, and what a map of gaps filled with it resists.
 *
 * Where surfaces touch, the paste's own grains keep them apart by a film; elsewhere the gap adds to it. Two readings
 * bracket the resistance of an uneven gap. If the heat goes through evenly, each place heats up by its own gap and the
 * mean gap counts. If both faces are evenly warm, the heat prefers the narrow places and the mean *conductance* counts,
 * which is always less resistance. Metal on both sides puts the truth between; see {@link coupledFilm}.
 */

import type { GapMap } from './gap-map.ts';
import { requirePositive } from './rectangle.ts';

/** Common practice, no source: what pastes conduct, W/mK. */
export const PASTE_LOW_W_PER_MK = 4;
export const PASTE_HIGH_W_PER_MK = 8;

/** Film where the surfaces touch when nothing is known about the pressure, µm. Common practice, no source: 10 to 30. */
export const USUAL_FILM_UM = 20;

/**
 * Thickness of paste squeezed between flat faces, 131 µm·(yield stress/pressure)^0.166.
 *
 * Grains of the filler jam before the film is gone, so that doubling the pressure thins it by 11 % only. Valid for
 * greases at about 50 to 1000 kPa.
 *
 * Source: Prasher, Proc. IEEE 94 (2006) 1571, scaling law of the bond line; page and constants from memory.
 *
 * @example filmThickness_um(300, 100) // 34.7
 */
export function filmThickness_um(pressure_kPa: number, yield_Pa: number): number {
  requirePositive('pressure_kPa', pressure_kPa);
  requirePositive('yield_Pa', yield_Pa);
  return 131 * (yield_Pa / (1000 * pressure_kPa)) ** 0.166;
}

/**
 * Share of a gap that pressure closes by denting thick bodies, 0 … 1: p/(π·E*·Δ/λ).
 *
 * A wave of amplitude Δ and length λ on an elastic half-space is flat under π·E*·Δ/λ (Johnson, Contact Mechanics, 1985,
 * ch. 13; from memory) and closes about in proportion before. For 45 µm over a base of 40 mm that is about 130 MPa,
 * hundreds of times what springs give: bases do not dent. A thin base bends more than that; the stiff gap is then
 * only a bound.
 *
 * @param mean_gap_um  mean gap of the stiff surfaces, taken for the amplitude
 * @param extent_mm    shorter side of the contact, half a wave
 * @param modulus_GPa  E* of the pair, 1/((1−ν²)/E + (1−ν²)/E); copper on copper about 74
 */
export function closedShare(
  mean_gap_um: number,
  extent_mm: number,
  pressure_kPa: number,
  modulus_GPa = 74,
): number {
  if (mean_gap_um <= 0) return 0;
  const flat_kPa = (Math.PI * modulus_GPa * 1e6 * mean_gap_um * 1e-3) / (2 * extent_mm);
  return Math.min(1, pressure_kPa / flat_kPa);
}

export interface PasteResistance {
  /** Heat through evenly: the mean gap counts, K/W. */
  even_flux_K_per_W: number;
  /** Both faces evenly warm: the mean conductance counts, K/W. */
  even_faces_K_per_W: number;
  /** Film alone, as between flat surfaces, K/W. */
  flat_K_per_W: number;
}

/**
 * @param film_um  film where the surfaces touch, added to every cell's gap; above 0
 * 14 cm² with 45 µm of mean gap in 4 W/mK: even_flux − flat = 8.04 mK/W, 1.6 K at 200 W.
 */
export function pasteResistance(map: GapMap, paste_W_per_mK: number, film_um: number): PasteResistance {
  requirePositive('paste_W_per_mK', paste_W_per_mK);
  requirePositive('film_um', film_um);
  const area = map.width_mm * map.depth_mm * 1e-6;
  const cell = area / map.gap_um.length;
  let gap = 0;
  let conductance = 0;
  for (const g of map.gap_um) {
    const thickness = (g + film_um) * 1e-6;
    gap += thickness / map.gap_um.length;
    conductance += (cell * paste_W_per_mK) / thickness;
  }
  return {
    even_flux_K_per_W: gap / (paste_W_per_mK * area),
    even_faces_K_per_W: 1 / conductance,
    flat_K_per_W: (film_um * 1e-6) / (paste_W_per_mK * area),
  };
}
