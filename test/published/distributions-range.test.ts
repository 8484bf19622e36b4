import chiSquareQuantileOfStdlib from '@stdlib/stats-base-dists-chisquare-quantile';
import normalQuantileOfStdlib from '@stdlib/stats-base-dists-normal-quantile';
import tCdfOfStdlib from '@stdlib/stats-base-dists-t-cdf';
import tQuantileOfStdlib from '@stdlib/stats-base-dists-t-quantile';
import { describe, expect, it } from 'vitest';
import {
  chiSquaredQuantile,
  normalQuantile,
  studentTCdf,
  studentTQuantile,
} from '../../src/numerics/distributions.ts';

const shares = [
  1e-12,
  1e-8,
  1e-4,
  0.01,
  0.024,
  0.1,
  0.3,
  0.4,
  0.499,
  0.5,
  0.501,
  0.6,
  0.74,
  0.76,
  0.9,
  0.975,
  0.9995,
  1 - 1e-8,
];
const freedoms = [0.5, 0.9, 1, 1.3, 2, 3, 4.7, 8, 15.5, 19.9, 20.1, 37, 120, 999.5, 1e4, 3e5];
const places = [-50, -9, -3, -1, -0.1, 1e-6, 0, 0.2, 0.9, 2, 4, 12];

function expectAlike(ours: number, theirs: number, relative: number, where: string): void {
  const off = Math.abs(ours - theirs) / Math.max(Math.abs(theirs), 1e-12);
  expect(off, `${where}: ${ours} for ${theirs}`).toBeLessThan(relative);
}

// stdlib, a general-purpose library, over the whole range that is asked for here.
describe.each(freedoms)('with %d degrees of freedom', (v) => {
  it("Student's t agrees with stdlib", () => {
    for (const p of shares)
      expectAlike(studentTQuantile(p, v), tQuantileOfStdlib(p, v), 1e-10, `quantile ${p}`);
    for (const t of places) expectAlike(studentTCdf(t, v), tCdfOfStdlib(t, v), 1e-10, `area below ${t}`);
  });
});

describe.each(freedoms.filter((v) => v < 1000))('with %d degrees of freedom', (v) => {
  it('χ² agrees with stdlib', () => {
    for (const p of shares) {
      // What stdlib gives as 0 is below 1e-12.
      const theirs = chiSquareQuantileOfStdlib(p, v);
      if (theirs > 1e-12) expectAlike(chiSquaredQuantile(p, v), theirs, 1e-10, `quantile ${p}`);
      else expect(chiSquaredQuantile(p, v)).toBeLessThan(1e-11);
    }
  });
});

// scipy.stats.chi2.ppf(p, k) of scipy 1.17.1: stdlib's is off by 4e-4 at (0.3, 1e4).
it.each([
  [0.3, 10000, 9925.358009834968],
  [0.499, 300000, 299997.3917123566],
  [1e-8, 10000, 9226.563292702256],
  [0.975, 300000, 301520.0749912244],
  [0.9995, 10000, 10471.912157626606],
])('χ² below a share of %d with %d degrees of freedom agrees with scipy', (p, k, x) => {
  expectAlike(chiSquaredQuantile(p, k), x, 1e-10, 'quantile');
});

it('the normal quantile agrees with stdlib, and in the far tail with forty digits', () => {
  for (let p = 0.0005; p < 1; p += 0.00137) {
    expectAlike(normalQuantile(p), normalQuantileOfStdlib(p, 0, 1), 1e-13, `quantile ${p}`);
  }
  // mpmath 1.3.0, findroot(lambda z: ncdf(z) - 1e-12) in 40 digits; stdlib gives −7.0344869.
  expectAlike(normalQuantile(1e-12), -7.034483825301132, 1e-14, 'quantile 1e-12');
});

it('what is asked for beyond the range is infinite or no number', () => {
  expect([normalQuantile(0), normalQuantile(1), normalQuantile(2)]).toEqual([
    -Infinity,
    Infinity,
    Number.NaN,
  ]);
  expect([chiSquaredQuantile(0, 3), chiSquaredQuantile(1, 3)]).toEqual([0, Infinity]);
  expect(studentTQuantile(0.975, -1)).toBeNaN();
});
