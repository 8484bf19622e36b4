import { describe, expect, it } from 'vitest';
import { compare } from '../../src/answers/compare.ts';
import { fit as fitBench } from '../../src/answers/fit.ts';
import { predict } from '../../src/answers/predict.ts';
import type { Bench } from '../../src/bench/bench.ts';
import { BenchError } from '../../src/bench/bench-error.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { sourceTerm } from '../../src/fit/chip-term.ts';
import { posteriorOf } from '../../src/fit/posterior-of.ts';
import { LEAK, OTHER_PASTE, PASTE } from '../../src/fit/shared-error-order.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { mixtureDeviation, mixtureMean } from '../../src/numerics/mixture.ts';
import { leaveOneCoolerOut } from '../../src/predict/chip-term-result.ts';
import { jointRises, riseMoments } from '../../src/predict/joint-rises.ts';
import { riseDistributions } from '../../src/predict/rise-distribution.ts';
import { atLoads } from '../../src/predict/rise-point.ts';
import { chipBench } from '../benchmarks/chip-study.ts';

const chip = 'chip-a';

/** The bench of a study with its text changed. */
function edited(seed: number, onChip: number, change: (name: string, text: string) => string): Bench {
  const { files } = makeVirtualBench(chipBench(seed, onChip));
  const changed = [...files].map(
    ([name, bytes]) =>
      [name, new TextEncoder().encode(change(name, new TextDecoder().decode(bytes)))] as const,
  );
  return readBench(new Map(changed));
}
const asMade = (seed: number, onChip: number) => edited(seed, onChip, (_, text) => text);
const withChip = (seed: number, onChip: number, keys: string) =>
  edited(seed, onChip, (name, text) =>
    name === 'bench.yaml' ? text.replace(`- chip: ${chip}`, `- chip: ${chip}\n    ${keys}`) : text,
  );
/** Runs of the chip alone, or of all but some. */
const onlyRuns = (seed: number, onChip: number, keep: (line: string) => boolean) =>
  edited(seed, onChip, (name, text) =>
    name === 'runs.csv'
      ? `${text
          .trim()
          .split('\n')
          .filter((line, i) => i === 0 || keep(line))
          .join('\n')}\n`
      : text,
  );

