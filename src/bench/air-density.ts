/** Pressure where none is stated: that of the standard atmosphere at sea level, hPa. */
export const SEA_LEVEL_hPa = 1013.25;

/**
 * Relative humidity where none is stated, %: of air that holds as much vapour as 50 % does at 20 °C. Warming a room does not
 * wet it. From 20 % to 80 % density changes by 0.5 % at 20 °C.
 */
function usualHumidity(temperature_C: number): number {
  return Math.min(100, 50 * Math.exp(0.061 * (20 - temperature_C)));
}

/**
 * Density of moist air.
 *
 * Source: the simplified form of the CIPM-2007 equation, ρ = (0.34848·p − 0.009·h·exp(0.061·t))/(273.15 + t) with p in hPa,
 * h in % and t in °C (OIML R 111-1:2004, annex E; Picard et al. 2008, Metrologia 45, 149). Cited from memory. Within 0.02 %
 * of the full equation from 900 to 1100 hPa and 10 to 30 °C, within 0.1 % from 650 hPa and −10 to 45 °C.
 *
 * @param humidity_percent  relative, 0 to 100
 * @returns kg/m³
 * @throws RangeError for a pressure or temperature that no room has
 * @example airDensity(20, 1013.25, 50) // 1.199
 */
export function airDensity(
  temperature_C: number,
  pressure_hPa = SEA_LEVEL_hPa,
  humidity_percent = usualHumidity(temperature_C),
): number {
  if (!(pressure_hPa >= 300 && pressure_hPa <= 1200)) {
    throw new RangeError(`airDensity: pressure is ${pressure_hPa} hPa; 300 to 1200 hPa is accepted`);
  }
  if (!(temperature_C >= -60 && temperature_C <= 80)) {
    throw new RangeError(`airDensity: temperature is ${temperature_C} °C; -60 to 80 °C is accepted`);
  }
  const vapour = 0.009 * humidity_percent * Math.exp(0.061 * temperature_C);
  return (0.34848 * pressure_hPa - vapour) / (273.15 + temperature_C);
}
