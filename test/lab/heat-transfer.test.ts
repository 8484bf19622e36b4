import { describe, expect, it } from 'vitest';
import { air, water } from '../../src/lab/fluids.ts';
import {
  channelNusselt,
  chimneyNusselt,
  crossFlowEffectiveness,
  finEfficiency,
  gnielinski,
  laminarPlates,
  laminarTube,
  plateSpreading,
  stillAirConductance,
  wallToStream,
} from '../../src/lab/heat-transfer.ts';
import { addLevels } from '../../src/lab/sound.ts';
import { plateRise } from '../../src/surfaces/plate-rise.ts';

const off = (value: number, reference: number) => Math.abs(value / reference - 1);

describe('fluids', () => {
  // Incropera, DeWitt, Bergman, Lavine, Fundamentals of Heat and Mass Transfer, 6th ed., table A.4, air at 1 atm (from memory;
  // Prandtl number to one figure fewer).
  it.each([
    [300, 1.1614, 184.6e-7, 26.3e-3, 0.7],
    [350, 0.995, 208.2e-7, 30.0e-3, 0.7],
    [400, 0.8711, 230.1e-7, 33.8e-3, 0.69],
  ])('air at %d K agrees with the table within 2 %%', (T, density, viscosity, conductivity, prandtl) => {
    const fluid = air(T - 273.15, 1013.25);
    expect(off(fluid.density_kg_per_m3, density)).toBeLessThan(0.02);
    expect(off(fluid.viscosity_Pas, viscosity)).toBeLessThan(0.02);
    expect(off(fluid.conductivity_W_per_mK, conductivity)).toBeLessThan(0.02);
    expect(off(fluid.prandtl, prandtl)).toBeLessThan(0.03);
  });

  // The same, table A.6, saturated water (from memory).
  it.each([
    [300, 997, 855e-6, 613e-3, 5.83],
    [320, 989.1, 577e-6, 640e-3, 3.77],
    [340, 979.4, 420e-6, 660e-3, 2.66],
  ])('water at %d K agrees with the table within 3 %%', (T, density, viscosity, conductivity, prandtl) => {
    const fluid = water(T - 273.15, 1);
    expect(off(fluid.density_kg_per_m3, density)).toBeLessThan(0.01);
    expect(off(fluid.viscosity_Pas, viscosity)).toBeLessThan(0.03);
    expect(off(fluid.conductivity_W_per_mK, conductivity)).toBeLessThan(0.02);
    expect(off(fluid.prandtl, prandtl)).toBeLessThan(0.03);
  });
});

describe('Nusselt numbers', () => {
  // Developed limits: tube 3.66, parallel plates 7.54, both walls at one temperature (Shah and London 1978; in every textbook).
  it('tend to the developed values in long channels', () => {
    expect(laminarTube(100, 0.7, 1e5)).toBeCloseTo(3.66, 2);
    expect(off(laminarPlates(100, 0.7, 1e5), 7.541)).toBeLessThan(0.002);
  });

  // Mean Nu of the thermal entry of a tube, Kays and Crawford, Convective Heat and Mass Transfer (from memory): x⁺ = 2(x/D)/(Re Pr).
  it.each([
    [0.04, 5.81],
    [0.1, 4.64],
    [0.2, 4.15],
  ])('tube entry at x+ = %d', (x, nusselt) => {
    expect(off(laminarTube(1000, 1, (x * 1000) / 2), nusselt)).toBeLessThan(0.02);
  });

  // A very short channel is two plates with thin boundary layers: Pohlhausen's Nu_L = 0.664 √Re_L Pr^⅓.
  it('short plates behave as a plate alone', () => {
    const lengthOverDiameter = 0.01;
    const re = 1000;
    const alone = (0.664 * Math.sqrt(re * lengthOverDiameter) * 0.7 ** (1 / 3)) / lengthOverDiameter;
    expect(off(laminarPlates(re, 0.7, lengthOverDiameter), alone)).toBeLessThan(0.07);
  });

  // Dittus-Boelter 0.023 Re^0.8 Pr^0.4 (Incropera, 6th ed., eq. 8.60), itself good to 25 %.
  it.each([
    [2e4, 0.7],
    [1e5, 0.7],
    [1e5, 6],
  ])('turbulent flow at Re %d, Pr %d lies by Dittus and Boelter', (re, pr) => {
    expect(off(gnielinski(re, pr, 1e6), 0.023 * re ** 0.8 * pr ** 0.4)).toBeLessThan(0.2);
  });

  it('passes from laminar to turbulent without a jump', () => {
    for (const re of [2300, 4000]) {
      const below = channelNusselt(laminarPlates, re * (1 - 1e-9), 0.7, 20);
      const above = channelNusselt(laminarPlates, re * (1 + 1e-9), 0.7, 20);
      expect(off(below, above)).toBeLessThan(1e-6);
    }
  });
});

describe('fins', () => {
  // tanh of Incropera, 6th ed., table B.1: tanh 0.5 = 0.4621, tanh 1 = 0.7616, tanh 2 = 0.9640 (from memory).
  it.each([
    [0.5, 0.4621],
    [1, 0.7616],
    [2, 0.964],
  ])('efficiency is tanh(mL)/(mL) at mL = %d', (mL, tanh) => {
    const h = (mL * mL * 200 * 0.0004) / (2 * 0.02 * 0.02);
    expect(finEfficiency(h, 0.02, 200, 0.0004)).toBeCloseTo(tanh / mL, 4);
  });

  // Incropera, 6th ed., example 3.9 (from memory): very long rods of 5 mm in air, h = 100 W/m²K, 75 K above it: 8.3 W of copper
  // (398 W/mK), 5.6 W of aluminium (180), 1.6 W of stainless steel (14). A rod is a straight fin of half its diameter.
  it.each([
    [398, 8.3],
    [180, 5.6],
    [14, 1.6],
  ])('a long rod of %d W/mK gives %d W', (k, heat) => {
    const length = 2;
    const given = finEfficiency(100, length, k, 0.0025) * 100 * Math.PI * 0.005 * length * 75;
    expect(Math.abs(given - heat)).toBeLessThan(0.051);
  });
});

