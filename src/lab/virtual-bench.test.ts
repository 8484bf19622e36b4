import { describe, expect, it } from 'vitest';
import { labData } from './lab-data.generated.ts';
import { makeRandom } from './random.ts';
import { randomCoolers } from './random-coolers.ts';
import { makeVirtualBench } from './virtual-bench.ts';

const text = (files: Map<string, Uint8Array>, name: string) => new TextDecoder().decode(files.get(name));
const rows = (files: Map<string, Uint8Array>, name: string) => {
  const [head, ...rest] = text(files, name).trim().split('\n');
  const columns = head.split(',');
  return rest.map((line) => Object.fromEntries(line.split(',').map((cell, k) => [columns[k], cell])));
};
const spread = (values: readonly number[]) => {
  const mean = values.reduce((sum, x) => sum + x, 0) / values.length;
  const sd = Math.sqrt(values.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (values.length - 1));
  return { mean, sd };
};

describe('random streams', () => {
  it('are uniform and normal', () => {
    const draw = makeRandom(3);
    const uniform = spread(Array.from({ length: 20000 }, () => draw.uniform()));
    expect(Math.abs(uniform.mean - 0.5)).toBeLessThan(0.01);
    expect(Math.abs(uniform.sd - Math.sqrt(1 / 12))).toBeLessThan(0.01);
    const normal = spread(Array.from({ length: 20000 }, () => draw.normal(5, 2)));
    expect(Math.abs(normal.mean - 5)).toBeLessThan(0.06);
    expect(Math.abs(normal.sd - 2)).toBeLessThan(0.05);
  });
  it('of near keys and seeds have nothing in common', () => {
    const first = Array.from({ length: 4000 }, (_, k) => makeRandom(1).split(`r${k}`).normal());
    const second = Array.from({ length: 4000 }, (_, k) => makeRandom(2).split(`r${k}`).normal());
    expect(Math.abs(spread(first).mean)).toBeLessThan(0.06);
    expect(Math.abs(spread(first).sd - 1)).toBeLessThan(0.05);
    const correlation = spread(first.map((x, k) => x * second[k])).mean;
    const neighbours = spread(first.slice(1).map((x, k) => x * first[k])).mean;
    expect(Math.abs(correlation)).toBeLessThan(0.06);
    expect(Math.abs(neighbours)).toBeLessThan(0.06);
  });
  it('split without regard to what was drawn before', () => {
    const one = makeRandom(9);
    const two = makeRandom(9);
    one.uniform();
    expect(one.split('a').uniform()).toBe(two.split('a').uniform());
  });
});

