import { describe, expect, it } from 'vitest';
import { averageRunLength, ewmaDeviation, limitForRunLength } from './ewma.ts';

describe('the moving average chart', () => {
  it('starts with the weight itself and settles at the square root of λ/(2 − λ)', () => {
    expect(ewmaDeviation(0.3, 1)).toBeCloseTo(0.3, 12);
    expect(ewmaDeviation(0.3, Number.POSITIVE_INFINITY)).toBeCloseTo(Math.sqrt(0.3 / 1.7), 12);
  });

  it('finds the limit of a run length back', () => {
    const limit = limitForRunLength(0.4, 370.4);
    expect(averageRunLength({ weight: 0.4, limit })).toBeCloseTo(370.4, 1);
  });

  it('refuses a weight or a limit that is none', () => {
    expect(() => averageRunLength({ weight: 0, limit: 3 })).toThrow('above 0 and up to 1');
    expect(() => averageRunLength({ weight: 0.2, limit: 0 })).toThrow('above 0 is needed');
  });
});
