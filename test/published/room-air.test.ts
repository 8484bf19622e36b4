import { describe, expect, it } from 'vitest';
import { airDensity } from '../../src/bench/air-density.ts';
import { standardAtmosphere } from '../../src/bench/standard-atmosphere.ts';

describe('air of the room', () => {
  // ISO 2533:1975, table of temperature, pressure and density against geopotential altitude. From memory.
  it.each([
    [0, 15, 1013.25, 1.225],
    [500, 11.75, 954.61, 1.1673],
    [1000, 8.5, 898.75, 1.1116],
    [2000, 2, 794.95, 1.0065],
    [3000, -4.5, 701.08, 0.90912],
  ])('standard atmosphere at %s m', (altitude, temperature, pressure, density) => {
    const air = standardAtmosphere(altitude);
    expect(air.temperature_C).toBeCloseTo(temperature, 6);
    expect(Math.abs(air.pressure_hPa - pressure)).toBeLessThan(0.011);
    expect(Math.abs(air.density_kg_per_m3 / density - 1)).toBeLessThan(6e-5);
    // The density formula of metrology on the standard's dry air.
    expect(Math.abs(airDensity(air.temperature_C, air.pressure_hPa, 0) / density - 1)).toBeLessThan(1e-3);
  });

  /**
   * The full CIPM-2007 equation with its coefficients (Picard et al. 2008, Metrologia 45, 149, appendix A; from memory), for
   * air with 400 µmol/mol of carbon dioxide.
   */
  function cipm2007(t: number, p_Pa: number, h: number): number {
    const T = 273.15 + t;
    const saturation = Math.exp(1.2378847e-5 * T * T - 1.9121316e-2 * T + 33.93711047 - 6.3431645e3 / T);
    const enhancement = 1.00062 + 3.14e-8 * p_Pa + 5.6e-7 * t * t;
    const x = (h * enhancement * saturation) / p_Pa;
    const z =
      1 -
      (p_Pa / T) *
        (1.58123e-6 -
          2.9331e-8 * t +
          1.1043e-10 * t * t +
          (5.707e-6 - 2.051e-8 * t) * x +
          (1.9898e-4 - 2.376e-6 * t) * x * x) +
      (p_Pa / T) ** 2 * (1.83e-11 - 0.765e-8 * x * x);
    return ((3.48374e-3 * p_Pa) / (z * T)) * (1 - 0.378 * x);
  }

  it.each([
    [20, 1013.25, 50, 2e-4],
    [15, 950, 30, 2e-4],
    [25, 1050, 70, 2e-4],
    [22, 795, 50, 5e-4],
    [35, 1013.25, 40, 1e-3],
    [22, 701, 40, 1e-3],
  ])('density at %s °C, %s hPa, %s %% agrees with the full CIPM-2007 equation', (t, p, h, tolerance) => {
    expect(Math.abs(airDensity(t, p, h) / cipm2007(t, 100 * p, h / 100) - 1)).toBeLessThan(tolerance);
  });
});
