import { describe, expect, it } from 'vitest';
import { compare } from '../../src/answers/compare.ts';
import { predict } from '../../src/answers/predict.ts';
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { ExpectedPosterior } from '../../src/design/expected-posterior.ts';
import { plan } from '../../src/design/plan.ts';
import { planTask } from '../../src/design/plan-task.ts';
import { rehearse } from '../../src/design/rehearse.ts';
import { posteriorFor } from '../../src/fit/posterior-for.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { chipRises } from '../../src/predict/chip-rises.ts';
import { jointRises, riseMoments } from '../../src/predict/joint-rises.ts';
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

describe('a plan for a chip with runs on the heater', () => {
  /** All six were run on the chip, little is known on the heater, and a visit to the chip takes two hours more. */
  const run = readBench(makeVirtualBench(chipBench(7, 6)).files);
  const thin: Bench = {
    ...run,
    extra: { ...run.extra, planning: { chip_visit_min: 120 } },
    runs: run.runs.filter(
      ({ source: on, sample, mount }) => on !== 'heater' || (sample === '1' && mount === '1'),
    ),
  };
  const options = { source, target_W: TARGET_W, hours: 8 };
  const both = plan(thin, { ...options, with_heater: true });
  const alone = plan(thin, options);

  it('takes runs on the heater where they tell as much in less time, and says what they spare', () => {
    const { with_heater, sentences, resolved_after, hours } = both.expected;
    const on = (where: string) =>
      both.runs.filter((run) => run.source === where && run.purpose === 'question');
    expect(on('heater').length).toBeGreaterThan(0);
    expect(with_heater).toMatchObject({
      runs_on_heater: on('heater').length,
      runs_on_source: on(source).length,
      runs_on_source_alone: alone.runs.length,
      resolved_alone: alone.expected.resolved_after,
    });
    expect(resolved_after).toBeGreaterThan(alone.expected.resolved_after);
    expect(hours).toBeLessThanOrEqual(8);
    expect(sentences.join(' ')).toMatch(/With \d+ runs? on the heater, \d+ runs? on chip-a tell/);
    // Those on the heater come first: after them one may plan again.
    expect(both.runs.map((run) => run.source === 'heater')).toEqual(
      both.runs.map((_, k) => k < both.runs.length - on(source).length),
    );
    expect(alone.expected.with_heater).toBeUndefined();
  });

  it('is carried out by a rehearsal as often as it says', () => {
    const rehearsed = rehearse(thin, { source, power_W: [TARGET_W], runs: both.runs, repeats: 400 });
    expect(Math.abs(rehearsed.resolved_mean - both.expected.resolved_after)).toBeLessThan(0.4);
    expect(rehearsed.false_mean).toBeLessThan(0.05);
    expect(rehearsed.hours).toBeCloseTo(both.expected.hours, 9);
  });

  it('foretells of runs on the heater what they leave once they are done', () => {
    const name = 'cooler-4';
    const isAside = ({ cooler, source: on, sample }: Bench['runs'][number]) =>
      cooler === name && on === 'heater' && sample === '2';
    const spread = (one: Bench) => {
      const { predictions } = predict(one, { source, power_W: [TARGET_W], paste: 'any' });
      const found = predictions.find(({ cooler }) => cooler === name)!;
      return (found.mean_high_K - found.mean_low_K) / 2 / 1.959964;
    };
    const before = { ...bench, runs: bench.runs.filter((run) => !isAside(run)) };
    const task = planTask(before, { ...options, with_heater: true }, [TARGET_W]);
    const c = task.coolers.findIndex((one) => one.name === name);
    const runs = bench.runs
      .filter((run) => isAside(run) && run.power_W > 0)
      .map(({ sample, mount, power_W, fan_rpm }) => ({
        cooler: c,
        sample,
        mount: `aside/${mount}`,
        power_W,
        fan_rpm,
        onHeater: true as const,
      }));
    const expected = new ExpectedPosterior(task.question, task.coolers, runs);
    const [now] = expected.after([]).expectedRises[c];
    const [then] = expected.after(runs).expectedRises[c];
    expect(then.u_K).toBeLessThan(now.u_K);
    expect(spread(bench) / spread(before) / (then.u_K / now.u_K)).toBeGreaterThan(0.95);
    expect(spread(bench) / spread(before) / (then.u_K / now.u_K)).toBeLessThan(1.05);
  });

  it('lets a reading on the heater hang together with the chip by the curve alone', () => {
    const posterior = posteriorFor(bench, source);
    const heater = posteriorFor(bench, 'heater');
    const points = [60, 140].map((power_W) => ({ power_W, speed: 1, sample: '1', onHeater: true as const }));
    const ofCooler = (some: typeof posterior) =>
      some.coolers.find(({ data }) => data.cooler.cooler === 'cooler-5')!;
    const { alone: ofChip, rises } = chipRises(posterior, posterior.term!, ofCooler(posterior), points);
    const own = riseMoments(
      ofCooler(heater),
      jointRises(heater, ofCooler(heater), points, { want: 'covariance' }),
    );
    ofChip.forEach((value, k) => {
      expect(value / own.covariance[k]).toBeCloseTo(1, 9);
    });
    // Before the chip's runs: none of its own errors is in a reading on the heater.
    rises.forEach(({ own: ofRuns }) => {
      expect(Math.max(...ofRuns.map(Math.abs))).toBe(0);
    });
  });

  it('is no plan for the heater', () => {
    expect(() => plan(bench, { target_W: TARGET_W, hours: 6, with_heater: true })).toThrow(
      /^--with-heater.*the plan is for the heater; with --source chip-a/,
    );
  });
});
