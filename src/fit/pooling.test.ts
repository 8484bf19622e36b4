import { describe, expect, it } from 'vitest';
import { fit as fitBench } from '../answers/fit.ts';
import { predict } from '../answers/predict.ts';
import { readBench } from '../bench/read-bench.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import type { CurvePosterior } from './curve-posterior.ts';
import { pooledShift } from './pooling.ts';

/** Every cooler at two speeds but the first, which was run at full speed only. */
function oneSpeedOnly(seed: number, coolers: number) {
  const { files, truth } = makeVirtualBench({
    seed,
    coolers,
    mounts: 3,
    speeds: [0.55, 1],
    noise_speeds: [],
    scatter: { mount_K_per_W: 0.002, sample_K_per_W: 0.001, reading_K: 0.05 },
  });
  const bench = readBench(files);
  const first = bench.coolers[0].cooler;
  const runs = bench.runs.filter(
    (run) => run.cooler !== first || run.fan_rpm > 0.9 * truth.fan_max_rpm(first),
  );
  return { bench: { ...bench, runs }, truth, first };
}

describe('what a cooler with few runs borrows from the bench', () => {
  it('says so', () => {
    const { bench, first } = oneSpeedOnly(4, 8);
    const own = fitBench(bench).coolers.find((cooler) => cooler.cooler === first)!;
    expect(own.notes.join(' ')).toContain('one fan speed only');
    expect(own.notes.join(' ')).toContain('borrowed');
  });

  it('answers at a speed that it was never run at, nearer with more coolers to borrow from', () => {
    const halfWidth = (coolers: number) => {
      const { bench, truth, first } = oneSpeedOnly(4, coolers);
      const rpm = 0.55 * truth.fan_max_rpm(first);
      const [p] = predict(bench, { power_W: [120], fan_rpm: rpm, coolers: [first] }).predictions;
      expect(p.extrapolated).toBe(true);
      const rise = truth.rise_K(first, 120, rpm);
      expect(rise).toBeGreaterThan(p.mean_low_K);
      expect(rise).toBeLessThan(p.mean_high_K);
      return (p.mean_high_K - p.mean_low_K) / 2;
    };
    expect(halfWidth(10)).toBeLessThan(halfWidth(1));
  });
});

describe('what shared errors do by way of the bench mean', () => {
  it('solves its equation also where the priors of the coolers are so unlike that going round it would run away', () => {
    const cooler = (covariance: number[], deviation: number[]) =>
      ({
        covariance: Float64Array.from(covariance),
        prior: { mean: new Float64Array(2), deviation: Float64Array.from(deviation), pooled: [true, true] },
      }) as unknown as CurvePosterior;
    const coolers = [cooler([80, 3.6, 3.6, 0.2], [12, 0.5]), cooler([0.2, 3.6, 3.6, 80], [0.5, 12])];
    const own = [Float64Array.of(1, 0.5), Float64Array.of(-0.2, 0.3)];
    const shifts = pooledShift(coolers, own);
    const mean = [0, 1].map((j) => (own[0][j] + shifts[0][j] + own[1][j] + shifts[1][j]) / 3);
    coolers.forEach(({ covariance, prior }, c) => {
      for (const j of [0, 1]) {
        const expected = [0, 1].reduce(
          (sum, q) => sum + (covariance[j * 2 + q] / prior.deviation[q] ** 2) * mean[q],
          0,
        );
        expect(shifts[c][j]).toBeCloseTo(expected, 9);
      }
    });
  });
});
