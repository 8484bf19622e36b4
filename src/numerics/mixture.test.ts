import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mixtureCdf, mixtureDeviation, mixtureMean, mixtureQuantile, reducedMixture } from './mixture.ts';

describe('mixture of normals', () => {
  it('of one part is that part', () => {
    const one = { weight: Float64Array.of(1), mean: Float64Array.of(5), deviation: Float64Array.of(2) };
    expect(mixtureQuantile(one, 0.975)).toBeCloseTo(5 + 2 * 1.959963985, 8);
    expect(mixtureMean(one)).toBe(5);
    expect(mixtureDeviation(one)).toBe(2);
  });

  it('has quantiles that its distribution function takes back', () => {
    const part = fc.record({
      weight: fc.double({ min: 0.01, max: 1, noNaN: true }),
      mean: fc.double({ min: -50, max: 50, noNaN: true }),
      deviation: fc.double({ min: 0.05, max: 20, noNaN: true }),
    });
    fc.assert(
      fc.property(
        fc.array(part, { minLength: 1, maxLength: 12 }),
        fc.double({ min: 0.001, max: 0.999, noNaN: true }),
        fc.double({ min: 1, max: 4, noNaN: true }),
        (parts, p, stretch) => {
          const total = parts.reduce((sum, { weight }) => sum + weight, 0);
          const mixture = {
            weight: Float64Array.from(parts, ({ weight }) => weight / total),
            mean: Float64Array.from(parts, ({ mean }) => mean),
            deviation: Float64Array.from(parts, ({ deviation }) => deviation),
          };
          const x = mixtureQuantile(mixture, p, stretch);
          expect(Math.abs(mixtureCdf(mixture, x, stretch) - p)).toBeLessThan(1e-6);
        },
      ),
      { numRuns: 300 },
    );
  });

  it('keeps mean, deviation and tails when reduced to a few parts', () => {
    // Two formulas that differ a little, each with eight places where something sets in.
    const parts = [0, 1].flatMap((f) =>
      Array.from({ length: 8 }, (_, k) => ({
        mean: 50 + f + (k > 4 ? 12 * (k - 4) ** 1.5 : 0),
        deviation: 2 + f,
      })),
    );
    const whole = {
      weight: new Float64Array(16).fill(1 / 16),
      mean: Float64Array.from(parts, ({ mean }) => mean),
      deviation: Float64Array.from(parts, ({ deviation }) => deviation),
    };
    const few = reducedMixture(whole, 4);
    expect(few.weight.length).toBe(4);
    expect(few.weight.reduce((a, b) => a + b)).toBeCloseTo(1, 12);
    expect(mixtureMean(few)).toBeCloseTo(mixtureMean(whole), 9);
    expect(mixtureDeviation(few)).toBeCloseTo(mixtureDeviation(whole), 9);
    for (const p of [0.005, 0.025, 0.975, 0.995]) {
      const apart = mixtureQuantile(few, p) - mixtureQuantile(whole, p);
      expect(Math.abs(apart) / mixtureDeviation(whole), `${p}`).toBeLessThan(0.05);
    }
  });
});
