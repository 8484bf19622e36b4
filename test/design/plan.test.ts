import { describe, expect, it } from 'vitest';
import { compare } from '../../src/answers/compare.ts';
import { predict } from '../../src/answers/predict.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { benchTime } from '../../src/design/bench-time.ts';
import { ExpectedPosterior } from '../../src/design/expected-posterior.ts';
import { plan } from '../../src/design/plan.ts';
import { planTask } from '../../src/design/plan-task.ts';
import { rehearse } from '../../src/design/rehearse.ts';
import { runsOfVisits } from '../../src/design/visits.ts';
import { posteriorOf } from '../../src/fit/posterior-of.ts';
import { demoBench } from '../../src/lab/demo-bench.ts';
import { mixtureDeviation } from '../../src/numerics/mixture.ts';
import { benchRises } from '../../src/predict/bench-rises.ts';
import { riseDistributions } from '../../src/predict/rise-distribution.ts';
import { planFor } from '../../src/report/page-plan.ts';

/** Without its logs, which would tell how long a run takes. */
const bench = readBench(new Map([...demoBench().files].filter(([name]) => !name.startsWith('logs'))));

describe('a plan', () => {
  const result = plan(bench, { target_W: 200, hours: 8 });

  it('keeps to the hours, the heater and the fans', () => {
    expect(result.runs.length).toBeGreaterThan(4);
    const minutes = result.runs.reduce((sum, run) => sum + run.minutes, 0);
    expect(minutes).toBeLessThanOrEqual(8 * 60);
    expect(result.expected.hours).toBeCloseTo(minutes / 60, 9);
    result.runs.forEach((run, k) => {
      const cooler = bench.coolers.find((one) => one.cooler === run.cooler)!;
      expect(run.order).toBe(k + 1);
      expect(run.power_W).toBeLessThanOrEqual(bench.heater.power_max_W!);
      expect(run.fan_rpm).toBeLessThanOrEqual(cooler.fan_max_rpm);
      expect(run.gain).toBeGreaterThanOrEqual(0);
      const settle = cooler.kind === 'liquid' ? 45 : 30;
      expect(run.minutes).toBe(settle + (run.remount ? 15 : 0) + (run.climb_W.length * settle) / 3);
    });
    expect(result.runs[0].remount).toBe(true);
  });

  it('goes on with a mount only where the run before it stood on it', () => {
    result.runs.forEach((run, k) => {
      if (run.remount) return;
      expect(result.runs[k - 1]).toMatchObject({ cooler: run.cooler, sample: run.sample });
      expect(result.runs[k - 1].power_W).toBeLessThan(run.power_W);
    });
  });

  it('says of every pair and cooler what to expect', () => {
    const { pairs, coolers, sentences, resolved_now } = result.expected;
    expect(pairs).toHaveLength(21);
    expect(coolers).toHaveLength(7);
    const now = compare(bench, { power_W: [200] });
    expect(resolved_now).toBe(now.pairs.filter((pair) => pair.resolved.length > 0).length);
    pairs.forEach((pair, k) => {
      expect(pair).toMatchObject({ a: now.pairs[k].a, b: now.pairs[k].b });
      expect(pair.difference_K).toBeCloseTo(now.pairs[k].difference[0].rise_K, 9);
      for (const chance of [pair.resolved_chance, pair.ever_chance]) {
        expect(chance).toBeGreaterThanOrEqual(0);
        expect(chance).toBeLessThanOrEqual(1 + 1e-9);
      }
      expect(pair.ever_chance).toBeGreaterThanOrEqual(pair.resolved_chance);
    });
    for (const one of coolers) expect(one.u_after_K).toBeLessThanOrEqual(one.u_now_K + 1e-9);
    expect(coolers.some((one) => one.take_to_chip)).toBe(true);
    expect(sentences.length).toBeGreaterThan(1);
  });

  it('is the same for the same seed and of the same visits for another', () => {
    expect(plan(bench, { target_W: 200, hours: 8 })).toEqual(result);
    const other = plan(bench, { target_W: 200, hours: 8, seed: 2 });
    const bag = (runs: typeof result.runs) =>
      runs.map((run) => `${run.cooler}/${run.sample}/${run.power_W}`).sort();
    expect(bag(other.runs)).toEqual(bag(result.runs));
  });

  it('does not ask for a load that the heater or a limit forbids', () => {
    const capped = { ...bench, heater: { ...bench.heater, power_max_W: 190, temperature_limit_C: 55 } };
    const { runs, warnings } = plan(capped, { target_W: 200, hours: 6 });
    for (const run of runs) {
      expect(run.power_W).toBeLessThanOrEqual(190);
      const asked = { power_W: [run.power_W], coolers: [run.cooler] };
      expect(22 + predict(capped, asked).predictions[0].rise_K).toBeLessThan(55);
    }
    expect(warnings.join()).toMatch(/200 W is more than may be run on/);
  });

  it('says where the source may pass its limit, and to raise the load in steps there', () => {
    const capped = { ...bench, heater: { ...bench.heater, temperature_limit_C: 78 } };
    const { runs, warnings } = plan(capped, { target_W: 240, hours: 8 });
    const cautioned = warnings.filter((line) => /may bring the source past its limit of 78 °C/.test(line));
    expect(cautioned.length).toBeGreaterThan(0);
    for (const line of cautioned) {
      expect(line).toMatch(/1 chance in \d+\): raise the load from \d+ W in steps/);
      // Never planned where it would more likely than not: one chance in four is the most, a fresh mount's own scatter apart.
      expect(Number(line.match(/1 chance in (\d+)/)![1])).toBeGreaterThanOrEqual(3);
      expect(runs.some((run) => line.startsWith(`${run.cooler} at ${run.power_W} W`))).toBe(true);
    }
  });

  it('says that no run fits, or that the hours buy nothing, and promises nothing for them', () => {
    const short = plan(bench, { target_W: 200, hours: 0.2 }).expected;
    expect(short.sentences[0]).toBe('No run fits into 0.2 h: the shortest takes 45 min with its mount.');
    // The page has the same words, whatever the reason.
    expect(() => planFor(bench, { conditions: {}, power_W: 200, hours: 0.2 })).toThrow(short.sentences[0]);
    expect(short.sentences[1]).toMatch(/^In one look, the runs so far tell \d+ of 21 pairs apart\.$/);
    // Far beyond the heater nothing that it can run tells coolers apart; the visit to a reference cooler comes before any.
    const { reference_cooler: _, ...without } = bench;
    const capped = { ...without, heater: { ...bench.heater, power_max_W: 180 } };
    const far = plan(capped, { target_W: 900, hours: 6, coolers: ['Siskin', 'Hornbeam', 'Rowan'] }).expected;
    expect(far.stop_after_hours).toBe(0);
    expect(far.sentences.at(-1)).toMatch(/^These hours decide less than one pair in twenty each/);
  });

  it('spends its hours where the first place is open, and only on a pair that is asked for', () => {
    const settled = plan(bench, { target_W: 180, hours: 4, goal: 'winner', margin_K: 1 });
    expect(settled.decided).toMatchObject({ answered: true, winner: [{ cooler: 'Merganser', may_be: [] }] });
    expect(settled.runs.filter(({ purpose }) => purpose === 'question')).toEqual([]);
    expect(settled.expected.sentences[0]).toMatch(/^No further run is planned: the runs so far answer/);
    // On the page too, where a load is asked for at which every pair is told apart.
    const apart = { conditions: { coolers: ['Merganser', 'Bittern'] }, power_W: 200, hours: 4 };
    expect(() => planFor(bench, apart)).toThrow(
      /^--hours: No further run is planned: the runs so far answer/,
    );
    // Without the one that is far ahead the first place is open.
    const coolers = bench.coolers.map(({ cooler }) => cooler).filter((name) => name !== 'Merganser');
    const winner = plan(bench, { target_W: 200, hours: 4, goal: 'winner', margin_K: 1, coolers });
    const [first] = winner.decided.winner;
    const contenders = [first.cooler, ...first.may_be];
    expect(winner.runs.filter(({ purpose }) => purpose === 'question').length).toBeGreaterThan(1);
    for (const { cooler, purpose } of winner.runs) {
      if (purpose === 'question') expect(contenders).toContain(cooler);
    }
    const { curve, answered_now, answered_after, right_after } = winner.expected;
    expect(curve[0]).toMatchObject({ hours: 0, answered: answered_now });
    expect(curve.at(-1)).toMatchObject({ answered: answered_after, right: right_after });
    expect(curve.at(-1)!.hours).toBeCloseTo(winner.expected.hours, 9);
    expect(right_after!).toBeGreaterThanOrEqual(winner.expected.right_now! - 0.03);

    const pair = plan(bench, { target_W: 200, hours: 3, goal: 'pair:Siskin,Sallow', margin_K: 1 });
    const asked = new Set(pair.runs.filter((run) => run.purpose === 'question').map((run) => run.cooler));
    expect([...asked].sort()).toEqual(['Sallow', 'Siskin']);
    expect(pair.decided.pairs).toHaveLength(1);
    expect(pair.decided.sentence).toMatch(/^Counting every look, at 95 %: Siskin and Sallow/);
  });

  it('decides less than one look does, and more with a margin', () => {
    const { pairs } = result.decided;
    expect(pairs).toHaveLength(21);
    pairs.forEach((pair, k) => {
      if (pair.better !== null) expect(result.expected.pairs[k].resolved_now).toBe(true);
    });
    const wide = plan(bench, { target_W: 180, hours: 0.2, margin_K: 30 }).decided;
    expect(wide.answered).toBe(true);
    expect(wide.pairs.some(({ same }) => same)).toBe(true);
  });

  it('narrows predictions where that is the goal', () => {
    const { runs, expected } = plan(bench, { target_W: 180, hours: 8, goal: 'prediction' });
    // Spread over the coolers: what is known worst gains most.
    expect(new Set(runs.map((run) => run.cooler)).size).toBeGreaterThan(3);
    expect(expected.coolers.filter((one) => one.u_after_K < 0.97 * one.u_now_K).length).toBeGreaterThan(3);
  });

  it('refuses what is no question', () => {
    expect(() => plan(bench, { target_W: 0, hours: 8 })).toThrow(/--target: /);
    expect(() => plan(bench, { target_W: [], hours: 8 })).toThrow(/--target: /);
    expect(() => plan(bench, { target_W: 200, hours: 0 })).toThrow(/--hours: /);
  });
});

