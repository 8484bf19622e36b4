import { describe, expect, it } from 'vitest';
import { compare } from '../../src/answers/compare.ts';
import { predict } from '../../src/answers/predict.ts';
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { plan } from '../../src/design/plan.ts';
import { rehearse } from '../../src/design/rehearse.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { chipBench } from '../benchmarks/chip-study.ts';

const source = 'chip-a';
const TARGET_W = 140;

/** Six coolers on the heater, the first two on the chip. */
const bench = readBench(makeVirtualBench(chipBench(5, 2)).files);

describe('a plan for a chip', () => {
  const options = { source, target_W: TARGET_W, hours: 6 };
  const result = plan(bench, options);

  it('asks of every cooler that has heater runs, and begins from what compare says of it', () => {
    const now = compare(bench, { source, power_W: [TARGET_W] });
    expect(result.expected.pairs).toHaveLength(15);
    expect(result.expected.resolved_now).toBe(now.pairs.filter((pair) => pair.resolved.length > 0).length);
    for (const pair of result.expected.pairs) {
      const same = now.pairs.find(({ a, b }) => a === pair.a && b === pair.b);
      expect(pair.difference_K).toBeCloseTo(same?.difference[0].rise_K as number, 9);
    }
    const unrun = ['cooler-3', 'cooler-4', 'cooler-5', 'cooler-6'];
    expect(result.runs.some((run) => unrun.includes(run.cooler))).toBe(true);
    for (const one of result.expected.coolers) {
      // A run of one cooler tells of the term that the others have too.
      expect(one.u_after_K).toBeLessThan(one.u_now_K);
    }
    expect(result.expected.sentences.join(' ')).toContain('on chip-a the coolest is');
  });

  it('begins from the uncertainty that predict states, which is reckoned another way', () => {
    // A plan's runs are on paste of their own, so the mean is that over batches.
    const { predictions } = predict(bench, { source, power_W: [TARGET_W], paste: 'any' });
    for (const { cooler, mean_low_K, mean_high_K } of predictions) {
      const stated = (mean_high_K - mean_low_K) / 2 / 1.959964;
      const foreseen = result.expected.coolers.find((one) => one.cooler === cooler)?.u_now_K as number;
      // The stated interval has the stretch of few degrees of freedom.
      expect(stated / foreseen).toBeGreaterThan(0.98);
      expect(stated / foreseen).toBeLessThan(1.15);
    }
  });

  it('keeps the source below the limit of the chip', () => {
    const limit_C = bench.chips[0].temperature_limit_C as number;
    const far = plan(bench, { ...options, target_W: 400, hours: 2 });
    expect(far.runs.length).toBeGreaterThan(0);
    for (const run of far.runs) {
      const { predictions } = compareAt(bench, run.cooler, run.power_W);
      expect(predictions + bench.ambient.setpoint_C).toBeLessThan(limit_C + 1);
    }
  });

  it('is carried out by a rehearsal as often as it says', () => {
    const rehearsed = rehearse(bench, { source, power_W: [TARGET_W], runs: result.runs, repeats: 400 });
    expect(rehearsed.pairs).toHaveLength(15);
    // Pairs share coolers, so that the mean of 15 counts scatters by less than one pair over √400 rehearsals.
    expect(Math.abs(rehearsed.resolved_mean - result.expected.resolved_after)).toBeLessThan(0.4);
    expect(rehearsed.false_mean).toBeLessThan(0.05);
  });
});

function compareAt(on: Bench, cooler: string, power_W: number): { predictions: number } {
  const { loads } = compare(on, { source, power_W: [power_W] });
  return { predictions: loads[0].order.find((one) => one.cooler === cooler)?.rise_K as number };
}
