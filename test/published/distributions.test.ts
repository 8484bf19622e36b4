import { describe, expect, it } from 'vitest';
import {
  chiSquaredQuantile,
  normalCdf,
  normalQuantile,
  studentTCdf,
  studentTQuantile,
} from '../../src/numerics/distributions.ts';
import { studentizedRange } from '../../src/numerics/studentized-range.ts';
import reference from '../fixtures/distributions.json' with { type: 'json' };

describe('quantiles against printed tables', () => {
  // JCGM 100:2008 (GUM), table G.2: t for a coverage of 95 % and of 99 %, to the two decimals printed.
  it.each([
    [1, 12.71, 63.66],
    [2, 4.3, 9.92],
    [5, 2.57, 4.03],
    [10, 2.23, 3.17],
    [20, 2.09, 2.85],
    [50, 2.01, 2.68],
    [100, 1.984, 2.626],
    [Number.POSITIVE_INFINITY, 1.96, 2.576],
  ])('Student t with %d degrees of freedom', (v, t95, t99) => {
    expect(studentTQuantile(0.975, v)).toBeCloseTo(t95, 2);
    expect(studentTQuantile(0.995, v)).toBeCloseTo(t99, 2);
    expect(studentTCdf(t95, v)).toBeCloseTo(0.975, 3);
  });

  // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, upper 5 % and 1 % points of chi-square.
  it.each([
    [1, 3.841, 6.635],
    [5, 11.07, 15.086],
    [10, 18.307, 23.209],
    [30, 43.773, 50.892],
  ])('chi-square with %d degrees of freedom', (v, q95, q99) => {
    expect(chiSquaredQuantile(0.95, v)).toBeCloseTo(q95, 2);
    expect(chiSquaredQuantile(0.99, v)).toBeCloseTo(q99, 2);
  });

  // Studentized range, upper 5 % points as in the usual textbook table (Harter 1960; figures from memory).
  it.each([
    [3, 10, 3.88],
    [5, 20, 4.23],
    [10, 60, 4.65],
    [6, 120, 4.1],
  ])('studentized range of %d means with %d degrees of freedom', (k, v, q) => {
    expect(studentizedRange(k)(0.95, v)).toBeCloseTo(q, 2);
  });

  // scipy 1.17.1, which integrates where the older algorithm AS 190 approximates: scripts/distributions.py.
  it.each(reference.studentizedRange)(
    'studentized range of %d means with %d degrees of freedom as scipy',
    (k, v, q) => {
      expect(studentizedRange(k)(0.95, v)).toBeCloseTo(q, 4);
    },
  );

  // mpmath 1.3.0 in 40 digits: scripts/distributions.py.
  it('normal area agrees with forty digits from end to end', () => {
    for (const [z, area] of reference.normalArea) {
      expect(Math.abs(normalCdf(z) - area)).toBeLessThan(2e-15);
      if (z < 0) expect(Math.abs(normalCdf(z) / area - 1)).toBeLessThan(1e-6);
    }
  });

  it('normal quantile to the digits of the table', () => {
    expect(normalQuantile(0.975)).toBeCloseTo(1.959964, 6);
  });
});
