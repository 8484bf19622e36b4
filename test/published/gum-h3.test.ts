import { describe, expect, it } from 'vitest';
import { fitFormula } from '../../src/formula/fit-formula.ts';

/**
 * JCGM 100:2008 (GUM), example H.3: calibration of a thermometer, observed correction against reading, as a line in
 * reading − 20 °C. Published: intercept −0.1712(29) °C, slope 0.00218(67), correlation −0.930, s = 0.0035 °C,
 * correction at 30 °C −0.1494(41) °C.
 */
const reading_C = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511];
const correction_K = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16];

describe('GUM H.3', () => {
  it('as a formula', () => {
    const fit = fitFormula({
      formula: 'y1 + y2*(t - 20)',
      data: { y: correction_K, t: reading_C },
      start: { y1: 1, y2: 1 },
    });
    expect(fit.converged).toBe(true);
    expect(fit.parameters.y1.value).toBeCloseTo(-0.1712, 4);
    expect(fit.parameters.y1.standardError).toBeCloseTo(0.0029, 4);
    expect(fit.parameters.y2.value).toBeCloseTo(0.00218, 5);
    expect(fit.parameters.y2.standardError).toBeCloseTo(0.00067, 5);
    const [[v1, v12], [, v2]] = fit.covariance;
    expect(v12 / Math.sqrt(v1 * v2)).toBeCloseTo(-0.93, 3);
    expect(Math.sqrt(v1 + 20 * v12 + 100 * v2)).toBeCloseTo(0.0041, 4);
  });
});
