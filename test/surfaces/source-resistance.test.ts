import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { sensorResistance, swapTerm, USUAL_CONDITIONS } from '../../src/surfaces/source-resistance.ts';
import { readSource } from './read-source.ts';

const read = (name: string) =>
  readSource(name, readFileSync(new URL(`../../models/sources/${name}.yaml`, import.meta.url), 'utf8'));
const [heater, oneDie, twoDies] = [read('heater'), read('one-die'), read('two-dies')];

describe('resistance of a source', () => {
  it('is a row of slabs for the heater, whose heat enters everywhere', () => {
    const area = 37.4 ** 2 * 1e-6;
    const expected = 0.005 / (390 * area) + 20e-6 / (Math.sqrt(32) * area) + 0.003 / (390 * area) + 0.1;
    expect(sensorResistance(heater)).toBeCloseTo(expected, 8);
  });
  it('is close to a half-space on a very thick lid', () => {
    const spot = { name: 'spot', x_mm: 0, y_mm: 0, width_mm: 4, depth_mm: 4, share: 1 };
    const thick = {
      ...oneDie,
      plate: { thickness_mm: 400, k_W_per_mK: 390 },
      face: { width_mm: 400, depth_mm: 400 },
      hot_spots: [spot],
      sensor: { x_mm: 0, y_mm: 0 },
    };
    const joint = 5e-6 / 16e-6;
    const even = 0.4 / (390 * 0.16) + 20e-6 / (Math.sqrt(32) * 0.16) + 0.003 / (390 * 0.16) + 0.1;
    // Handbook of Heat Transfer, 3rd ed.: centre of a square of 2 m on a half-space of 1 W/mK.
    const handbook = (0.2805 * 2000) / 4 / 390;
    const expected = handbook + joint + even;
    expect(Math.abs(sensorResistance(thick) - expected)).toBeLessThan(0.05 * handbook);
  });
  it('counts the joint where the sensor sits', () => {
    const away = { ...oneDie, sensor: { x_mm: 15, y_mm: 15 } };
    const double = { ...USUAL_CONDITIONS, joint_factor: 2 };
    expect(sensorResistance(away, double)).toBeCloseTo(sensorResistance(away), 12);
    expect(sensorResistance(oneDie, double) - sensorResistance(oneDie)).toBeCloseTo((0.8 * 5e-6) / 320e-6, 9);
  });
});

describe('swapping the source', () => {
  it('costs nothing for the same source', () => {
    const same = swapTerm(heater, heater, { thickness_mm: 3, k_W_per_mK: 390 });
    expect(same.value_K_per_W).toBe(0);
    expect(same.standard_uncertainty_K_per_W).toBe(0);
  });
  it('costs less on a thick base, and more for smaller dies', () => {
    const on = (thickness_mm: number) =>
      swapTerm(heater, oneDie, { thickness_mm, k_W_per_mK: 390 }).value_K_per_W;
    expect(on(6)).toBeLessThan(on(3));
    expect(on(3)).toBeLessThan(on(1.5));
    expect(swapTerm(heater, twoDies).value_K_per_W).toBeGreaterThan(swapTerm(heater, oneDie).value_K_per_W);
  });
  it('is wider where the base is unknown, and names what makes it wide', () => {
    const known = swapTerm(heater, oneDie, { thickness_mm: 3, k_W_per_mK: 390 });
    const unknown = swapTerm(heater, oneDie);
    expect(unknown.value_K_per_W).toBeCloseTo(known.value_K_per_W, 12);
    expect(unknown.standard_uncertainty_K_per_W).toBeGreaterThan(known.standard_uncertainty_K_per_W);
    expect(unknown.parts.map((p) => p.cause)).toContain('base');
    expect(known.parts[0]!.u_K_per_W).toBeGreaterThanOrEqual(known.parts[1]!.u_K_per_W);
    const squares = known.parts.reduce((sum, p) => sum + p.u_K_per_W ** 2, 0);
    expect(known.standard_uncertainty_K_per_W).toBeCloseTo(Math.sqrt(squares), 12);
  });
});
