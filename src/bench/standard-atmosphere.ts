/** Pressure, temperature and density at an altitude of the standard atmosphere. */
export interface StandardAir {
  readonly pressure_hPa: number;
  readonly temperature_C: number;
  readonly density_kg_per_m3: number;
}

/**
 * The standard atmosphere up to 11 km: temperature falls by 6.5 K/km from 15 °C, pressure is that of the weight of the air
 * above.
 *
 * Source: ISO 2533:1975, Standard atmosphere: g = 9.80665 m/s², R = 287.05287 m²/(s²·K).
 *
 * @param altitude_m  geopotential altitude, −500 to 11000; up to 3 km geometric altitude is the same within 1.5 m
 * @throws RangeError outside
 * @example standardAtmosphere(1000).pressure_hPa // 898.75
 */
export function standardAtmosphere(altitude_m: number): StandardAir {
  if (!(altitude_m >= -500 && altitude_m <= 11000)) {
    throw new RangeError(`standardAtmosphere: altitude is ${altitude_m} m; -500 to 11000 m is accepted`);
  }
  const T = 288.15 - 0.0065 * altitude_m;
  const pressure_hPa = 1013.25 * (T / 288.15) ** (9.80665 / (287.05287 * 0.0065));
  return {
    pressure_hPa,
    temperature_C: T - 273.15,
    density_kg_per_m3: (100 * pressure_hPa) / (287.05287 * T),
  };
}
