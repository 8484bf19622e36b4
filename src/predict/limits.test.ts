import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clockSlope, clockWorth } from '../compare/clock.ts';
import { limitLoad } from './limit-load.ts';

describe('load at the limit', () => {
  const straight = (p: number) => ({ rise_K: 0.3 * p, low_K: 0.29 * p, high_K: 0.31 * p });
  it('is the example', () => {
    const found = limitLoad({ rise: straight, limit_C: 90, ambient_C: 24, from_W: 10, to_W: 400 });
    expect(found.value).toBeCloseTo(220, 6);
    expect(found.low).toBeCloseTo(66 / 0.31, 6);
    expect(found.high).toBeCloseTo(66 / 0.29, 6);
    expect(found.beyond).toEqual({});
  });
  it('says beyond rather than the end of the range', () => {
    const found = limitLoad({ rise: straight, limit_C: 90, ambient_C: 24, from_W: 10, to_W: 215 });
    expect(found).toMatchObject({ value: null, high: null, beyond: { value: 'above', high: 'above' } });
    expect(found.low).toBeCloseTo(66 / 0.31, 6);
    const late = limitLoad({ rise: straight, limit_C: 90, ambient_C: 24, from_W: 300, to_W: 400 });
    expect(late).toMatchObject({
      value: null,
      low: null,
      beyond: { value: 'below', low: 'below', high: 'below' },
    });
  });
  it('widens with the room', () => {
    const found = limitLoad({
      rise: straight,
      limit_C: 90,
      ambient_C: 24,
      ambient_tolerance_K: 1,
      from_W: 0,
      to_W: 400,
    });
    expect(found.low).toBeCloseTo(65 / 0.31, 6);
    expect(found.high).toBeCloseTo(67 / 0.29, 6);
    expect(found.value).toBeCloseTo(220, 6);
  });
  it('inverts any rising curve', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.1, max: 0.4, noNaN: true }),
        fc.double({ min: 0, max: 1e-3, noNaN: true }),
        (r, c) => {
          const curve = (p: number) => r * p + c * p * p;
          const rise = (p: number) => ({ rise_K: curve(p), low_K: 0.9 * curve(p), high_K: 1.1 * curve(p) });
          const { value, low, high } = limitLoad({ rise, limit_C: 90, ambient_C: 22, from_W: 0, to_W: 1000 });
          expect(curve(value!)).toBeCloseTo(68, 5);
          expect(low!).toBeLessThan(value!);
          expect(high!).toBeGreaterThan(value!);
        },
      ),
    );
  });
  it('refuses a hot room and an empty range', () => {
    expect(() => limitLoad({ rise: straight, limit_C: 40, ambient_C: 40, from_W: 0, to_W: 9 })).toThrow(
      /not below/,
    );
    expect(() => limitLoad({ rise: straight, limit_C: 90, ambient_C: 22, from_W: 9, to_W: 9 })).toThrow(
      /from < to/,
    );
  });
});

describe('clock', () => {
  it('is the published calibration line', () => {
    // JCGM 100:2008, H.3: correction of a thermometer against temperature (about 20 °C): slope 0.002 18 with 0.000 67
    const t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511];
    const b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16];
    const line = clockSlope(t.map((source_C, i) => ({ source_C, clock_MHz: b[i]! })));
    expect(line.MHz_per_K).toBeCloseTo(0.00218, 5);
    expect(line.standard_error).toBeCloseTo(0.00067, 5);
    expect(line.mean_MHz + line.MHz_per_K * (30 - line.mean_C)).toBeCloseTo(-0.1494, 4);
    expect(line.degrees_of_freedom).toBe(9);
    // t of 9 degrees of freedom at 95 %: 2.262 (printed tables)
    expect((line.high - line.low) / 2 / line.standard_error).toBeCloseTo(2.262, 3);
  });
  const line = clockSlope(
    [55, 60, 65, 70, 75, 80].map((source_C, i) => ({
      source_C,
      clock_MHz: 5000 - 5 * source_C + [2, -3, 1, 1, -3, 2][i]!,
    })),
  );
  it('gives a cooler’s advantage its worth and its error', () => {
    const worth = clockWorth(line, { advantage_K: 6, u_K: 0.6 });
    expect(worth.MHz).toBeCloseTo(-6 * line.MHz_per_K, 10);
    expect(worth.MHz).toBeCloseTo(30, 0);
    expect(worth.within_error).toBe(false);
    expect(worth.below_step).toBe(false);
    expect(worth.standard_error ** 2).toBeCloseTo(
      (line.MHz_per_K * 0.6) ** 2 + (36 + 0.36) * line.standard_error ** 2,
      8,
    );
  });
  it('says when it is within error or below a step', () => {
    expect(clockWorth(line, { advantage_K: 1, u_K: 0.8 })).toMatchObject({ within_error: true });
    expect(clockWorth(line, { advantage_K: 1, u_K: 0.8 }).sentence).toMatch(/within error/);
    expect(clockWorth(line, { advantage_K: 3, u_K: 0.2 })).toMatchObject({
      within_error: false,
      below_step: true,
    });
    expect(clockWorth(line, { advantage_K: 0, u_K: 0 }).within_error).toBe(true);
  });
  it('is the example', () => {
    const three = [
      { source_C: 60, clock_MHz: 5000 },
      { source_C: 70, clock_MHz: 4940 },
      { source_C: 80, clock_MHz: 4900 },
    ];
    expect(clockSlope(three).MHz_per_K).toBeCloseTo(-5, 12);
    expect(clockWorth(clockSlope(three), { advantage_K: 3, u_K: 0.5 }).MHz).toBeCloseTo(15, 10);
  });
  it('refuses too few pairs and one temperature', () => {
    expect(() => clockSlope([{ source_C: 1, clock_MHz: 1 }])).toThrow(/three or more/);
    expect(() => clockSlope([1, 2, 3].map((clock_MHz) => ({ source_C: 60, clock_MHz })))).toThrow(
      /two temperatures/,
    );
  });
});
