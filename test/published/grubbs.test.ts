import { describe, expect, it } from 'vitest';
import { deletedP, standing, verdictOf } from '../../src/screen/verdict-of.ts';

/** Deleted t of the value that lies furthest from the mean of all, and its place. */
function furthest(values: readonly number[]): { t: number; g: number; index: number } {
  const n = values.length;
  const mean = values.reduce((a, b) => a + b, 0) / n;
  const sd = Math.sqrt(values.reduce((a, v) => a + (v - mean) ** 2, 0) / (n - 1));
  const index = values.reduce((k, v, i) => (Math.abs(v - mean) > Math.abs(values[k] - mean) ? i : k), 0);
  const rest = values.filter((_, i) => i !== index);
  const restMean = rest.reduce((a, b) => a + b, 0) / (n - 1);
  const restSd = Math.sqrt(rest.reduce((a, v) => a + (v - restMean) ** 2, 0) / (n - 2));
  return {
    t: (values[index] - restMean) / (restSd * Math.sqrt(1 + 1 / (n - 1))),
    g: Math.abs(values[index] - mean) / sd,
    index,
  };
}

/** Deleted t that belongs to Grubbs' statistic of n values. */
const deletedFrom = (g: number, n: number): number =>
  g * Math.sqrt((n * (n - 2)) / ((n - 1) ** 2 - n * g * g));

describe("Grubbs' test as a deleted residual", () => {
  // Critical values for one outlying observation, 5 % and 1 %: ISO 5725-2:1994, table 5 (cited from memory).
  const table: [n: number, five: number, one: number][] = [
    [4, 1.481, 1.496],
    [5, 1.715, 1.764],
    [6, 1.887, 1.973],
    [8, 2.126, 2.274],
    [10, 2.29, 2.482],
    [15, 2.549, 2.806],
    [20, 2.709, 3.001],
    [30, 2.908, 3.236],
  ];
  it.each(table)('of %i values has the tabled critical values', (n, five, one) => {
    // Computed before computers were common, the table is right to one unit of its last digit.
    for (const [critical, level] of [
      [five, 0.05],
      [one, 0.01],
    ]) {
      const p = (g: number) => n * deletedP(deletedFrom(g, n), n - 2);
      expect(p(critical + 0.001)).toBeLessThan(level);
      expect(p(critical - 0.001)).toBeGreaterThan(level);
    }
  });

  it('finds the outlier of the worked example', () => {
    // Isotope ratios, Tietjen and Moore (1972), worked in the NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1:
    // G = 2.4687, and 2.032 is the upper one-tailed 5 % point for eight values.
    const values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];
    const { t, g, index } = furthest(values);
    expect(index).toBe(7);
    expect(g).toBeCloseTo(2.4687, 3);
    expect(deletedFrom(g, 8)).toBeCloseTo(t, 9);
    expect((8 * deletedP(deletedFrom(2.032, 8), 6)) / 2).toBeCloseTo(0.05, 3);
    expect(verdictOf(8 * deletedP(t, 6))).toBe('outlier');
  });
});

describe('several outliers that hide each other', () => {
  it('are three in the worked example', () => {
    // Rosner (1983) Technometrics 25, 165, worked in the NIST/SEMATECH e-Handbook, 1.3.5.17.3: of ten suspects R1 = 3.119 (λ 3.159) and
    // R2 = 2.943 (3.151) are below their critical values, R3 = 3.179 (3.144) is above, R4 = 2.810 (3.136) and all after it below.
    let values = [
      -0.25, 0.68, 0.94, 1.15, 1.2, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69,
      1.7, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.1, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35,
      2.37, 2.4, 2.47, 2.54, 2.62, 2.64, 2.9, 2.92, 2.92, 2.93, 3.21, 3.26, 3.3, 3.59, 3.68, 4.3, 4.64, 5.34,
      5.42, 6.01,
    ];
    const statistics: number[] = [];
    const p: number[] = [];
    for (let k = 0; k < 10; k++) {
      const { t, g, index } = furthest(values);
      statistics.push(g);
      p.push(values.length * deletedP(t, values.length - 2));
      values = values.filter((_, i) => i !== index);
    }
    expect(statistics.slice(0, 4).map((g) => Number(g.toFixed(3)))).toEqual([3.119, 2.943, 3.179, 2.81]);
    expect(p[0]).toBeGreaterThan(0.05);
    expect(p[1]).toBeGreaterThan(0.05);
    expect(p[2]).toBeLessThan(0.05);
    expect(standing(p, 0.05)).toBe(3);
  });
});