describe('predictions on a chip', () => {
  it('mark what was not run on the chip, with a note, and leave alone what was', () => {
    const { predictions, source_term } = predict(asMade(1, 2), { source: chip, power_W: [100] });
    expect(predictions).toHaveLength(6);
    for (const p of predictions) {
      const ran = ['cooler-1', 'cooler-2'].includes(p.cooler);
      expect(p.source).toBe(chip);
      expect(p.extrapolated).toBe(!ran);
      expect(p.notes.some((note) => note.includes(`not run on ${chip}`))).toBe(!ran);
    }
    expect(source_term).toMatchObject({ source: chip, before: 'assumed', coolers: 2, runs: 4 });
    expect(source_term?.cross_validation.count).toBe(2);
  });

  it('of a cooler run on it follow its readings there', () => {
    const bench = asMade(2, 3);
    const { predictions } = predict(bench, { source: chip, power_W: [140], coolers: ['cooler-2'] });
    const runs = bench.runs.filter((r) => r.source === chip && r.cooler === 'cooler-2' && r.power_W > 130);
    const read = runs.reduce((sum, r) => sum + r.source_C - r.ambient_C, 0) / runs.length;
    const [p] = predictions;
    expect(read).toBeGreaterThan(p.run_low_K);
    expect(read).toBeLessThan(p.run_high_K);
    expect(Math.abs((p.run_low_K + p.run_high_K) / 2 - read)).toBeLessThan(1.5);
  });

  it('hold the sensor of the chip in the mean, but not in what the bench will read once it was run', () => {
    const width = (sensor: number, onChip: number) => {
      const { files } = makeVirtualBench({
        ...chipBench(3, onChip),
        chips: [{ ...chipBench(3, onChip).chips![0], sensor_systematic_K: sensor, loads_W: [120] }],
      });
      const [p] = predict(readBench(files), {
        source: chip,
        power_W: [120],
        coolers: ['cooler-6'],
      }).predictions;
      return { mean: p.mean_high_K - p.mean_low_K, run: p.run_high_K - p.run_low_K };
    };
    const [good, bad] = [width(0.1, 4), width(5, 4)];
    expect(bad.mean).toBeGreaterThan(1.5 * good.mean);
    expect(bad.run).toBeLessThan(1.3 * good.run);
  });

  it('of a bench without runs on the chip come from its geometry, or from a wide assumption', () => {
    const width = (bench: Bench) => {
      const [p] = predict(bench, { source: chip, power_W: [150] }).predictions;
      return (p.mean_high_K - p.mean_low_K) / p.rise_K;
    };
    const unknown = asMade(1, 0);
    const known = withChip(1, 0, 'geometry: one-die');
    expect(width(unknown)).toBeGreaterThan(0.6);
    // Nobody was run on it: what is stated of it may be wrong.
    expect(width(known)).toBeGreaterThan(0.6);
    expect(fitBench(known, { source: chip }).source_term).toMatchObject({
      before: 'geometry',
      coolers: 0,
      runs: 0,
    });
  });

  it('follow the runs where these contradict the geometry, and say so', () => {
    const made = (internal_K_per_W: number) => {
      const options = chipBench(1, 2);
      const [one] = options.chips!;
      const { files, truth } = makeVirtualBench({
        ...options,
        chips: [{ ...one, chip: { ...one.chip, internal_K_per_W }, geometry: 'one-die' }],
      });
      return { bench: readBench(files), truth };
    };
    const wrong = made(0.25);
    const asked = { source: chip, power_W: [120] };
    const { predictions, warnings, source_term } = predict(wrong.bench, asked);
    expect(warnings.join('\n')).toMatch(
      /the runs on chip-a give its term 0\.2\d ± 0\.0\d K\/W, its geometry 0\.05 K\/W: the answers follow the runs; check the geometry in bench\.yaml/,
    );
    expect(source_term!.low_K_per_W).toBeGreaterThan(0.15);
    for (const p of predictions) {
      const rise = wrong.truth.rise_K(p.cooler, 120, p.fan_rpm, chip);
      expect(rise).toBeGreaterThan(p.mean_low_K);
      expect(rise).toBeLessThan(p.mean_high_K);
    }
    expect(predict(made(0.068).bench, asked).warnings.join('\n')).not.toMatch(/check the geometry/);
  });

  it('know that a thick base forgives a small die', () => {
    const bench = withChip(1, 0, 'geometry: two-dies');
    const term = sourceTerm(posteriorOf(bench), chip);
    const base = (thickness_mm?: number) => ({ ...bench.coolers[0], base_thickness_mm: thickness_mm });
    expect(term.prior.value_K_per_W(base(6))).toBeLessThan(term.prior.value_K_per_W(base(2)));
    expect(term.prior.own_K_per_W(base(6))).toBe(0);
    expect(term.prior.own_K_per_W(base())).toBeGreaterThan(0);
  });

  it('answer from chip runs alone for a cooler that was never on the heater', () => {
    const bench = onlyRuns(4, 3, (line) => !line.includes(',cooler-2,') || line.includes(`,${chip},`));
    const result = predict(bench, { source: chip, power_W: [140] });
    const p = result.predictions.find((one) => one.cooler === 'cooler-2')!;
    expect(result.predictions).toHaveLength(6);
    expect(p.extrapolated).toBe(false);
    const run = bench.runs.find((r) => r.source === chip && r.cooler === 'cooler-2' && r.power_W > 130)!;
    expect(run.source_C - run.ambient_C).toBeGreaterThan(p.run_low_K);
    expect(run.source_C - run.ambient_C).toBeLessThan(p.run_high_K);
    expect(result.source_term?.coolers).toBe(2);
    const alone = predict(
      onlyRuns(4, 3, (line) => line.includes(`,${chip},`)),
      { source: chip, power_W: [140] },
    );
    expect(alone.predictions).toHaveLength(3);
    expect(alone.source_term).toBeUndefined();
  });
});

