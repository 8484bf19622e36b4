import { describe, expect, it } from 'vitest';
import { studentTQuantile } from '../numerics/distributions.ts';
import { type Block, remlInformation } from '../numerics/reml.ts';
import { covarianceAfter, freedomOf } from './scatter-learning.ts';
import { widthChange } from './width-change.ts';

/** Readings in equal groups about one mean: scatter between groups and within. */
function grouped(groups: number, each: number): Block {
  const n = groups * each;
  const between = new Float64Array(n * groups);
  const within = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    between[i * groups + Math.floor(i / each)] = 1;
    within[i * n + i] = 1;
  }
  return {
    y: new Float64Array(n),
    design: new Float64Array(n).fill(1),
    columns: 1,
    components: [
      { z: between, columns: groups },
      { z: within, columns: n },
    ],
  };
}

describe('what runs tell of scatters', () => {
  it('a single sample of n readings gives n − 1 degrees of freedom', () => {
    for (const n of [3, 8, 20]) {
      const block: Block = { ...grouped(n, 1), components: [undefined, grouped(n, 1).components[1]] };
      const information = remlInformation([block], [1, 0.7])[3];
      expect(2 * information).toBeCloseTo(n - 1, 9);
    }
  });

  it('a balanced nesting has the sampling variances of its mean squares', () => {
    // Searle, Casella and McCulloch (1992) Variance Components, section 3.5: Var σ̂_e² = 2σ_e⁴/(a(n−1)),
    // Var σ̂_a² = (2/n²)·[(nσ_a² + σ_e²)²/(a−1) + σ_e⁴/(a(n−1))]; the analysis of variance is restricted likelihood when balanced.
    const [a, n, sa, se] = [6, 4, 1.7, 0.9];
    const information = remlInformation([grouped(a, n)], [sa, se]);
    const det = information[0] * information[3] - information[1] * information[2];
    const ofBetween = (information[3] / det) * sa ** 4;
    const ofWithin = (information[0] / det) * se ** 4;
    expect(ofWithin).toBeCloseTo((2 * se ** 4) / (a * (n - 1)), 9);
    expect(ofBetween).toBeCloseTo(
      (2 / n ** 2) * ((n * sa ** 2 + se ** 2) ** 2 / (a - 1) + se ** 4 / (a * (n - 1))),
      9,
    );
  });

  it('adds up over coolers and is never lost', () => {
    const now = Float64Array.of(0.5, 0.1, 0.1, 0.4);
    const gain = remlInformation([grouped(3, 2)], [1, 1]);
    const once = covarianceAfter(now, [gain]);
    const twice = covarianceAfter(now, [gain, gain]);
    const shares = Float64Array.of(0.6, 0.3);
    expect(covarianceAfter(now, [])[1]).toBeCloseTo(0.1, 12);
    expect(once[0]).toBeLessThan(now[0]);
    expect(twice[0]).toBeLessThan(once[0]);
    expect(freedomOf(shares, Float64Array.of(0.1, 0, 0, 0.1))).toBeCloseTo(2 / (0.1 * 0.45), 9);
  });

  it('limits narrow with the critical multiple, and move as much as the scatter will be better known', () => {
    const critical = (freedom: number) => studentTQuantile(0.975, freedom);
    const known = (freedom: number, share = 1) => ({
      shares: Float64Array.of(share),
      covariance: Float64Array.of(2 / freedom),
    });
    const { stretch, spread } = widthChange(known(12), known(24), critical);
    expect(spread).toBeCloseTo(Math.sqrt(1 / 24 - 1 / 48), 12);
    expect(stretch).toBeCloseTo((2.064 / 2.179) * Math.exp(spread ** 2), 3);
    expect(widthChange(known(12), known(12), critical)).toMatchObject({ stretch: 1, spread: 0 });
    // Of which the scatter has but half of the variance left moves by half as much.
    expect(widthChange(known(12), known(24, 0.5), critical).spread).toBeCloseTo(spread / 2, 12);
  });

  it('limits grow since a variance from few readings is mostly too small', () => {
    // Mean of ln(χ²/ν) is ψ(ν/2) + ln(2/ν); ψ(6) = 1.70612, ψ(12) = 2.44266: Abramowitz and Stegun (1964), 6.3.2 with 6.3.5.
    const below = (1.70612 + Math.log(2 / 12)) / 2 - (2.44266 + Math.log(2 / 24)) / 2;
    const [now, after] = [12, 24].map((freedom) => ({
      shares: Float64Array.of(1),
      covariance: Float64Array.of(2 / freedom),
    }));
    // To first order in 1/ν: within 5 %.
    expect(Math.log(widthChange(now, after, () => 1).stretch) / below).toBeCloseTo(-1, 1);
  });
});
