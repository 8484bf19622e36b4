import { expect, it } from 'vitest';
import { lineWithErrorsInBoth } from '../../src/months/errors-in-both.ts';

/**
 * Pearson's data with York's weights: York (1966), Canadian Journal of Physics 44, 1079; solution of Reed (1992), American
 * Journal of Physics 60, 59, and York et al. (2004), American Journal of Physics 72, 367. Cited from memory:
 * intercept 5.47991, slope -0.480533, S/(n - 2) = 1.4833, standard errors near 0.295 and 0.058.
 */
it('line through points with errors in both coordinates', () => {
  const x = [0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
  const y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
  const xWeight = [1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1];
  const yWeight = [1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500];
  const blocks = x.map((value, i) => ({
    x: Float64Array.of(value),
    y: Float64Array.of(y[i]),
    xCovariance: Float64Array.of(1 / xWeight[i]),
    yCovariance: Float64Array.of(1 / yWeight[i]),
  }));
  const line = lineWithErrorsInBoth(blocks, { offset_sd: 1e6, ratio_sd: 1e6 });
  expect(line.offset).toBeCloseTo(5.47991, 4);
  expect(line.ratio).toBeCloseTo(-0.480533, 5);
  expect(line.chiSquared / line.freedom).toBeCloseTo(1.4833, 4);
  // The curvature at the least value and York's formula differ in the second digit.
  expect(Math.abs(Math.sqrt(line.offsetVariance) / 0.295 - 1)).toBeLessThan(0.03);
  expect(Math.abs(Math.sqrt(line.ratioVariance) / 0.058 - 1)).toBeLessThan(0.03);
});