describe('comparisons on a chip', () => {
  it('do not widen with an error that all coolers share', () => {
    const widths = (sensor: number, power: number) => {
      const base = chipBench(5, 2);
      const chips = [{ ...base.chips![0], sensor_systematic_K: sensor, power_systematic_percent: power }];
      const bench = readBench(makeVirtualBench({ ...base, chips }).files);
      const coolers = ['cooler-5', 'cooler-6'];
      const [{ difference }] = compare(bench, { source: chip, power_W: [120], coolers }).pairs;
      const [p] = predict(bench, { source: chip, power_W: [120], coolers }).predictions;
      return [difference[0].high_K - difference[0].low_K, p.mean_high_K - p.mean_low_K];
    };
    const [difference, mean] = widths(0.1, 0.1);
    const [coarseDifference, coarseMean] = widths(10, 3);
    expect(coarseMean).toBeGreaterThan(1.3 * mean);
    expect(coarseDifference).toBeLessThan(1.1 * difference);
  });

  it('say what a difference is worth in clock by the pairs of the lab', () => {
    const keys = 'clock: {temperature_C: [55, 60, 65, 70, 75], clock_MHz: [5050, 5026, 5000, 4974, 4950]}';
    const result = compare(withChip(1, 3, keys), { source: chip, power_W: [150] });
    expect(result.clock?.MHz_per_K).toBeCloseTo(-5.04, 9);
    const pair = result.pairs[0];
    const worth = result.clock!.pairs[0];
    expect([worth.a, worth.b]).toEqual([pair.a, pair.b]);
    expect(worth.MHz).toBeCloseTo(5.04 * -pair.difference[0].rise_K, 6);
    for (const [k, one] of result.clock!.pairs.entries()) {
      const { low_K, high_K } = result.pairs[k].difference[0];
      if (!one.within_error) expect(low_K > 0 || high_K < 0).toBe(true);
    }
    expect(compare(asMade(1, 3), { source: chip, power_W: [150] }).clock).toBeUndefined();
  });
});

describe('limits', () => {
  it('lie where the predicted temperature meets the limit, and turn the interval round', () => {
    const bench = asMade(1, 3);
    const { limits } = fitBench(bench, { source: chip, ambient_C: 30 });
    expect(limits).toHaveLength(6);
    for (const one of limits!) {
      const [at, low, high] = predict(bench, {
        source: chip,
        power_W: [one.power_W!, one.low_W!, one.high_W!],
        coolers: [one.cooler],
        ambient_C: 30,
      }).predictions.toSorted(
        (a, b) => Math.abs(a.power_W - one.power_W!) - Math.abs(b.power_W - one.power_W!),
      );
      expect(30 + at.rise_K).toBeCloseTo(90, 1);
      for (const end of [low, high]) {
        expect(30 + (end.power_W < one.power_W! ? end.mean_high_K : end.mean_low_K)).toBeCloseTo(90, 1);
      }
    }
  });
  it('are left out of an answer for a single load, and widen with the tolerance of the room', () => {
    const bench = asMade(1, 3);
    expect(predict(bench, { source: chip, power_W: [150] }).limits).toBeUndefined();
    const [held] = predict(bench, { source: chip }).limits!;
    const [given] = predict(bench, { source: chip, ambient_C: 22 }).limits!;
    expect(held.power_W).toBeCloseTo(given.power_W!, 0);
    expect(held.high_W! - held.low_W!).toBeGreaterThan(given.high_W! - given.low_W!);
    const cold = edited(1, 3, (_, text) =>
      text.replace('temperature_limit_C: 90', 'temperature_limit_C: 20'),
    );
    expect(predict(cold, { source: chip }).limits![0]).toMatchObject({ limit_C: 20, power_W: null });
  });
});

