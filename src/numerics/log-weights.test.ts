import { describe, expect, it } from 'vitest';
import { logSum, softmax } from './log-weights.ts';

describe('weights by their logarithms', () => {
  it('add up as their exponentials do, however large', () => {
    expect(logSum([Math.log(2), Math.log(3)])).toBeCloseTo(Math.log(5), 14);
    expect(logSum([1000 + Math.log(2), 1000 + Math.log(3)])).toBeCloseTo(1000 + Math.log(5), 11);
    expect(logSum([])).toBe(Number.NEGATIVE_INFINITY);
  });

  it('are shares of their sum, whatever constant they have in common', () => {
    const shares = softmax([Math.log(1), Math.log(3)]);
    expect(shares[0]).toBeCloseTo(0.25, 14);
    expect(shares[1]).toBeCloseTo(0.75, 14);
    expect(softmax([-2000, Math.log(3) - 2000])[1]).toBeCloseTo(0.75, 12);
  });
});
