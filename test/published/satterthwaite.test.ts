import { expect, it } from 'vitest';
import { satterthwaite } from '../../src/numerics/degrees-of-freedom.ts';

it('effective degrees of freedom of the example of JCGM 100:2008, G.4.1', () => {
  // Relative standard uncertainties 0.25, 0.57 and 0.82 % from 10, 5 and 15 observations: 19.0.
  const variances = [0.25, 0.57, 0.82].map((u) => u * u);
  const freedom = [9, 4, 14];
  const covariance = new Float64Array(9);
  // Var(ln s²) = 2/ν.
  freedom.forEach((nu, k) => {
    covariance[4 * k] = 2 / nu;
  });
  const total = variances.reduce((a, b) => a + b, 0);
  expect(satterthwaite(total, Float64Array.from(variances), covariance)).toBeCloseTo(19.0, 1);
});
