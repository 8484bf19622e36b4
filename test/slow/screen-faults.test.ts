import { describe, expect, it } from 'vitest';
import { screen } from '../../src/answers/screen.ts';
import { KINDS, plant } from '../benchmarks/screen-study.ts';

describe('faults planted a whole mount at a time', () => {
  // For each kind one of the study's benches on which the shift is over seven standard deviations of what is judged.
  const seeds = { interface: 190, airflow: 11, leak: 22, sensor: 13, 'pipe-limit': 14 };
  it.each(KINDS)('%s is found, named, and nothing else is blamed', (kind) => {
    const { bench, cooler, sample, mount } = plant('speeds', seeds[kind], kind);
    const { mounts, runs } = screen(bench);
    expect(mounts).toHaveLength(20);
    expect(runs).toHaveLength(100);
    const strange = mounts.filter((one) => one.verdict !== 'ok');
    expect(strange).toHaveLength(1);
    expect(strange[0]).toMatchObject({ cooler, sample, mount, verdict: 'outlier', cause: kind });
    expect(strange[0].cause_probability).toBeGreaterThan(0.5);
    expect(strange[0].next_run).toMatchObject({ cooler, sample, source: 'heater' });
    expect(strange[0].next_run!.between).toContain(kind);
  });
});
