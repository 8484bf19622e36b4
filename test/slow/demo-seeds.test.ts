import { describe, expect, it } from 'vitest';
import { compare } from '../../src/answers/compare.ts';
import { fit as fitBench } from '../../src/answers/fit.ts';
import { predict } from '../../src/answers/predict.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { demoBench } from '../../src/lab/demo-bench.ts';

/** The pair of the shipped lab that changes order above the loads tested. */
const PAIR = ['Siskin', 'Hornbeam'];
const SEEDS = Array.from({ length: 20 }, (_, k) => k + 1);

describe('demo bench over twenty seeds, held against the virtual lab without scatter', () => {
  const results = SEEDS.map((seed) => {
    const { files, truth } = demoBench({ seed });
    return { seed, truth, bench: readBench(files) };
  });

  it('every cooler is fitted by models that converge', () => {
    for (const { bench, seed } of results) {
      for (const cooler of fitBench(bench).coolers) {
        for (const model of cooler.models) {
          if (model.weight < 0.01) continue;
          expect(model.reason, `${cooler.cooler} ${model.model} seed ${seed}`).toBe('');
          expect(model.converged).toBe(true);
        }
      }
    }
  });

  it('the true rise at 220 W lies within the interval of the mean in at least 90 % of cases', () => {
    let inside = 0;
    let count = 0;
    for (const { bench, truth } of results) {
      for (const p of predict(bench, { power_W: [220] }).predictions) {
        expect(p.extrapolated).toBe(true);
        const rise = truth.rise_K(p.cooler, 220, p.fan_rpm);
        inside += rise >= p.mean_low_K && rise <= p.mean_high_K ? 1 : 0;
        count++;
      }
    }
    expect(count).toBe(20 * 7);
    expect(inside / count).toBeGreaterThanOrEqual(0.9);
  });

  it('the load at which the shipped pair changes order lies within its interval', () => {
    let inside = 0;
    for (const { bench, truth } of results) {
      const crossing = truth.crossing_W(PAIR[0], PAIR[1]) as number;
      const { pairs } = compare(bench, { coolers: PAIR });
      const found = pairs[0].crossings.some((c) => c.low <= crossing && crossing <= c.high);
      inside += found ? 1 : 0;
      expect(crossing).toBeGreaterThan(181);
    }
    expect(inside).toBeGreaterThanOrEqual(19);
  });
});
