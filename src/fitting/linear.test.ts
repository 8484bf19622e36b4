import { describe, expect, it } from 'vitest';
import { linearRegression } from './linear.ts';

describe('linearRegression', () => {
  it('fits the example of the comment', () => {
    const fit = linearRegression({
      columns: [
        [1, 1, 1],
        [0, 1, 2],
      ],
      y: [1, 3, 5],
    });
    expect([...fit.coefficients]).toEqual([expect.closeTo(1, 12), expect.closeTo(2, 12)]);
  });

  it('agrees with the normal equations of a weighted line', () => {
    const x = [1, 2, 3, 4, 5];
    const y = [1.1, 1.9, 3.2, 3.8, 5.1];
    const weights = [1, 2, 1, 0.5, 4];
    const fit = linearRegression({ columns: [x.map(() => 1), x], y, weights });
    const sum = (f: (i: number) => number) => x.reduce((s, _, i) => s + weights[i] * f(i), 0);
    const [s, sx, sxx] = [sum(() => 1), sum((i) => x[i]), sum((i) => x[i] ** 2)];
    const [sy, sxy] = [sum((i) => y[i]), sum((i) => x[i] * y[i])];
    const det = s * sxx - sx * sx;
    const slope = (s * sxy - sx * sy) / det;
    const intercept = (sxx * sy - sx * sxy) / det;
    expect(fit.coefficients[1]).toBeCloseTo(slope, 12);
    const variance = sum((i) => (y[i] - intercept - slope * x[i]) ** 2) / 3;
    expect(fit.standardErrors[1]).toBeCloseTo(Math.sqrt((variance * s) / det), 12);
    expect(fit.at([1, 0]).standardError).toBeCloseTo(fit.standardErrors[0], 12);
  });

  it('names columns it cannot tell apart, and bad rows', () => {
    const fit = linearRegression({
      columns: [
        [1, 1, 1],
        [2, 2, 2],
      ],
      names: ['intercept', 'slope'],
      y: [1, 2, 3],
    });
    expect(fit.determined).toBe(false);
    expect(fit.reason).toMatch(/intercept and slope cannot be told apart/);
    expect(() => linearRegression({ columns: [[1, 2]], y: [1, 2, 3] })).toThrow(/column c1 has 2 rows/);
    expect(() => linearRegression({ columns: [[1, Number.NaN]], y: [1, 2] })).toThrow(
      /column c1, row 2: NaN/,
    );
    expect(() => linearRegression({ columns: [[1, 2]], y: [1, 2], weights: [1, -1] })).toThrow(/below zero/);
  });
});
