import { describe, expect, it } from 'vitest';
import { makeRandom } from '../lab/random.ts';
import { normalCdf } from '../numerics/distributions.ts';
import { mixtureMean, mixtureQuantile, type NormalMixture } from '../numerics/mixture.ts';
import { bestProbabilities } from './best-probability.ts';
import { pairwiseCritical } from './critical-value.ts';
import { letterDisplay } from './letter-display.ts';
import { differenceInterval, type RiseLimits } from './rise-limits.ts';

type Part = readonly [weight: number, mean: number, deviation: number];

const mixtureOf = (...parts: Part[]): NormalMixture => ({
  weight: Float64Array.from(parts, ([w]) => w),
  mean: Float64Array.from(parts, ([, m]) => m),
  deviation: Float64Array.from(parts, ([, , d]) => d),
});

const limitsOf = (
  own: NormalMixture,
  tail: number,
  least_K = 0,
  sensitivity: readonly number[] = [0],
): RiseLimits => {
  const middle_K = mixtureMean(own);
  return {
    power_W: 200,
    middle_K,
    own,
    down_K: middle_K - mixtureQuantile(own, tail),
    up_K: mixtureQuantile(own, 1 - tail) - middle_K,
    least_K,
    sensitivity: Float64Array.from(sensitivity),
    distribution: undefined as unknown as RiseLimits['distribution'],
    extrapolated: true,
  };
};

const test = (shared: readonly number[] = [0]) => ({ shared: Float64Array.from(shared), space: [] });

/** Quantiles of a − b by drawing, a and b cut at their least, and their standard errors by the density between neighbours. */
const drawn = (a: RiseLimits, b: RiseLimits, common: number, tail: number) => {
  const random = makeRandom(7);
  const draw = ({ own, least_K }: RiseLimits): number => {
    for (;;) {
      let u = random.uniform();
      let k = 0;
      while (k < own.weight.length - 1 && u >= own.weight[k]) {
        u -= own.weight[k];
        k++;
      }
      const x = random.normal(own.mean[k], own.deviation[k]);
      if (x >= least_K) return x;
    }
  };
  const count = 200_000;
  const values = Float64Array.from(
    { length: count },
    () => draw(a) - draw(b) + random.normal(0, common),
  ).sort();
  const at = (p: number) => values[Math.round(p * (count - 1))];
  return { low_K: at(tail), high_K: at(1 - tail), p_less: values.findIndex((v) => v >= 0) / count };
};

