import { describe, expect, it } from 'vitest';
import { compare, compareTables } from '../answers/compare.ts';
import { readBench } from '../bench/read-bench.ts';
import { plan } from '../design/plan.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';

describe('coolers asked for at a speed that they were not run at', () => {
  const { files } = makeVirtualBench({
    seed: 3,
    coolers: 3,
    mounts: 2,
    speeds: [1],
    noise_speeds: [0.4, 0.7, 1],
  });
  const bench = readBench(files);
  it('are named in the first sentences, with what was run, at a level of sound as at a speed', () => {
    for (const condition of [{ fan_percent: 50 }, { sound_dBA: 34 }]) {
      const result = compare(bench, { power_W: [150], ...condition });
      const named = result.speeds_not_run ?? [];
      expect(named.length).toBeGreaterThan(0);
      for (const one of named) expect(one.fan_rpm).toBeLessThan(0.97 * one.lowest_run_rpm);
      const [{ cooler, fan_rpm, lowest_run_rpm }] = named;
      const text = compareTables(result).replaceAll('\n', ' ');
      expect(text).toContain(
        `${cooler} at ${Math.round(fan_rpm)} rpm (run at ${Math.round(lowest_run_rpm)} rpm)`,
      );
      expect(text.indexOf('This rests on')).toBeLessThan(text.indexOf('letters'));
    }
    expect(compare(bench, { power_W: [150] }).speeds_not_run).toBeUndefined();
  });
  it('are what a plan for the same condition runs there', () => {
    const { runs } = plan(bench, { target_W: 150, hours: 6, fan_percent: 50 });
    expect(runs.length).toBeGreaterThan(0);
    for (const { cooler, fan_rpm } of runs) {
      const { fan_max_rpm } = bench.coolers.find((one) => one.cooler === cooler)!;
      expect(fan_rpm / fan_max_rpm).toBeCloseTo(0.5, 2);
    }
  });
});
