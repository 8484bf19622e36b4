import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { energyShare, energySum, meteredLevel } from './energy-sum.ts';
import { loudnessRatio } from './loudness.ts';

const level = fc.double({ min: -20, max: 120, noNaN: true });

describe('energySum', () => {
  it('gives the example of its comment', () => {
    expect(energySum([35, 35])).toBeCloseTo(38.0103, 4);
  });
  it('does not depend on the order and is never below the greatest level', () => {
    fc.assert(
      fc.property(fc.array(level, { minLength: 1, maxLength: 8 }), (levels) => {
        const sum = energySum(levels);
        expect(sum).toBeGreaterThanOrEqual(Math.max(...levels) - 1e-12);
        expect(sum).toBeLessThanOrEqual(Math.max(...levels) + 10 * Math.log10(levels.length) + 1e-12);
        expect(energySum([...levels].reverse())).toBeCloseTo(sum, 9);
      }),
    );
  });
  it('stays finite far outside the range of powers of ten, and takes silence', () => {
    expect(energySum([4000, 4000])).toBeCloseTo(4003.0103, 4);
    expect(energySum([-Infinity, 30])).toBe(30);
    expect(energySum([-Infinity])).toBe(-Infinity);
  });
  it('refuses nothing at all and what is not a number', () => {
    expect(() => energySum([])).toThrow(RangeError);
    expect(() => energySum([30, Number.NaN])).toThrow(RangeError);
  });
});

describe('energyShare', () => {
  it('is the slope of the metered level by the own level', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 60, noNaN: true }), (own) => {
        const slope = (meteredLevel(own + 1e-4, 26) - meteredLevel(own - 1e-4, 26)) / 2e-4;
        expect(energyShare(own, 26)).toBeCloseTo(slope, 5);
      }),
    );
  });
  it('is 1 without a background', () => {
    expect(energyShare(10, undefined)).toBe(1);
    expect(meteredLevel(10, undefined)).toBe(10);
  });
});

describe('loudness', () => {
  it('doubles every 10 dB', () => {
    expect(loudnessRatio(45, 35)).toBe(2);
    expect(loudnessRatio(35, 55)).toBe(0.25);
  });
});
