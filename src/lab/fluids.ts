/** Properties of the two fluids at the film temperature. */
export interface Fluid {
  density_kg_per_m3: number;
  heat_J_per_kgK: number;
  conductivity_W_per_mK: number;
  viscosity_Pas: number;
  prandtl: number;
}

/**
 * Dry air as an ideal gas.
 *
 * Viscosity after Sutherland (1.458e-6 T^1.5/(T + 110.4), US Standard Atmosphere 1976); conductivity as a power of T through
 * 0.0263 W/mK at 300 K; heat capacity 1007 J/kgK. From memory; agrees with Incropera et al., Fundamentals of Heat and Mass
 * Transfer, 6th ed., table A.4 within 1 % from 250 to 400 K.
 *
 * @param temperature_C  −20 to 130
 * @param pressure_hPa  500 to 1100
 * @example air(26.85, 1013.25).density_kg_per_m3 // 1.177
 */
export function air(temperature_C: number, pressure_hPa: number): Fluid {
  const T = temperature_C + 273.15;
  const viscosity = (1.458e-6 * T * Math.sqrt(T)) / (T + 110.4);
  const conductivity = 0.0263 * (T / 300) ** 0.85;
  return {
    density_kg_per_m3: (pressure_hPa * 100) / (287.05 * T),
    heat_J_per_kgK: 1007,
    conductivity_W_per_mK: conductivity,
    viscosity_Pas: viscosity,
    prandtl: (viscosity * 1007) / conductivity,
  };
}

/**
 * Liquid water, thicker by a factor where additives make it so.
 *
 * Viscosity 2.414e-5·10^(247.8/(T − 140)) Pa s (a common fit, within 2.5 % from 0 to 370 °C); conductivity by the quadratic of
 * Ramires et al., J. Phys. Chem. Ref. Data 24 (1995) 1377. Both from memory.
 *
 * @param temperature_C  5 to 95
 * @param viscosityRatio  viscosity over plain water's
 * @example water(20, 1).viscosity_Pas // 1.002e-3
 */
export function water(temperature_C: number, viscosityRatio: number): Fluid {
  const T = temperature_C + 273.15;
  const viscosity = viscosityRatio * 2.414e-5 * 10 ** (247.8 / (T - 140));
  const t = T / 298.15;
  const conductivity = 0.6065 * (-1.48445 + 4.12292 * t - 1.63866 * t * t);
  return {
    density_kg_per_m3: 1001 - 0.004 * temperature_C * temperature_C,
    heat_J_per_kgK: 4180,
    conductivity_W_per_mK: conductivity,
    viscosity_Pas: viscosity,
    prandtl: (viscosity * 4180) / conductivity,
  };
}
