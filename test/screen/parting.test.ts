import { describe, expect, it } from 'vitest';
import { screen } from '../../src/answers/screen.ts';
import type { Run } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { partingLogs, partingOf, partingOfMount } from '../../src/screen/parting.ts';
import { benchOfLogs } from '../logs/bench-of-logs.ts';
import { logsThatPart, PARTING_KINDS } from './parting-logs.ts';

const run = (name: string) => ({ run: name, power_W: 160, fan_rpm: 1200 }) as Run;

describe('the logs of two mounts', () => {
  it.each(PARTING_KINDS)('part as networks of resistances and heat capacities do: %s', (kind) => {
    const { mate, odd } = logsThatPart(kind, 3, 160);
    const bench = benchOfLogs({ 'mate.csv': mate, 'odd.csv': odd });
    const found = partingOfMount(bench, [run('r2')], [run('r1')]);
    expect(found).toMatchObject({ run: 'r2', beside: 'r1' });
    if (!found) return;
    expect(Math.abs(found.share - found.expected[kind])).toBeLessThan(1.96 * Math.hypot(found.u, 0.08));
    for (const other of PARTING_KINDS)
      if (other !== kind) expect(partingLogs(found, kind)).toBeGreaterThan(partingLogs(found, other) + 1);
  });

  it('part as one stage with another resistance does: 1 − (1 + t/τ)·exp(−t/τ)', () => {
    const stage = (rise_K: number) => ({
      rise_K,
      u_K: 0.01,
      time_constants_s: [0.01, 100],
      amplitudes_K: [0.001, rise_K - 0.001],
      interval_s: 1,
    });
    const found = partingOf(stage(40), stage(30));
    const x = (found?.at_s as number) / 100;
    expect(found?.expected.leak).toBeCloseTo(1 - (1 + x) * Math.exp(-x), 2);
    expect(found?.expected.airflow).toBeCloseTo(1 - (1 + x) * Math.exp(-x), 1);
  });

  it('tell nothing where they end together, or at unlike loads', () => {
    const { mate } = logsThatPart('leak', 4, 160);
    const bench = benchOfLogs({ 'a.csv': mate, 'b.csv': mate });
    expect(partingOfMount(bench, [run('r2')], [run('r1')])).toBeUndefined();
    expect(partingOfMount(bench, [{ ...run('r2'), power_W: 120 }], [run('r1')])).toBeUndefined();
  });

  it('count for the cause of a strange mount, and are said', () => {
    const bench = readBench(
      makeVirtualBench({
        seed: 11,
        coolers: 4,
        samples: 1,
        mounts: 2,
        loads_W: [60, 160],
        speeds: [1],
        noise_speeds: [],
        faults: [{ cooler: 'cooler-2', sample: '1', mount: '2', interface_K_per_W: 0.06 }],
      }).files,
    );
    const own = bench.runs.filter(({ cooler, power_W }) => cooler === 'cooler-2' && power_W > 150);
    const { mate, odd } = logsThatPart('interface', 5, 160);
    const { logs, logFiles } = benchOfLogs({ 'mate.csv': mate, 'odd.csv': odd });
    const ids = [own.find(({ mount }) => mount === '1'), own.find(({ mount }) => mount === '2')];
    const logged = {
      ...bench,
      logs: logs.map((entry, i) => ({ ...entry, run: ids[i]?.run ?? '' })),
      logFiles,
    };
    const [bare, told] = [bench, logged].map((one) =>
      screen(one).mounts.find(({ verdict }) => verdict !== 'ok'),
    );
    expect(bare).toMatchObject({ cooler: 'cooler-2', mount: '2', parting: null });
    expect(told).toMatchObject({ cooler: 'cooler-2', mount: '2', cause: 'interface' });
    expect(told?.parting).toMatchObject({ run: ids[1]?.run, beside: ids[0]?.run });
    expect(told?.remark).toMatch(
      /by its log r\d+ has moved away from r\d+ by \d+ ± \d+ % of the final difference/,
    );
    expect(told?.cause_probability).toBeGreaterThan(bare?.cause_probability as number);
  });
});