describe('what planned runs tell', () => {
  // Within the loads run, where no limit of pipes is to be found.
  const task = planTask(bench, { target_W: 180, hours: 1 }, [180]);
  const [one] = task.coolers;
  const runsOf = (visits: { sample: string; loads_W: number[] }[]) =>
    runsOfVisits(
      visits.map((visit) => ({ ...visit, cooler: 0, minutes: 1 })),
      () => one.at.fan_rpm,
    );
  const left = (visits: { sample: string; loads_W: number[] }[]) => {
    const runs = runsOf(visits);
    return new ExpectedPosterior(task.question, task.coolers, runs).after(runs).expectedRises[0][0].left_K;
  };

  it('a fresh mount beats another reading, and a second sample beats a fresh mount of the first', () => {
    const oneReading = left([{ sample: '1', loads_W: [180] }]);
    const sameMount = left([{ sample: '1', loads_W: [179, 180] }]);
    const freshMount = left([
      { sample: '1', loads_W: [180] },
      { sample: '1', loads_W: [180] },
    ]);
    const newSample = left([
      { sample: '1', loads_W: [180] },
      { sample: '9', loads_W: [180] },
    ]);
    expect(sameMount).toBeLessThan(oneReading);
    expect(freshMount).toBeLessThan(sameMount);
    expect(newSample).toBeLessThan(freshMount);
  });

  it('a run that reads what is expected moves nothing', () => {
    const runs = runsOf([{ sample: '1', loads_W: [180] }]);
    const expected = new ExpectedPosterior(task.question, task.coolers, runs);
    const [part] = expected.carriedOut(runs);
    // What is drawn is what is believed beside the others; what is found begins from the cooler's own estimate.
    const [now, own] = benchRises(task.question.posterior, [
      {
        cooler: { ...one.posterior, limits: [] },
        rises: [{ power_W: 180, speed: 1 }],
        readings: [{ power_W: 180, speed: 1, sample: '1' }],
      },
    ]).mean;
    const found = (read_K: number) => part.found_K(Float64Array.of(read_K, 0))[0];
    expect(found(own)).toBeCloseTo(now, 9);
    // A fresh mount 3 K above what is expected lifts the mean by a part of that.
    const lifted = found(own + 3) - found(own);
    expect(lifted).toBeGreaterThan(0.2);
    expect(lifted).toBeLessThan(2);
  });

  it('is what the runs leave once they are done', () => {
    // Runs of one cooler set aside and foretold: the spread that is then left is the one that the whole bench has.
    const name = one.name;
    const mount = bench.runs.find((run) => run.cooler === name && run.source === 'heater')!.mount;
    const isAside = (run: (typeof bench.runs)[number]) => run.cooler === name && run.mount === mount;
    const posterior = posteriorOf(bench);
    const before = { ...bench, runs: bench.runs.filter((run) => !isAside(run)) };
    // Fitted with the scatters, priors and weights of the whole bench, so that only the runs differ.
    const task2 = planTask(before, { target_W: 150, hours: 1 }, [150]);
    const c = task2.coolers.findIndex((state) => state.name === name);
    const runs = bench.runs
      .filter((run) => isAside(run) && run.source === 'heater' && run.power_W > 0)
      .map(({ sample, power_W, fan_rpm }) => ({ cooler: c, sample, mount: 'aside', power_W, fan_rpm }));
    const foretold = new ExpectedPosterior(task2.question, task2.coolers, runs).after(runs).expectedRises[
      c
    ][0].left_K;
    const cooler = posterior.coolers.find(({ data }) => data.cooler.cooler === name)!;
    const [done] = riseDistributions(posterior, { ...cooler, limits: [] }, [{ power_W: 150, speed: 1 }]);
    expect(foretold / mixtureDeviation(done.mean)).toBeGreaterThan(0.8);
    expect(foretold / mixtureDeviation(done.mean)).toBeLessThan(1.25);
  });
});

