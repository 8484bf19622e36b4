import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mixtureCdf, mixtureDeviation, mixtureMean, mixtureQuantile } from './mixture.ts';

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
});