describe('virtual bench', () => {
  it('gives the same bytes for the same seed and others for another', () => {
    const one = makeVirtualBench({ seed: 7 });
    const again = makeVirtualBench({ seed: 7 });
    const other = makeVirtualBench({ seed: 8 });
    expect([...one.files.keys()]).toEqual(['bench.yaml', 'runs.csv', 'coolers.csv', 'noise.csv']);
    for (const [name, bytes] of one.files) expect(again.files.get(name)).toEqual(bytes);
    expect(text(other.files, 'runs.csv')).not.toBe(text(one.files, 'runs.csv'));
  });

  it('keeps the draws of the others when a cooler is added', () => {
    const two = makeVirtualBench({ seed: 4, coolers: labData.coolers.slice(0, 2) });
    const three = makeVirtualBench({ seed: 4, coolers: labData.coolers.slice(0, 3) });
    const before = text(two.files, 'runs.csv').trim();
    expect(text(three.files, 'runs.csv').startsWith(before)).toBe(true);
    expect(randomCoolers(3, 1)).toEqual(randomCoolers(5, 1).slice(0, 3));
  });

  it('has a run for every sample, mount, load and speed', () => {
    const { files } = makeVirtualBench({
      seed: 1,
      coolers: 3,
      samples: { 'cooler-2': 2 },
      mounts: 3,
      loads_W: [60, 150],
      speeds: [1, 0.5],
      zeroLoadRuns: 2,
    });
    const runs = rows(files, 'runs.csv');
    expect(runs.length).toBe((1 + 2 + 1) * 3 * 4 + 2);
    expect(runs.filter((run) => run.power_W === '0').length).toBe(2);
    expect(new Set(runs.map((run) => run.run)).size).toBe(runs.length);
  });

  it('reads the truth exactly when every error is zero', () => {
    const { files, truth } = makeVirtualBench({
      seed: 2,
      scatter: { mount_K_per_W: 0, sample_K_per_W: 0, reading_K: 0 },
      instruments: {
        source_systematic_K: 0,
        ambient_systematic_K: 0,
        power_systematic_percent: 0,
        temperature_resolution_K: 0,
      },
      ambient: { wander_K: 0 },
      heaterLeak: { value: 0.05, uncertainty: 0.01 },
    });
    for (const run of rows(files, 'runs.csv')) {
      const rise = Number(run.source_C) - Number(run.ambient_C);
      expect(rise).toBeCloseTo(truth.rise_K(run.cooler, Number(run.power_W), Number(run.fan_rpm)), 3);
    }
  });

  it('scatters fresh runs as it says: sample and mount grow with load, reading and rounding do not', () => {
    const { truth } = makeVirtualBench({
      seed: 3,
      scatter: { mount_K_per_W: 0.006, sample_K_per_W: 0.004, reading_K: 0.1 },
      ambient: { wander_K: 0 },
    });
    const session = truth.sessions[0];
    for (const P of [60, 160]) {
      const reads = Array.from({ length: 4000 }, (_, k) => truth.freshRun('Rowan', P, 1750, k));
      const { mean, sd } = spread(reads);
      const expected = Math.sqrt(P * P * (0.006 ** 2 + 0.004 ** 2) + 0.1 ** 2 + 0.1 ** 2 / 12);
      expect(Math.abs(sd / expected - 1)).toBeLessThan(0.05);
      const truly =
        truth.rise_K('Rowan', P / (1 + session.power_scale), 1750) +
        session.source_offset_K -
        session.ambient_offset_K;
      expect(Math.abs(mean - truly)).toBeLessThan(0.07);
    }
  });

  it('shares a mount’s resistance among its runs and a session’s offset among all', () => {
    const { files, truth } = makeVirtualBench({
      seed: 5,
      sessions: ['spring', 'autumn'],
      reference_cooler: 'Rowan',
      scatter: { mount_K_per_W: 0.01, sample_K_per_W: 0.01, session_K_per_W: 0.01, reading_K: 0 },
      instruments: { temperature_resolution_K: 0 },
      ambient: { wander_K: 0 },
    });
    for (const run of rows(files, 'runs.csv')) {
      const session = truth.sessions.find((one) => one.session === run.session)!;
      const added =
        truth.sample_K_per_W.get(`${run.cooler}/${run.sample}`)! +
        truth.mount_K_per_W.get(`${run.cooler}/${run.sample}/heater/${run.mount}`)! +
        session.paste_K_per_W;
      const load = Number(run.power_W) / (1 + session.power_scale);
      const reads = Number(run.source_C) - Number(run.ambient_C);
      const offsets = session.source_offset_K - session.ambient_offset_K;
      expect(reads - offsets).toBeCloseTo(
        truth.rise_K(run.cooler, load, Number(run.fan_rpm)) + load * added,
        3,
      );
    }
    expect(rows(files, 'runs.csv').filter((run) => run.mount === 'ref-spring').length).toBe(3);
  });

  it('puts a chip on the same coolers with its own sensor error', () => {
    const { files, truth } = makeVirtualBench({
      seed: 6,
      chips: [{ chip: labData.chips[0], coolers: ['Siskin'], loads_W: [100] }],
    });
    const run = rows(files, 'runs.csv').find((one) => one.source === 'chip-a')!;
    const truly = truth.rise_K('Siskin', 100, 1900, 'chip-a');
    expect(truly).toBeGreaterThan(truth.rise_K('Siskin', 100, 1900) + 5);
    expect(Math.abs(Number(run.source_C) - Number(run.ambient_C) - truly)).toBeLessThan(10);
    expect(text(files, 'bench.yaml')).toContain('chip: chip-a');
  });

  it('knows where the shipped pair changes order', () => {
    const { truth } = makeVirtualBench({ seed: 1 });
    const all = truth.crossings_W('Siskin', 'Hornbeam');
    expect(all.length).toBe(1);
    expect(all[0]).toBeGreaterThan(180);
    expect(all[0]).toBeLessThan(190);
    expect(truth.crossing_W('Hornbeam', 'Siskin')).toBeCloseTo(all[0], 5);
    expect(truth.rise_K('Siskin', all[0], 1900)).toBeCloseTo(truth.rise_K('Hornbeam', all[0], 1850), 5);
    expect(truth.crossing_W('Siskin', 'Merganser')).toBeUndefined();
  });

  it('meters sound as the energy sum with the background', () => {
    const { truth, files } = makeVirtualBench({ seed: 1, background_dBA: 26 });
    const level = truth.metered_dBA('Hornbeam', 1) - truth.sessions[0].sound_offset_dB;
    expect(level).toBeCloseTo(26, 6);
    for (const row of rows(files, 'noise.csv')) {
      const error = Number(row.sound_dBA) - truth.metered_dBA(row.cooler, Number(row.fan_rpm));
      expect(Math.abs(error)).toBeLessThan(1);
    }
  });

  it.each([
    ['interface', { interface_K_per_W: 0.02 }, 1],
    ['airflow', { airflow_fraction: 0.5 }, 1],
    ['sensor', { sensor_K: 2 }, 1],
    ['pipe-limit', { pipe_limit_fraction: 0.6 }, 1],
    ['leak', { leak_W_per_K: 0.3 }, -1],
  ] as const)('plants a fault of %s in the runs it names and in no other', (_, fault, sign) => {
    const well = makeVirtualBench({ seed: 1 });
    const ill = makeVirtualBench({
      seed: 1,
      faults: [{ cooler: 'Rowan', mount: '2', power_W: 180, ...fault }],
    });
    const before = rows(well.files, 'runs.csv');
    const after = rows(ill.files, 'runs.csv');
    expect(ill.truth.faults.size).toBe(1);
    expect(well.truth.faults.size).toBe(0);
    after.forEach((run, k) => {
      const change = Number(run.source_C) - Number(before[k].source_C);
      if (ill.truth.faults.has(run.run)) {
        expect([run.cooler, run.mount]).toEqual(['Rowan', '2']);
        expect(change * sign).toBeGreaterThan(1);
      } else expect(run).toEqual(before[k]);
    });
  });

  it('slows a pump behind its tachometer, and only that', () => {
    const options = { seed: 1, coolant: { at: 'behind-plate' } } as const;
    const well = rows(makeVirtualBench(options).files, 'runs.csv');
    const slowed = makeVirtualBench({
      ...options,
      faults: [{ mount: '2', power_W: 180, pump_fraction: 0.4 }],
    });
    rows(slowed.files, 'runs.csv').forEach((run, k) => {
      const more = (name: string) => Number(run[name]) - Number(well[k][name]);
      if (run.pump_rpm === '' || !slowed.truth.faults.has(run.run)) {
        expect(run).toEqual(well[k]);
        return;
      }
      expect(run.pump_rpm).toBe(well[k].pump_rpm);
      expect(more('source_C')).toBeGreaterThan(1);
      // Half of what the coolant warms by in the plate comes on top of the mean that the radiator needs.
      expect(more('coolant_C')).toBeGreaterThan(more('source_C'));
    });
    expect(slowed.truth.faults.size).toBeGreaterThan(0);
  });

  it('meters the coolant before and behind the plate, and leaves everything else as it was', () => {
    const plain = rows(makeVirtualBench({ seed: 1 }).files, 'runs.csv');
    const [hot, cold] = (['behind-plate', 'before-plate'] as const).map((at) =>
      rows(makeVirtualBench({ seed: 1, coolant: { at } }).files, 'runs.csv'),
    );
    plain.forEach((run, k) => {
      expect(hot[k]).toEqual({ ...run, coolant_C: hot[k].coolant_C });
      if (run.pump_rpm === '') {
        expect(hot[k].coolant_C).toBe('');
        return;
      }
      // Heat over the capacity rate of about a litre a minute of coolant.
      const warming = Number(hot[k].coolant_C) - Number(cold[k].coolant_C);
      expect(Number(run.power_W) / warming).toBeGreaterThan(30);
      expect(Number(run.power_W) / warming).toBeLessThan(120);
    });
  });

  it('names a cooler that it does not have', () => {
    const { truth } = makeVirtualBench({ seed: 1 });
    expect(() => truth.rise_K('Wren', 100, 1000)).toThrow(/no cooler Wren/);
    expect(() => truth.rise_K('Rowan', 100, 1000, 'chip-z')).toThrow(/no source chip-z/);
  });
});

describe('random coolers', () => {
  it('are spread widely but plausible', () => {
    const specs = randomCoolers(200, 11);
    const { truth } = makeVirtualBench({ seed: 1, coolers: specs, mounts: 0, noise_speeds: [] });
    const R = specs
      .map((spec) => truth.rise_K(spec.cooler, 120, spec.fan.max_rpm) / 120)
      .sort((a, b) => a - b);
    expect(R[0]).toBeGreaterThan(0.12);
    expect(R[199]).toBeLessThan(0.4);
    expect(R[190] / R[10]).toBeGreaterThan(1.3);
    const limits = specs.flatMap(({ pipes }) => (pipes ? [pipes.count * pipes.limit_W] : []));
    expect(limits.filter((limit) => limit < 180).length).toBeGreaterThan(10);
    expect(limits.filter((limit) => limit > 300).length).toBeGreaterThan(10);
    expect(specs.filter((spec) => !spec.pipes).length).toBeGreaterThan(5);
    expect(specs.filter((spec) => spec.listed.hide_pipes).length).toBeGreaterThan(10);
  });
});