describe('a rehearsal', () => {
  it('agrees with the plan where coolers are close and limits of pipes decide', () => {
    const far = plan(bench, { target_W: 260, hours: 10 });
    const trial = rehearse(bench, { runs: far.runs, repeats: 300, power_W: [260] });
    const share = (count: number) => (100 * count) / far.expected.pairs.length;
    expect(Math.abs(share(trial.resolved_mean) - share(far.expected.resolved_after))).toBeLessThan(5);
  });

  const { runs, expected } = plan(bench, { target_W: 200, hours: 8 });
  const result = rehearse(bench, { runs, repeats: 300, power_W: [200] });

  it('tells apart as many pairs as the plan expects', () => {
    expect(result.pairs).toHaveLength(21);
    expect(result.hours).toBeCloseTo(expected.hours, 9);
    const share = (count: number) => (100 * count) / 21;
    expect(Math.abs(share(result.resolved_mean) - share(expected.resolved_after))).toBeLessThan(5);
    expect(share(result.false_mean)).toBeLessThan(1);
  });

  it('is the same for the same seed', () => {
    expect(rehearse(bench, { runs, repeats: 20, power_W: [200] })).toEqual(
      rehearse(bench, { runs, repeats: 20, power_W: [200] }),
    );
    expect(rehearse(bench, { runs, repeats: 20, power_W: [200], seed: 2 })).not.toEqual(
      rehearse(bench, { runs, repeats: 20, power_W: [200] }),
    );
  });

  it('refuses a plan that is none', () => {
    expect(() => rehearse(bench, { runs: [] })).toThrow(/--runs: /);
    expect(() => rehearse(bench, { runs: [{ cooler: 'Nobody', power_W: 100 }] })).toThrow(
      /--runs: row 1: .*Nobody/,
    );
    expect(() => rehearse(bench, { runs, repeats: 0 })).toThrow(/--repeats: /);
  });
});

