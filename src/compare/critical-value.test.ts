import { describe, expect, it } from 'vitest';
import { studentTQuantile } from '../numerics/distributions.ts';
import { pairwiseCritical } from './critical-value.ts';

describe('critical multiple for all pairs', () => {
  it('is Student t for two coolers', () => {
    const critical = pairwiseCritical(2, 0.95);
    for (const freedom of [6, 10, 30]) {
      expect(critical(freedom)).toBeCloseTo(studentTQuantile(0.975, freedom), 2);
    }
    expect(critical(Number.POSITIVE_INFINITY)).toBeCloseTo(1.96, 2);
  });

  it('is the tabled studentized range over √2', () => {
    // Upper 5 % points of the studentized range (Harter 1960; from memory): q(5, 20) = 4.23, q(10, 60) = 4.65.
    expect(pairwiseCritical(5, 0.95)(20) * Math.SQRT2).toBeCloseTo(4.23, 2);
    expect(pairwiseCritical(10, 0.95)(60) * Math.SQRT2).toBeCloseTo(4.65, 2);
  });
});