describe('effectiveness', () => {
  it('of a wall is bounded by C and by UA, and tends to each', () => {
    for (const C of [2, 10, 40])
      for (const UA of [0.1, 5, 20, 400]) {
        expect(wallToStream(UA, C)).toBeLessThanOrEqual(Math.min(UA, C));
        expect(wallToStream(UA, C)).toBeGreaterThan(0);
      }
    expect(wallToStream(1e5, 10)).toBeCloseTo(10, 9);
    // 1/G = 1/UA + 1/(2C) at small NTU.
    expect(1 / wallToStream(0.5, 50)).toBeCloseTo(1 / 0.5 + 1 / 100, 3);
  });

  // Exact series for two unmixed streams (Mason 1955; Shah and Sekulić, Fundamentals of Heat Exchanger Design, 2003, table 3.6).
  const exact = (NTU: number, Cr: number) => {
    const tail = (x: number, n: number) => {
      let term = 1;
      let sum = 1;
      for (let m = 1; m <= n; m++) {
        term *= x / m;
        sum += term;
      }
      return 1 - Math.exp(-x) * sum;
    };
    let total = 0;
    for (let n = 0; n < 60; n++) total += tail(NTU, n) * tail(Cr * NTU, n);
    return total / (Cr * NTU);
  };
  it.each([
    [0.5, 0.25],
    [1, 0.5],
    [1, 1],
    [2, 0.75],
    [3, 1],
  ])('of cross-flow at NTU %d and Cr %d lies within 2 %% of the series', (NTU, Cr) => {
    expect(off(crossFlowEffectiveness(NTU, Cr), exact(NTU, Cr))).toBeLessThan(0.02);
  });
  it('of cross-flow tends to a single stream', () => {
    expect(crossFlowEffectiveness(1.3, 1e-8)).toBeCloseTo(1 - Math.exp(-1.3), 6);
    expect(crossFlowEffectiveness(1.3, 0)).toBeCloseTo(1 - Math.exp(-1.3), 12);
  });
});

describe('still air', () => {
  // Elenbaas's limits: El/24 in narrow chimneys, 0.59 El^¼ at a plate alone (Incropera, 6th ed., section 9.7).
  it('follows the limits of the chimney', () => {
    expect(off(chimneyNusselt(0.01), 0.01 / 24)).toBeLessThan(1e-3);
    expect(off(chimneyNusselt(1e6), 0.59 * 1e6 ** 0.25)).toBeLessThan(0.005);
  });
  // Radiation of a black 1 m² at 300 K to walls at 300 K: 4σT³ = 6.12 W/m²K.
  it('of a wide stack adds a plate alone to its channels', () => {
    // 40 K, L = 0.1 m, Holman's plate: 1.42 (40/0.1)^¼ = 6.35 W/m²K; between plates far apart the chimney's limit 0.59 Ra^¼ is within 10 % of it.
    const outside = stillAirConductance(60, 20, 1013.25, 0.1, 0.1, 0, 1, 0);
    expect(outside).toBeCloseTo(6.35, 2);
    expect(off(stillAirConductance(60, 20, 1013.25, 0.1, 0.1, 1, 0, 0), 6.35)).toBeLessThan(0.1);
  });
  it('keeps radiation when nothing moves', () => {
    expect(stillAirConductance(26.85, 26.85, 1013.25, 0.002, 0.1, 1, 1, 1)).toBeCloseTo(6.12, 2);
  });
});

describe('spreading', () => {
  // Square of half-width 1 m on a half-space of 1 W/mK, Handbook of Heat Transfer, 3rd ed.: 0.2366 K/W on the mean. The plate formula
  // stands for the square by a circle of its area; its authors claim about 10 %.
  it('of a small entry on a thick plate is that of a half-space within 10 %', () => {
    expect(off(plateSpreading(4, 4e8, 1e4, 1, 0.001), 0.2366)).toBeLessThan(0.1);
  });
  // The exact series for rectangles on a plate with a film below, which the virtual lab does not use.
  it.each([
    [42, 3, 0.12],
    [60, 5, 0.12],
    [90, 9, 0.12],
  ])('on a plate of %d mm and %d mm thickness lies within 15 %% of the series', (side, thickness, beyond) => {
    const entry = { x_mm: side / 2, y_mm: side / 2, width_mm: 28, depth_mm: 28 };
    const series = plateRise(
      {
        width_mm: side,
        depth_mm: side,
        layers: [{ thickness_mm: thickness, k_W_per_mK: 390 }],
        sink: { kind: 'film', h_W_per_m2K: 1e6 / (beyond * side * side) },
      },
      [{ ...entry, power_W: 1 }],
      entry,
    ).spreading_K;
    const formula = plateSpreading(28 * 28e-6, side * side * 1e-6, thickness * 1e-3, 390, beyond);
    expect(off(formula, series)).toBeLessThan(0.15);
  });
  it('vanishes when the entry covers the plate', () => {
    expect(plateSpreading(1e-3, 1e-3, 0.003, 390, 0.1)).toBe(0);
  });
});

describe('sound', () => {
  // Two equal sources: 10 lg 2 = 3.01 dB more.
  it('adds energy', () => {
    expect(addLevels(30, 30)).toBeCloseTo(33.01, 2);
    expect(addLevels(26, -Number.POSITIVE_INFINITY)).toBe(26);
  });
});
