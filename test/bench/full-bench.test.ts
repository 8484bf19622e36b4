import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { distinctMounts } from '../../src/bench/mounts.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { writeTable } from '../../src/bench/write-table.ts';
import { readBenchFolder } from '../../src/cli/read-folder.ts';

const files = readBenchFolder(path.join(import.meta.dirname, 'fixtures/full'));
const bench = readBench(files);

describe('a bench with everything in it', () => {
  test('settings, in the units of the bench', () => {
    expect(bench.name).toBe('North attic');
    expect(bench.ambient).toEqual({ setpoint_C: 22, tolerance_K: 0.8 });
    expect(bench.instruments).toEqual({
      source_temperature: { systematic_K: 0.4, resolution_K: 0.05 },
      ambient_temperature: { systematic_K: 0.2, resolution_K: 0.1 },
      power: { systematic_percent: 0.3 },
      sound_level: { systematic_dB: 0.7, background_dBA: 26.5, distance_mm: 500 },
    });
    expect(bench.heater.power_max_W).toBe(400);
    expect(bench.heater.temperature_limit_C).toBeCloseTo(100, 12);
    expect(bench.heater.leak_W_per_K).toEqual({ value: 0.12, uncertainty: 0.05 });
    expect(bench.chips).toEqual([
      {
        chip: 'slate 8',
        temperature_limit_C: 95,
        sensor_systematic_K: 1.5,
        power_systematic_percent: 3,
        leak_W_per_K: { value: 0.08, uncertainty: 0.02 },
        extra: { socket: 'wide' },
      },
    ]);
    expect(bench.methods).toEqual([{ method: 'open bench', dwell_min: 12 }]);
    expect(bench.sessions).toEqual(['spring', { session: 'autumn', paste: 'grey' }]);
    expect(bench.reference_cooler).toBe('Birch-120');
    expect(bench.extra).toEqual({ room: 'second floor' });
  });

  test('runs: units, defaults, quoted cells, unknown columns', () => {
    const [first, second, third] = bench.runs;
    const { source_C, ambient_C, torque_Nm, extra, ...exact } = first;
    expect(exact).toEqual({
      run: 'b1',
      cooler: 'Birch-120',
      sample: '1',
      mount: 'a',
      source: 'heater',
      power_W: 150,
      fan_rpm: 1500,
      u_K: 0.04,
      sound_dBA: 35.2,
      session: 'spring',
      method: 'open bench',
      started: '2024-03-01T09:30:00Z',
      fan_duty_percent: 100,
      pressure_hPa: 985,
      orientation: 'upright',
      paste: 'grey',
      operator: 'kl',
      note: 'first, "quiet" day,\nwindow shut',
      line: 2,
    });
    expect(source_C).toBeCloseTo(61.25, 10);
    expect(ambient_C).toBeCloseTo(22, 10);
    expect(torque_Nm).toBeCloseTo(0.5649241451380834, 12);
    expect(Object.entries(extra)).toEqual([
      ['rack', 'left'],
      ['__proto__', 'x'],
    ]);
    expect(second).toMatchObject({
      run: 'run-5',
      sample: '1',
      source: 'heater',
      power_W: 0,
      note: '=SUM(A1)',
      line: 5,
    });
    expect(third).toMatchObject({
      cooler: 'Tarn 240',
      sample: '2',
      source: 'slate 8',
      pump_rpm: 2600,
      line: 6,
    });
    expect(distinctMounts(bench.runs).map((mount) => mount.runs.map((run) => run.run))).toEqual([
      ['b1', 'run-5'],
      ['t1'],
    ]);
  });

  test('coolers in order of appearance, the highest speed seen where none is stated', () => {
    expect(bench.coolers).toEqual([
      {
        cooler: 'Birch-120',
        kind: 'air',
        heat_pipes: 4,
        heat_pipe_diameter_mm: 6,
        base_thickness_mm: 3,
        fan_max_rpm: 1500,
        fan_max_stated: true,
        fan_min_rpm: 500,
        fans: 1,
        price: 39.5,
        extra: { colour: 'black' },
      },
      { cooler: 'Tarn 240', kind: 'liquid', fans: 2, fan_max_rpm: 2000, fan_max_stated: false, extra: {} },
      { cooler: 'Birch', kind: 'air', fan_max_rpm: 0, fan_max_stated: false, extra: {} },
    ]);
  });

  test('noise, flatness by the longest cooler name, logs, models', () => {
    expect(bench.noise).toEqual([
      { cooler: 'Birch-120', fan_rpm: 600, sound_dBA: 27.2, line: 2 },
      { cooler: 'Tarn 240', fan_rpm: 2000, sound_dBA: 41, line: 3 },
    ]);
    expect(bench.flatness).toEqual([
      {
        cooler: 'Birch-120',
        sample: '2',
        points: [
          { x_mm: 0, y_mm: 0, depth_um: 0 },
          { x_mm: 10, y_mm: 0, depth_um: 10 },
          { x_mm: 10, y_mm: 10, depth_um: 25 },
        ],
      },
    ]);
    expect(bench.logs).toEqual([
      {
        run: 'l1',
        cooler: 'Birch-120',
        sample: '2',
        mount: 'c',
        source: 'heater',
        log: 'steps.csv',
        extra: { place: '2', started: '2024-03-02 10:00', torque_Nm: '0.6' },
        line: 2,
      },
    ]);
    expect([...bench.logFiles.keys()]).toEqual(['steps.csv']);
    expect([...bench.modelFiles]).toEqual([['models/own.yaml', 'name: own\n']]);
    expect(bench.files).toEqual([
      'bench.yaml',
      'coolers.csv',
      'flatness/Birch-120-2.csv',
      'logs.csv',
      'logs/steps.csv',
      'models/own.yaml',
      'noise.csv',
      'runs.csv',
    ]);
    expect(bench.warnings).toEqual([
      'bench.yaml:18:5: "socket" is not a key that is read; it is kept as it is',
      'bench.yaml:27:1: "room" is not a key that is read; it is kept as it is',
      'coolers.csv:2:1: no kind for "Birch-120": taken as air; write air or liquid under kind',
    ]);
  });

  test('reads the same below a folder name, and in another order of files', () => {
    const below = new Map([...files].reverse().map(([name, bytes]) => [`my bench/${name}`, bytes]));
    expect(readBench(below)).toEqual(bench);
  });

  test('its runs written out and read again are the same runs', () => {
    const columns = [...new Set(bench.runs.flatMap((run) => Object.keys(run)))].filter(
      (name) => name !== 'extra' && name !== 'line',
    );
    const written = writeTable(columns, bench.runs as unknown as Record<string, string | number>[]);
    const again = readBench(new Map(files).set('runs.csv', new TextEncoder().encode(written)));
    const bare = (runs: typeof bench.runs) =>
      runs.map((run) => ({ ...run, unnamed: undefined, extra: {}, line: 0 }));
    expect(bare(again.runs)).toEqual(bare(bench.runs));
  });
});