describe('parts', () => {
  it('joint rises have the middle and the spread of each alone', () => {
    const heater = posteriorOf(asMade(6, 0));
    const free = {
      ...heater,
      bench: { ...heater.bench, heater: { leak_W_per_K: { value: 0, uncertainty: 0 } } },
    };
    for (const cooler of free.coolers) {
      const loads = [60, 130, 180, 250];
      const points = atLoads(loads, 1);
      const joint = riseMoments(cooler, jointRises(free, cooler, points, { want: 'covariance' }));
      riseDistributions(free, cooler, points).forEach((one, t) => {
        expect(joint.mean[t]).toBeCloseTo(mixtureMean(one.mean), 2);
        expect(Math.sqrt(joint.covariance[5 * t]) / mixtureDeviation(one.mean)).toBeCloseTo(1, 2);
        const errors = one.meanSensitivity.length;
        one.meanSensitivity.forEach((effect, e) => {
          // The bench's paste and the leak have direct effects besides.
          if (![LEAK, PASTE, OTHER_PASTE].includes(e))
            expect(joint.sensitivity[t * errors + e]).toBeCloseTo(effect, 6);
        });
      });
    }
  });

  it('leaving a cooler out is what its absence gives', () => {
    const seed = 7;
    const term = sourceTerm(posteriorOf(asMade(seed, 3)), chip);
    const left = leaveOneCoolerOut(term).find((one) => one.cooler === 'cooler-3')!;
    const without = onlyRuns(seed, 3, (line) => !(line.includes(',cooler-3,') && line.includes(`,${chip},`)));
    const { predictions } = predict(without, { source: chip, power_W: [70, 140], coolers: ['cooler-3'] });
    const middle = predictions.reduce((sum, p) => sum + (p.run_low_K + p.run_high_K) / 2, 0) / 2;
    // Its specimen is known from the heater, and the scatter is estimated anew: close, not equal.
    expect(Math.abs(left.rise_K - left.error_K - middle)).toBeLessThan(0.6);
  });

  it.each([
    ['geometry: one-dei', /geometry "one-dei" is not a shipped source; did you mean "one-die"/],
    ['geometry: 3', /geometry has to be the name/],
    [
      'geometry: {face: {width_mm: 20}}',
      /geometry: the key hot_spots is missing|geometry, face: the key depth_mm/,
    ],
  ])('refuses %s', (keys, message) => {
    const bench = withChip(1, 0, keys);
    expect(() => predict(bench, { source: chip })).toThrow(BenchError);
    expect(() => predict(bench, { source: chip })).toThrow(message);
  });
  it.each([
    ['clock: 5000', /clock is not a mapping/],
    ['clock: {temperature_C: [60, 70], clock_MHz: [5000]}', /two lists of one length/],
    ['clock: {temperature_C: [60, 70], clock_MHz: [5000, 4950]}', /2 pairs; three or more/],
    ['clock: {temperature_C: [60, 70, 80], clock_MHz: [3, 2, 1], speed: 3}', /clock, speed: unknown key/],
    ['clock: {temperature_C: [60, 70, 80], clock_MHz: [3, 2, 1], step_MHz: 0}', /step_MHz: a number above 0/],
  ])('refuses %s', (keys, message) => {
    const bench = withChip(1, 0, keys);
    expect(() => compare(bench, { source: chip, power_W: [100] })).toThrow(message);
  });
  it('refuses a source that the bench does not know', () => {
    expect(() => predict(asMade(1, 0), { source: 'chip-b' })).toThrow(
      /no source "chip-b".*did you mean "chip-a"/,
    );
  });
  it('takes a geometry written out, and no warning of an unread key', () => {
    const bench = withChip(
      1,
      0,
      'geometry: {face: {width_mm: 30, depth_mm: 30}, plate: {thickness_mm: 2, k_W_per_mK: 390}, hot_spots: [{name: die, x_mm: 0, y_mm: 0, width_mm: 10, depth_mm: 10, share: 1}], sensor: {x_mm: 0, y_mm: 0}}',
    );
    expect(bench.warnings).toEqual([]);
    expect(fitBench(bench, { source: chip }).source_term?.before).toBe('geometry');
  });
});
