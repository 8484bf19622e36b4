/** Correlations of heat transfer that the virtual lab is built on: streams and fins, channels, still air, spreading in a plate. */
import { air, type Fluid } from './fluids.ts';

/**
 * Conductance from a wall at one temperature to air that enters cold: `C·(1 − e^(−UA/C))`, in W per kelvin between wall and entering air.
 * Never above C (the air cannot leave hotter than the wall) and never above UA (Kays and London, Compact Heat Exchangers, 3rd ed.).
 */
export function wallToStream(UA_W_per_K: number, C_W_per_K: number): number {
  return C_W_per_K <= 0 ? 0 : -C_W_per_K * Math.expm1(-UA_W_per_K / C_W_per_K);
}

/**
 * Effectiveness of a cross-flow exchanger, neither stream mixed:
 * `1 − exp(NTU^0.22/Cr · (exp(−Cr·NTU^0.78) − 1))` (Incropera et al., 6th ed., eq. 11.32, from memory). For `Cr → 0` it tends to
 * `1 − e^(−NTU)`.
 *
 * @param NTU  UA over the smaller capacity rate
 * @param Cr  smaller over larger capacity rate, 0 to 1
 */
export function crossFlowEffectiveness(NTU: number, Cr: number): number {
  if (Cr < 1e-9) return -Math.expm1(-NTU);
  return -Math.expm1((NTU ** 0.22 / Cr) * Math.expm1(-Cr * NTU ** 0.78));
}

/**
 * Efficiency of a straight fin with a tip that loses nothing: `tanh(mL)/(mL)`, `m = √(2h/(k t))`: the heat it gives over what it
 * would give if it were all as hot as its root (Incropera et al., 6th ed., eq. 3.89).
 *
 * @param h_W_per_m2K  heat-transfer coefficient on both faces
 * @param length_m  from root to tip
 * @example finEfficiency(0, 0.02, 200, 0.0004) // 1
 */
export function finEfficiency(
  h_W_per_m2K: number,
  length_m: number,
  conductivity_W_per_mK: number,
  thickness_m: number,
): number {
  const mL = length_m * Math.sqrt((2 * h_W_per_m2K) / (conductivity_W_per_mK * thickness_m));
  return mL < 1e-6 ? 1 : Math.tanh(mL) / mL;
}

/**
 * Mean Nusselt number of a flat channel, both walls at one temperature, flow and temperature developing together.
 *
 * `7.55 + 0.024 x^−1.14 / (1 + 0.0358 Pr^0.17 x^−0.64)` with `x = L/(Dh Re Pr)`, after K. Stephan, Chem.-Ing.-Tech. 31 (1959)
 * 773, as in the VDI Heat Atlas (2nd ed., section G2, from memory). Valid for Re < 2300, 0.1 < Pr < 1000. Long channels tend to 7.55, within
 * 0.2 % of the exact 7.541 of the developed profile.
 *
 * @param reynolds  with the hydraulic diameter, twice the gap
 * @param lengthOverDiameter  L/Dh
 */
export function laminarPlates(reynolds: number, prandtl: number, lengthOverDiameter: number): number {
  const x = lengthOverDiameter / (reynolds * prandtl);
  return 7.55 + (0.024 * x ** -1.14) / (1 + 0.0358 * prandtl ** 0.17 * x ** -0.64);
}

/**
 * Mean Nusselt number of a tube at one wall temperature with the velocity developed: Hausen's
 * `3.66 + 0.0668 Gz/(1 + 0.04 Gz^(2/3))`, `Gz = Re Pr D/L` (Incropera et al., 6th ed., eq. 8.56, from memory). Re < 2300.
 */
export function laminarTube(reynolds: number, prandtl: number, lengthOverDiameter: number): number {
  const graetz = (reynolds * prandtl) / lengthOverDiameter;
  return 3.66 + (0.0668 * graetz) / (1 + 0.04 * graetz ** (2 / 3));
}

/**
 * Turbulent Nusselt number after Gnielinski, `(f/8)(Re − 1000)Pr / (1 + 12.7 √(f/8) (Pr^⅔ − 1))` with Petukhov's
 * `f = (0.790 ln Re − 1.64)^−2` and the entry factor `1 + (D/L)^⅔` (Incropera et al., 6th ed., eqs. 8.62 and 8.21; VDI Heat Atlas G1; from
 * memory). 3000 < Re < 5·10⁶, 0.5 < Pr < 2000.
 */
export function gnielinski(reynolds: number, prandtl: number, lengthOverDiameter: number): number {
  const f = (0.79 * Math.log(reynolds) - 1.64) ** -2;
  const developed =
    ((f / 8) * (reynolds - 1000) * prandtl) / (1 + 12.7 * Math.sqrt(f / 8) * (prandtl ** (2 / 3) - 1));
  return developed * (1 + lengthOverDiameter ** (-2 / 3));
}

/**
 * Between Re 2300 and 4000 the laminar value at 2300 and the turbulent one at 4000 are mixed in proportion (Gnielinski's passage,
 * VDI Heat Atlas G1, from memory).
 */
export function channelNusselt(
  laminar: (reynolds: number, prandtl: number, lengthOverDiameter: number) => number,
  reynolds: number,
  prandtl: number,
  lengthOverDiameter: number,
): number {
  if (reynolds <= 2300) return laminar(reynolds, prandtl, lengthOverDiameter);
  if (reynolds >= 4000) return gnielinski(reynolds, prandtl, lengthOverDiameter);
  const part = (reynolds - 2300) / 1700;
  return (
    (1 - part) * laminar(2300, prandtl, lengthOverDiameter) +
    part * gnielinski(4000, prandtl, lengthOverDiameter)
  );
}

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

/**
 * How much more a plate resists because the heat enters through a part of it: the mean temperature of the entry above what uniform heat
 * would give, per watt, after Lee, Song, Au and Moran, ASME/JSME Thermal Engineering Conf. (1995), from memory:
 * `½(1 − ε)^{3/2} Φ/(√π k a)`, `Φ = (tanh λτ + λ/Bi)/(1 + (λ/Bi) tanh λτ)`, `λ = π + 1/(√π ε)`, with the circles of equal area a (entry) and b (plate),
 * `ε = a/b`, `τ = t/b`, `Bi = 1/(π k b R)`.
 *
 * Within about 10 % of the exact series for plates not far from square. Valid for 0 < ε ≤ 1.
 *
 * @param beyond_K_per_W  resistance from the far face to where the heat goes
 */
export function plateSpreading(
  entry_m2: number,
  plate_m2: number,
  thickness_m: number,
  conductivity_W_per_mK: number,
  beyond_K_per_W: number,
): number {
  if (entry_m2 >= plate_m2) return 0;
  const a = Math.sqrt(entry_m2 / Math.PI);
  const b = Math.sqrt(plate_m2 / Math.PI);
  const epsilon = a / b;
  const lambda = Math.PI + 1 / (Math.sqrt(Math.PI) * epsilon);
  const tanh = Math.tanh((lambda * thickness_m) / b);
  const lambdaOverBi = lambda * Math.PI * conductivity_W_per_mK * b * beyond_K_per_W;
  const phi = (tanh + lambdaOverBi) / (1 + lambdaOverBi * tanh);
  return (0.5 * (1 - epsilon) ** 1.5 * phi) / (Math.sqrt(Math.PI) * conductivity_W_per_mK * a);
}
