import { describe, expect, it } from 'vitest';
import {
  likelyScatter,
  sourceScatter,
  standardLogNormal,
  unevenChance,
  unevenScatter,
} from '../../src/fit/chip-scatter.ts';
import { mixtureDeviation, mixtureMean, mixtureQuantile } from '../../src/numerics/mixture.ts';
import { shippedSource } from '../../src/surfaces/shipped-sources.ts';
import { sensorResistance, USUAL_CONDITIONS } from '../../src/surfaces/source-resistance.ts';

const heat = [70, 140, 70, 140, 70, 140];
const residual = Float64Array.of(0.9, 1.5, -0.4, -1.1, 0.2, 0.5);

describe('scatter of the term between coolers', () => {
  it('is what adaptive quadrature over the same density gives', () => {
    const found = sourceScatter(
      residual,
      (sigma) => {
        const covariance = new Float64Array(36);
        for (let i = 0; i < 6; i++) {
          for (let j = 0; j < 6; j++) {
            const same = Math.floor(i / 2) === Math.floor(j / 2) ? sigma ** 2 * heat[i] * heat[j] : 0;
            covariance[6 * i + j] = 1 + (i === j ? 0.09 : 0) + same;
          }
        }
        return covariance;
      },
      0.003,
      0.02,
      0.15,
    );
    // scipy 1.17, test/published/scripts/source-scatter.py
    expect(found.value / 0.008974487168375043).toBeCloseTo(1, 3);
    expect(found.low / 0.0034415012714554298).toBeCloseTo(1, 2);
    expect(found.high / 0.01981384095418824).toBeCloseTo(1, 2);
  });
  it('is the assumption without runs, and says so', () => {
    const none = sourceScatter(new Float64Array(0), () => new Float64Array(0), 0.003, 0.02, 0.15);
    expect(none.assumed).toBe(true);
    expect(none.low).toBeLessThan(0.003);
    expect(none.high).toBeGreaterThan(0.003);
  });
  it('falls where coolers agree and rises where they do not', () => {
    const at = (spread: number) =>
      sourceScatter(
        Float64Array.of(-spread, spread, -spread, spread),
        (sigma) => {
          const covariance = new Float64Array(16);
          for (let i = 0; i < 4; i++) covariance[5 * i] = 0.01 + (140 * sigma) ** 2;
          return covariance;
        },
        0.003,
        0.02,
        0.15,
      ).value;
    expect(at(0.05)).toBeLessThan(at(0.5));
    expect(at(0.5)).toBeLessThan(at(2));
  });
  it('is expected to grow with the term', () => {
    expect(likelyScatter(0)).toBe(0.002);
    expect(likelyScatter(0.1)).toBeCloseTo(0.003, 12);
    expect(likelyScatter(0.3)).toBeCloseTo(0.019, 12);
    expect(likelyScatter(-0.1)).toBe(likelyScatter(0.1));
  });
  it('may be much more where the term is more than a lid has', () => {
    // A normal variable about 0 has half of its mean square above 0.
    expect((unevenScatter(0.06, 0.08) - 0.005) / 0.45).toBeCloseTo(0.08 / Math.SQRT2, 6);
    expect((unevenScatter(0.2, 1e-6) - 0.005) / 0.45).toBeCloseTo(0.14, 9);
    expect(unevenScatter(0.03, 0.002)).toBeCloseTo(0.005, 9);
  });
  it('is the likelier to be much more the farther the term is beyond a lid’s', () => {
    const chances = [0.05, 0.06, 0.09, 0.12, 0.15].map((term) => unevenChance(term, 0.01));
    expect(chances).toEqual([...chances].sort((a, b) => a - b));
    expect(chances[1]).toBeLessThan(0.15);
    expect(chances[4]).toBeGreaterThan(0.8);
    // A term that is not known says nothing.
    expect(unevenChance(0.06, 100)).toBeCloseTo(0.3, 4);
  });

  it('has a tail to the right for a cooler that was not run: log-normal over all scatters that are plausible', () => {
    // scipy.stats.lognorm(0.5), less its mean and over its standard deviation
    const skewed = standardLogNormal(0.5);
    for (const [p, z] of [
      [0.001, -1.5232001],
      [0.025, -1.2548931],
      [0.5, -0.2204808],
      [0.975, 2.5356159],
      [0.999, 5.8873393],
    ])
      expect(Math.abs(mixtureQuantile(skewed, p) - z)).toBeLessThan(0.02 * Math.max(1, Math.abs(z)));
    const none = sourceScatter(new Float64Array(0), () => new Float64Array(0), 0.003, 0.02, 0.5);
    const own = {
      weight: Float64Array.from(none.own.weight),
      mean: Float64Array.from(none.own.mean),
      deviation: Float64Array.from(none.own.deviation),
    };
    expect(mixtureMean(own)).toBeCloseTo(0, 12);
    expect(mixtureDeviation(own) / none.value).toBeCloseTo(1, 4);
    expect(mixtureQuantile(own, 0.999)).toBeGreaterThan(-2 * mixtureQuantile(own, 0.001));
  });
  it('is expected as an eccentric spot has it over unlike bases, and skewed as that is', () => {
    // The series of Muzychka, Culham and Yovanovich (2003), which test/published holds against finite volumes.
    const die = shippedSource('one-die')!;
    const spot = { ...die.hot_spots[0], x_mm: 11, y_mm: 0, width_mm: 14, depth_mm: 14, share: 1 };
    const edge = { ...die, hot_spots: [spot], sensor: { x_mm: 11, y_mm: 0 } };
    const terms = [2, 3, 4, 6].flatMap((thickness_mm) =>
      [200, 390].flatMap((k_W_per_mK) =>
        [0.03, 0.1, 0.4].map((sink_K_per_W) => {
          const conditions = { ...USUAL_CONDITIONS, base: { thickness_mm, k_W_per_mK }, sink_K_per_W };
          return sensorResistance(edge, conditions) - sensorResistance(shippedSource('heater')!, conditions);
        }),
      ),
    );
    const mean = (of: (term: number) => number) =>
      terms.reduce((sum, term) => sum + of(term), 0) / terms.length;
    const middle = mean((term) => term);
    const spread = Math.sqrt(mean((term) => (term - middle) ** 2));
    expect(middle).toBeCloseTo(0.135, 2);
    // What the place of the pipes adds is not in a plate.
    expect(spread / unevenScatter(middle, 1e-6)).toBeGreaterThan(0.3);
    expect(spread / unevenScatter(middle, 1e-6)).toBeLessThan(1);
    expect(mean((term) => ((term - middle) / spread) ** 3)).toBeGreaterThan(0.3);
  });
});