describe('time on the bench', () => {
  it('is as asked for, as the bench says, or as usual', () => {
    const air = bench.coolers.find((one) => one.kind === 'air')!;
    expect(benchTime(bench).settle_min(air)).toBe(30);
    expect(benchTime(bench, { remount_min: 20 }).remount_min).toBe(20);
    const stated = { ...bench, extra: { planning: { settle_air_min: 40 } } };
    expect(benchTime(stated).settle_min(air)).toBe(40);
    expect(benchTime(stated, { settle_air_min: 25 }).settle_min(air)).toBe(25);
    const visits = {
      ...bench,
      extra: { planning: { heater_visit_min: 5, chip_visit_min: 60, chip_days: 2, day_hours: 6 } },
    };
    expect(benchTime(visits).remount_min).toBe(20);
    expect(benchTime(visits).atHand_min).toBe(Number.POSITIVE_INFINITY);
    expect(benchTime(visits, {}, 'Kestrel')).toMatchObject({ remount_min: 75, atHand_min: 720 });
    expect(() => benchTime({ ...bench, extra: { planning: { chip_days: 0 } } })).toThrow(/days above 0/);
    expect(() => benchTime({ ...bench, extra: { planning: { settle: 4 } } })).toThrow(/no key "settle"/);
    expect(() => benchTime({ ...bench, extra: { planning: { remount_min: -1 } } })).toThrow(
      /minutes above 0/,
    );
  });
});
