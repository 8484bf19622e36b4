import { describe, expect, it } from 'vitest';
import { shrinkageEstimates } from './population.ts';

/**
 * Eight parallel experiments of Rubin (1981) Journal of Educational Statistics 6, 377, effects and standard errors (from memory). The reference is
 * the same posterior by two-dimensional adaptive quadrature over the common mean and the spread (scipy.integrate.dblquad); its medians agree with the
 * table in Gelman et al., Bayesian Data Analysis, chapter 5 (from memory: 10, 8, 7, 8, 5, 6, 10, 8).
 */
const EFFECTS = [28, 8, -3, 7, -1, 1, 18, 12];
const ERRORS = [15, 10, 16, 11, 9, 11, 10, 18];

describe('estimates beside one another', () => {
  const found = shrinkageEstimates(EFFECTS.map((mean, i) => ({ mean, u: ERRORS[i] })));

  it('agree with quadrature over mean and spread', () => {
    for (const [i, mean, u] of [
      [0, 11.39933, 8.340006],
      [2, 6.131253, 7.764181],
      [4, 5.126774, 6.357072],
    ]) {
      expect(found[i].mean).toBeCloseTo(mean, 2);
      expect(found[i].u).toBeCloseTo(u, 2);
    }
  });

  it('lie near the published medians', () => {
    [10, 8, 7, 8, 5, 6, 10, 8].forEach((median, i) => {
      expect(Math.abs(found[i].mean - median)).toBeLessThan(1.5);
    });
  });

  it('agree with quadrature where few are known well and one hardly, and where three tell the spread hardly', () => {
    // The spread integrated in numpy by the trapezoidal rule: 40 000 points to 5 K, as many more to 10⁶ K.
    const ragged = [30, 30.3, 30.1, 30.2].map((mean) => ({ mean, u: 0.2 }));
    const five = shrinkageEstimates([...ragged, { mean: 45, u: 4 }]);
    [30.081, 30.235, 30.132, 30.184, 32.023].forEach((mean, i) => {
      expect(five[i].mean).toBeCloseTo(mean, 2);
    });
    [0.169, 0.168, 0.161, 0.16, 4.219].forEach((u, i) => {
      expect(five[i].u).toBeCloseTo(u, 2);
    });
    const three = shrinkageEstimates([30, 31, 38].map((mean) => ({ mean, u: 2 })));
    [30.374, 31.249, 37.377].forEach((mean, i) => {
      expect(Math.abs(three[i].mean - mean)).toBeLessThan(0.05);
    });
  });

  it('stay where they are when they are known far better than they differ', () => {
    const sharp = shrinkageEstimates([10, 20, 35].map((mean) => ({ mean, u: 0.01 })));
    sharp.forEach(({ mean, u }, i) => {
      expect(mean).toBeCloseTo([10, 20, 35][i], 3);
      expect(u).toBeCloseTo(0.01, 5);
    });
  });

  it('come back as they are where two tell no spread, or where one has no uncertainty', () => {
    const two = [
      { mean: 3, u: 1 },
      { mean: 5, u: 1 },
    ];
    expect(shrinkageEstimates(two)).toEqual(two);
    const exact = [...two, { mean: 4, u: 0 }];
    expect(shrinkageEstimates(exact)).toEqual(exact);
  });
});
