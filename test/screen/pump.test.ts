import { describe, expect, it } from 'vitest';
import { screen, screenTables } from '../../src/answers/screen.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import type { Fault, VirtualBenchOptions } from '../../src/lab/bench-options.ts';
import { randomCoolers } from '../../src/lab/random-coolers.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { liquidCoolers } from '../benchmarks/liquid-coolers.ts';

const place = { cooler: 'liquid-2', sample: '2', mount: '1' };
const base: VirtualBenchOptions = {
  seed: 7,
  coolers: [...liquidCoolers(3, 7), ...randomCoolers(2, 7)],
  samples: 2,
  mounts: 2,
  noise_speeds: [],
  loads_W: [60, 120, 180],
  scatter: { mount_K_per_W: 0.003, sample_K_per_W: 0.002 },
};
const benchWith = (fault: Fault, more: Partial<VirtualBenchOptions> = {}) =>
  readBench(makeVirtualBench({ ...base, ...more, faults: [{ ...place, ...fault }] }).files);
const isIll = (run: { cooler: string; sample: string; mount?: string }) =>
  run.cooler === place.cooler && run.sample === place.sample && run.mount === place.mount;

function strange(bench: ReturnType<typeof benchWith>) {
  const result = screen(bench);
  const found = result.mounts.filter((one) => one.verdict !== 'ok');
  expect(found).toHaveLength(1);
  expect(found[0]).toMatchObject(place);
  const chance = (cause: string) => found[0].causes.find((one) => one.cause === cause)?.probability ?? 0;
  return { mount: found[0], chance, result };
}

describe('a pump slower than its tachometer, the coolant logged', () => {
  it.each(['behind-plate', 'before-plate'] as const)('%s: is named', (at) => {
    const { mount, chance } = strange(benchWith({ pump_fraction: 0.22 }, { coolant: { at } }));
    expect(mount.likely_cause).toBe('pump');
    expect(chance('pump')).toBeGreaterThan(0.9);
    expect(mount.remark).toBeNull();
    // The word list that scripts rely on has no pump.
    expect(mount.cause).toBe('unexplained');
    expect(mount.cause_probability).toBeCloseTo(chance('pump') + chance('unexplained'), 12);
  });

  it.each(['behind-plate', 'before-plate'] as const)('%s: less air is still less air', (at) => {
    const { mount } = strange(benchWith({ airflow_fraction: 0.4 }, { coolant: { at }, speeds: [0.6, 1] }));
    expect(mount).toMatchObject({ cause: 'airflow', likely_cause: 'airflow' });
  });

  it.each(['behind-plate', 'before-plate'] as const)('%s: a poor interface is still one', (at) => {
    const { mount, chance } = strange(benchWith({ interface_K_per_W: 0.035 }, { coolant: { at } }));
    expect(mount).toMatchObject({ cause: 'interface', likely_cause: 'interface' });
    expect(chance('pump')).toBeLessThan(0.3);
  });
});

describe('without the coolant, at one speed of fan and pump', () => {
  const { mount, chance, result } = strange(benchWith({ interface_K_per_W: 0.03 }));

  it('pump and interface are equally likely, and the tie is said', () => {
    expect(chance('pump')).toBeCloseTo(chance('interface'), 9);
    expect(chance('pump')).toBeGreaterThan(0.3);
    expect(mount.likely_cause).toBe('interface');
    expect(result.warnings.join()).toMatch(
      /liquid-2: without coolant_C a slow pump and a poor interface look alike/,
    );
    expect(screenTables(result, 120)).toMatch(
      /interface \((\d+) %\) or pump \(\1 %\)|pump \((\d+) %\) or interface \(\2 %\)/,
    );
  });

  it('fresh paste tells them apart', () => {
    expect(mount.next_run).toMatchObject({ remount: true, coolant: false, pump_rpm: null });
    expect([...(mount.next_run?.between ?? [])].sort()).toEqual(['interface', 'pump']);
    expect(mount.next_run?.why).toMatch(/a slow pump/);
  });
});

describe('where other mounts ran their pump at a second speed and the strange one did not', () => {
  it('what they did there does not break the tie', () => {
    const bench = benchWith(
      { interface_K_per_W: 0.03 },
      {
        conditions: [60, 120, 180].flatMap((power_W) =>
          [1, 0.4].map((pump) => ({ power_W, speed: 1, pump })),
        ),
      },
    );
    const usual = Math.max(...bench.runs.filter(isIll).map((run) => run.pump_rpm as number));
    bench.runs = bench.runs.filter((run) => !isIll(run) || run.pump_rpm === usual);
    const { chance } = strange(bench);
    expect(chance('pump')).toBeGreaterThan(0.2);
    expect(chance('pump')).toBeCloseTo(chance('interface'), 9);
  });
});

describe('where other mounts have a coolant reading and the strange one has none', () => {
  it('the coolant is what to read next', () => {
    const bench = benchWith({ interface_K_per_W: 0.03 }, { coolant: { at: 'before-plate' } });
    for (const run of bench.runs) if (isIll(run)) delete run.coolant_C;
    const { mount } = strange(bench);
    expect(mount.next_run).toMatchObject({ coolant: true, remount: false });
    expect(mount.next_run?.why).toMatch(/^read the coolant on the mount as it stands/);
  });
});

describe('a pump recorded slow', () => {
  const bench = benchWith({ pump_fraction: 0.22 });
  for (const run of bench.runs) if (isIll(run)) run.pump_rpm = Math.round(0.22 * (run.pump_rpm as number));
  const { mount, result } = strange(bench);

  it('is named, and the recorded speed is said', () => {
    expect(mount.likely_cause).toBe('pump');
    expect(mount.remark).toMatch(/^the pump ran at 22 % of its usual speed \(\d+ of \d+ rpm\), as recorded$/);
    expect(screenTables(result, 200)).toContain(mount.remark as string);
  });
});

describe('air coolers', () => {
  it('have no pump among their causes', () => {
    const options = { ...base, coolers: randomCoolers(4, 3) };
    const fault = { cooler: 'cooler-2', sample: '1', mount: '2', interface_K_per_W: 0.05 };
    const { mounts } = screen(readBench(makeVirtualBench({ ...options, faults: [fault] }).files));
    const found = mounts.filter((one) => one.verdict !== 'ok');
    expect(found).toHaveLength(1);
    expect(found[0].causes.map((one) => one.cause)).not.toContain('pump');
  });
});
