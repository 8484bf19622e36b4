import { describe, expect, it } from 'vitest';
import { given } from '../../src/numerics/gaussian.ts';

const A = [
  [-0.8, -1.3, -0.2, 0.4, 1.1],
  [0.1, -0.6, -0.8, 0.7, 1.6],
  [0.3, -1.2, -1.0, 1.6, 0.2],
  [-1.7, -0.1, -1.2, -0.6, -0.5],
  [-0.7, 0.6, -0.1, -0.6, 0.4],
];
const MEAN = [2.5, -4.9, -0.8, -2.9, -0.5];
// What numpy.linalg.solve and scipy.stats.multivariate_normal.logpdf gave.
const EXPECTED_MEAN = [6.292640196141106, 2.6365760291203353, -0.10571840063775917];
const EXPECTED_COVARIANCE = [
  [2.263301683519409, 0.6005883481053358, -0.21944263737586084],
  [0.600588348105336, 3.7903818283690134, -1.6242976185551892],
  [-0.21944263737586084, -1.6242976185551892, 1.5182718073485224],
];
const EXPECTED_LOG = -7.117684628287519;

describe('conditioning of a Gaussian', () => {
  it('is the best linear predictor of a worked example', () => {
    // Johnson and Wichern (2007), Applied Multivariate Statistical Analysis, 6th ed., example 7.11 (numbers from memory):
    // Y and Z₁, Z₂ with mean (5, 2, 0); predictor 3 + z₁ − 2·z₂ with mean square error 7.
    const joint = {
      mean: Float64Array.of(5, 2, 0),
      covariance: Float64Array.of(10, 1, -1, 1, 7, 3, -1, 3, 2),
    };
    const { mean, covariance, weights } = given(joint, [1, 2], [4, 1.5]);
    expect(weights[0]).toBeCloseTo(1, 12);
    expect(weights[1]).toBeCloseTo(-2, 12);
    expect(mean[0]).toBeCloseTo(3 + 4 - 2 * 1.5, 12);
    expect(covariance[0]).toBeCloseTo(7, 12);
  });

  it('is what numpy and scipy give, readings with errors of their own', () => {
    // Σ = A·Aᵀ + 0.5·1, rows 1 and 3 read with variances 0.3 and 0.05.
    const covariance = Float64Array.from({ length: 25 }, (_, k) => {
      const [i, j] = [Math.floor(k / 5), k % 5];
      return A[i].reduce((sum, v, c) => sum + v * A[j][c], i === j ? 0.5 : 0);
    });
    const joint = { mean: Float64Array.from(MEAN), covariance };
    const found = given(joint, [1, 3], [0.7, -1.2], { noise: [0.3, 0.05] });
    EXPECTED_MEAN.forEach((value, t) => {
      expect(found.mean[t]).toBeCloseTo(value, 12);
    });
    EXPECTED_COVARIANCE.forEach((row, s) => {
      row.forEach((value, t) => {
        expect(found.covariance[s * 3 + t]).toBeCloseTo(value, 12);
      });
    });
    expect(found.logDensity).toBeCloseTo(EXPECTED_LOG, 12);
    // Asked of all, a reading without error is then known.
    const all = given(joint, [1, 3], [0.7, -1.2], { of: [0, 1, 2, 3, 4] });
    expect([all.mean[1], all.mean[3]].map((v) => Number(v.toFixed(12)))).toEqual([0.7, -1.2]);
    expect(Math.abs(all.covariance[6])).toBeLessThan(1e-12);
  });

  it('refuses what is no covariance', () => {
    expect(() =>
      given({ mean: new Float64Array(2), covariance: Float64Array.of(1, 2, 2, 1) }, [0, 1], [0, 0]),
    ).toThrow(RangeError);
  });
});
