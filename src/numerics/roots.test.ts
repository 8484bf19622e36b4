import { describe, expect, it } from 'vitest';
import { lastWhere, leastBetween, newtonRoot, rootBetween, signChanges } from './roots.ts';

/** Zeros and function calls of scipy 1.17.1, `scipy.optimize.brentq(f, low, high, xtol=1e-15)`. */
const BRENTQ: [(x: number) => number, number, number, number, number][] = [
  [(x) => x ** 3 - 2 * x - 5, 2, 3, 2.094551481542327, 8],
  [(x) => Math.cos(x) - x, 0, 1, 0.7390851332151607, 8],
  [(x) => x * Math.exp(x) - 1, 0, 1, 0.5671432904097838, 9],
  [(x) => Math.atan(50 * (x - 0.123)), -1, 3, 0.123, 13],
  [(x) => x ** 10 - 0.5, 0, 1.3, 0.9330329915368074, 14],
  [(x) => Math.log(x) + 5, 1e-6, 10, 0.006737946999085467, 19],
];

describe('a zero in a bracket', () => {
  it('is that of scipy.optimize.brentq, in about as many evaluations', () => {
    for (const [f, low, high, zero, calls] of BRENTQ) {
      for (const [from, to] of [
        [low, high],
        [high, low],
      ]) {
        let counted = 0;
        const found = rootBetween(
          (x) => {
            counted++;
            return f(x);
          },
          from,
          to,
        );
        expect(Math.abs(found / zero - 1)).toBeLessThan(1e-14);
        expect(counted).toBeLessThanOrEqual(calls + 4);
      }
    }
  });

  it('is no nearer than asked, and the nearer end where the sign does not change', () => {
    const found = rootBetween((x) => x ** 3 - 2 * x - 5, 2, 3, 1e-3);
    expect(Math.abs(found - 2.0945514815423265)).toBeLessThan(1e-3);
    expect(rootBetween((x) => x + 1, 0, 5)).toBe(0);
    expect(rootBetween((x) => x - 9, 0, 5)).toBe(5);
  });
});

describe('the other searches', () => {
  it('find the zeros of a sine on a grid, and by Newton the only one of a rising function', () => {
    const zeros = signChanges(Math.sin, 1, 11, 0.5, 1e-12);
    zeros.forEach((zero, k) => {
      expect(zero).toBeCloseTo((k + 1) * Math.PI, 10);
    });
    expect(zeros).toHaveLength(3);
    expect(newtonRoot(5, (u) => ({ off: Math.exp(u) - 2, slope: Math.exp(u) }), true)).toBeCloseTo(
      Math.LN2,
      14,
    );
  });

  it('find the end of what holds and the foot of a dip', () => {
    expect(lastWhere((x) => x * x < 2, 0, 2, 1e-9)).toBeCloseTo(Math.SQRT2, 8);
    expect(leastBetween((x) => (x - 0.3) ** 2, -1, 2, 1e-9)).toBeCloseTo(0.3, 7);
  });
});
