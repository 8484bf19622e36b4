import { describe, expect, it } from 'vitest';
import { remlFit } from '../../src/numerics/reml.ts';

/**
 * Rail travel times: Pinheiro and Bates (2000), Mixed-Effects Models in S and S-PLUS, Springer, chapter 1, as R's nlme
 * carries them. Six rails, three times each; travel in nanoseconds above 36,100 ns.
 */
const travel = [
  [55, 53, 54],
  [26, 37, 32],
  [78, 91, 85],
  [92, 100, 96],
  [49, 51, 50],
  [80, 85, 83],
];

describe('Rail, one random effect', () => {
  const y = Float64Array.from(travel.flat());
  const n = y.length;
  const between = { z: new Float64Array(n * 6), columns: 6 };
  const within = { z: new Float64Array(n * n), columns: n };
  for (let i = 0; i < n; i++) {
    between.z[i * 6 + Math.floor(i / 3)] = 1;
    within.z[i * n + i] = 1;
  }
  const block = { y, design: new Float64Array(n).fill(1), columns: 1, components: [between, within] };

  it('gives the published REML estimates: 24.805 between rails, 4.0208 within', () => {
    const fit = remlFit([block], { start: [10, 10] });
    expect(fit.converged).toBe(true);
    expect(fit.sigma[0]).toBeCloseTo(24.805, 3);
    expect(fit.sigma[1]).toBeCloseTo(4.0208, 4);
  });

  it('gets there from far-off starts too', () => {
    for (const start of [
      [0.01, 100],
      [1000, 0.1],
    ]) {
      const fit = remlFit([block], { start });
      expect(fit.sigma[0]).toBeCloseTo(24.805, 3);
      expect(fit.sigma[1]).toBeCloseTo(4.0208, 4);
    }
  });

  it('agrees with the closed form of the balanced one-way layout', () => {
    // Mean squares: within = Σ(y − ȳ_i)²/12; between = 3·Σ(ȳ_i − ȳ)²/5; σ_b² = (between − within)/3.
    const means = travel.map((row) => (row[0] + row[1] + row[2]) / 3);
    const grand = means.reduce((a, b) => a + b) / 6;
    expect(grand).toBeCloseTo(66.5, 10);
    let msWithin = 0;
    travel.forEach((row, i) => {
      for (const value of row) msWithin += (value - means[i]) ** 2 / 12;
    });
    const msBetween = (3 * means.reduce((sum, m) => sum + (m - grand) ** 2, 0)) / 5;
    const fit = remlFit([block], { start: [10, 10] });
    expect(fit.sigma[1]).toBeCloseTo(Math.sqrt(msWithin), 7);
    expect(fit.sigma[0]).toBeCloseTo(Math.sqrt((msBetween - msWithin) / 3), 6);
    // Information on log σ² of the within component is close to that of 12 degrees of freedom: variance 2/12.
    expect(fit.logVarianceCovariance[3]).toBeCloseTo(2 / 12, 2);
  });
});