describe('a difference by its own distribution', () => {
  const tail = 0.005;
  const skewed = mixtureOf([0.6, 60, 2], [0.25, 75, 8], [0.15, 110, 25]);
  const other = mixtureOf([0.5, 52, 1.5], [0.5, 57, 3]);

  it.each([
    ['skewed against a mixture', skewed, other, 0],
    ['the same the other way round', other, skewed, 0],
    ['both skewed, with a shared error', skewed, mixtureOf([0.8, 50, 2], [0.2, 90, 20]), 4],
    ['normal', mixtureOf([1, 50, 3]), mixtureOf([1, 44, 1]), 2],
  ] as const)('agrees with drawing: %s', (_, one, two, common) => {
    const [a, b] = [limitsOf(one, tail, 0, [common]), limitsOf(two, tail)];
    const found = differenceInterval(a, b, test([1]), tail);
    const truth = drawn(a, b, common, tail);
    const width = truth.high_K - truth.low_K;
    expect(Math.abs(found.low_K - truth.low_K) / width).toBeLessThan(0.015);
    expect(Math.abs(found.high_K - truth.high_K) / width).toBeLessThan(0.015);
    expect(Math.abs(found.p_less - truth.p_less)).toBeLessThan(0.004);
    expect(found.rise_K).toBe(a.middle_K - b.middle_K);
  });

  it('is wider on the side of the skewness, and mirrors when the two change places', () => {
    const [a, b] = [limitsOf(skewed, tail), limitsOf(other, tail)];
    const found = differenceInterval(a, b, test(), tail);
    expect(found.high_K - found.rise_K).toBeGreaterThan(2 * (found.rise_K - found.low_K));
    const back = differenceInterval(b, a, test(), tail);
    expect(back.low_K).toBeCloseTo(-found.high_K, 6);
    expect(back.high_K).toBeCloseTo(-found.low_K, 6);
    expect(back.p_less).toBeCloseTo(1 - found.p_less, 9);
  });

  it('asks for no rise below what was measured at a lower load', () => {
    // Known to be at least 70 K, and otherwise only roughly: beside one of 60 ± 2 K.
    const a = limitsOf(mixtureOf([1, 90, 12]), tail, 70);
    const b = limitsOf(mixtureOf([1, 60, 2]), tail, 40);
    const found = differenceInterval(a, b, test(), tail);
    const truth = drawn(a, b, 0, tail);
    // A bound by what holds for certain: never inside what drawing finds, and above zero as it is.
    expect(found.low_K).toBeLessThan(truth.low_K);
    expect(found.low_K).toBeCloseTo(70 - (60 + 2 * 2.5758), 3);
    expect(found.p_less).toBeLessThan(tail);
    const free = differenceInterval({ ...a, least_K: 0 }, b, test(), tail);
    expect(free.low_K).toBeLessThan(found.low_K);
    expect(free.high_K).toBe(found.high_K);
    const back = differenceInterval(b, a, test(), tail);
    expect(back.high_K).toBeCloseTo(-found.low_K, 6);
  });

  it('tells a pair apart where its chance is beyond the tail, and nowhere else', () => {
    const random = makeRandom(3);
    for (let k = 0; k < 300; k++) {
      const [a, b] = [0, 1].map(() =>
        limitsOf(
          mixtureOf(
            [0.7, random.between(40, 60), random.between(0.5, 6)],
            [0.3, random.between(50, 120), random.between(1, 20)],
          ),
          tail,
          random.between(30, 50),
        ),
      );
      const { low_K, high_K, p_less } = differenceInterval(a, b, test(), tail);
      expect(high_K < 0).toBe(p_less > 1 - tail);
      expect(low_K > 0).toBe(p_less < tail);
    }
  });

  it('of coolers 103 K apart, one of which may meet a limit, ties by as much as that may happen', () => {
    const hot = limitsOf(mixtureOf([1, 163, 8]), tail, 120);
    const sound = (chance: number) => limitsOf(mixtureOf([1 - chance, 60, 2], [chance, 190, 20]), tail, 50);
    const told = differenceInterval(sound(0.002), hot, test(), tail);
    expect(told.rise_K).toBeCloseTo(-103, 0);
    expect(told.high_K).toBeLessThan(0);
    expect(told.p_less).toBeGreaterThan(1 - tail);
    const tie = differenceInterval(sound(0.02), hot, test(), tail);
    expect(tie.high_K).toBeGreaterThan(0);
    expect(tie.p_less).toBeLessThan(1 - tail);
    expect(bestProbabilities([sound(0.02).own, hot.own])[0]).toBeCloseTo(tie.p_less, 2);
  });
});

describe('all pairs together', () => {
  // Breaks of yarn in a loom by tension (R's data set warpbreaks), two-way analysis with wool: means 36.39, 26.39, 21.67 of 18
  // each, residual mean square 134.96 with 50 degrees of freedom. TukeyHSD of R's own example, from memory: 10.000 (0.647 to
  // 19.353), 14.722 (5.369 to 24.076), 4.722 (-4.631 to 14.076).
  const critical = pairwiseCritical(3, 0.95);
  const multiple = critical(Number.POSITIVE_INFINITY);
  const tail = normalCdf(-multiple);
  const deviation = (Math.sqrt(134.9578 / 18) * critical(50)) / multiple;
  const tensions = [21.66667, 26.38889, 36.38889].map((mean) =>
    limitsOf(mixtureOf([1, mean, deviation]), tail),
  );

  it('is the interval of Tukey and Kramer for normal distributions', () => {
    const [high, medium, low] = tensions;
    const between = (a: RiseLimits, b: RiseLimits) => differenceInterval(a, b, test(), tail);
    expect(between(low, medium).low_K).toBeCloseTo(0.6466, 2);
    expect(between(low, medium).high_K).toBeCloseTo(19.3534, 2);
    expect(between(low, high).low_K).toBeCloseTo(5.3688, 2);
    expect(between(medium, high).low_K).toBeCloseTo(-4.6312, 2);
  });

  it('gives the letters of that test', () => {
    const isResolved = (i: number, j: number) => {
      const { low_K, high_K } = differenceInterval(tensions[i], tensions[j], test(), tail);
      return low_K > 0 || high_K < 0;
    };
    expect(letterDisplay(3, isResolved)).toEqual([['a'], ['a'], ['b']]);
  });
});
