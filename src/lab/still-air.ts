import type { Fluid } from './fluids.ts';
import { air } from './fluids.ts';

/**
 * Mean Nusselt number, by the gap, of natural convection between two upright plates at one temperature:
 * `(576/El² + 2.87/√El)^−½`, `El = Ra·S/L`, Bar-Cohen and Rohsenow, J. Heat Transfer 106 (1984) 116, as in Incropera et al., 6th ed.,
 * eq. 9.45 and table 9.3 (from memory). Narrow gaps tend to El/24 (developed flow), wide ones to 0.59·El^¼ (a plate alone).
 */
export function chimneyNusselt(elenbaas: number): number {
  return (576 / (elenbaas * elenbaas) + 2.87 / Math.sqrt(elenbaas)) ** -0.5;
}

/**
 * Conductance of a fin stack to still air and to the walls of the room, W/K: what remains when the fan stops.
 *
 * Chimney flow between the fins, the outside as an upright plate alone (`h = 1.42 (ΔT/L)^¼`, laminar air at room pressure, Holman, Heat Transfer,
 * table 7-2, from memory), and grey radiation of the outside.
 *
 * @param area_m2  wetted area of the channels
 * @param height_m  length of the channels that the air rises through
 * @param envelope_m2  outside of the stack
 */
export function stillAirConductance(
  stack_C: number,
  ambient_C: number,
  pressure_hPa: number,
  gap_m: number,
  height_m: number,
  area_m2: number,
  envelope_m2: number,
  emissivity: number,
): number {
  const hot = stack_C + 273.15;
  const cold = ambient_C + 273.15;
  const radiation = emissivity * 5.670374e-8 * (hot + cold) * (hot * hot + cold * cold) * envelope_m2;
  const rise = stack_C - ambient_C;
  if (rise <= 0) return radiation;
  const film: Fluid = air((stack_C + ambient_C) / 2, pressure_hPa);
  const nu = film.viscosity_Pas / film.density_kg_per_m3;
  const rayleigh = ((9.81 * rise) / ((hot + cold) / 2) / (nu * nu)) * gap_m ** 3 * film.prandtl;
  const h = (chimneyNusselt((rayleigh * gap_m) / height_m) * film.conductivity_W_per_mK) / gap_m;
  const outside = 1.42 * (rise / height_m) ** 0.25;
  return radiation + outside * envelope_m2 + h * area_m2;
}
