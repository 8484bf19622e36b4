import { describe, expect, it } from 'vitest';
import { benchOfLogs } from '../../test/logs/bench-of-logs.ts';
import { type LogRecipe, makeLog, seeded } from '../../test/logs/make-logs.ts';
import type { Bench } from '../bench/bench.ts';
import { findLoadSteps, runsAmong } from './load-steps.ts';
import { scanLog } from './log-scanner.ts';
import { reduce, reducedRuns } from './reduce.ts';
import { reduceLog } from './reduce-log.ts';

const plain: LogRecipe = {
  loads: [{ power_W: 200, seconds: 1500 }],
  elements: [
    { resistance_K_per_W: 0.06, time_s: 10 },
    { resistance_K_per_W: 0.14, time_s: 120 },
  ],
  interval_s: 1,
  noise_K: 0.04,
  correlation: 0.5,
  ambient_C: 22,
  wander_K: 0.2,
  wander_s: 600,
  ambientNoise_K: 0.02,
  powerNoise_W: 0.1,
  rounding_K: 0.01,
  ambientRounding_K: 0.01,
};

const benchOf = (logs: Record<string, string>): Bench =>
  benchOfLogs(logs, { mount: 'm1', extra: { session: 's1', torque_Nm: '0.6', room: 'B' } });

describe('reducing logs', () => {
  it('finds the steady rise of a full log', () => {
    const made = makeLog(plain, seeded(1));
    const [run] = reduce(benchOf({ 'a.csv': made.csv })).runs;
    expect(run.run).toBe('r1');
    expect(Math.abs(run.rise_K! - 40)).toBeLessThan(3 * run.u_K!);
    expect(run.u_K).toBeLessThan(0.02);
    expect([run.steady, run.usable, run.reasons]).toEqual([true, true, []]);
    expect(run.time_constants_s.at(-1)).toBeGreaterThan(110);
    expect(run.time_constants_s.at(-1)).toBeLessThan(130);
    // 28 K exp(−t/120 s) = 0.1 K
    expect(run.settled_after_s).toBeGreaterThan(120 * Math.log(280) - 30);
    expect(run.settled_after_s).toBeLessThan(120 * Math.log(280) + 30);
    expect(run.early_stop_s).toBeGreaterThan(60);
    expect(run.early_stop_s).toBeLessThan(800);
  });

  it('says in words why a short run is not steady, and still gives its asymptote', () => {
    const made = makeLog({ ...plain, loads: [{ power_W: 200, seconds: 400 }], ambient_C: 24 }, seeded(2));
    const [run] = reduce(benchOf({ 'a.csv': made.csv })).runs;
    expect(run.steady).toBe(false);
    expect(run.reasons.join('; ')).toMatch(
      /still rising \d\.\d+ K per minute; the last window is \d\.\d+ K below the asymptote/,
    );
    expect(run.reasons.join('; ')).toMatch(/ambient ran from/);
    expect(Math.abs(run.rise_K! - 40)).toBeLessThan(3 * run.u_K!);
  });

  it('makes a run of every load step and none of idling', () => {
    const made = makeLog(
      {
        ...plain,
        idle_s: 120,
        loads: [
          { power_W: 100, seconds: 900 },
          { power_W: 200, seconds: 900 },
          { power_W: 200, fan_rpm: 700, seconds: 600 },
          { power_W: 0, seconds: 200 },
        ],
      },
      seeded(3),
    );
    const log = scanLog('a.csv', new TextEncoder().encode(made.csv));
    expect(runsAmong(findLoadSteps(log)).map((step) => [step.first, step.end])).toEqual([
      [120, 1020],
      [1020, 1920],
      [1920, 2520],
    ]);
    const runs = reduce(benchOf({ 'a.csv': made.csv })).runs;
    expect(runs.map((run) => run.run)).toEqual(['r1.1', 'r1.2', 'r1.3']);
    expect(runs.map((run) => Math.round(run.power_W))).toEqual([100, 200, 200]);
    expect(Math.abs(runs[0].rise_K! - 20)).toBeLessThan(3 * runs[0].u_K!);
    expect(Math.abs(runs[1].rise_K! - 40)).toBeLessThan(3 * runs[1].u_K!);
  });

  it('sees small steps of the load as steps, not as drift', () => {
    const small = { ...plain, powerNoise_W: 0.02 };
    const staircase = (watts: number[]) =>
      reduce(
        benchOf({
          'a.csv': makeLog(
            { ...small, loads: watts.map((power_W) => ({ power_W, seconds: 500 })) },
            seeded(21),
          ).csv,
        }),
      ).runs;
    expect(staircase([15, 16, 17]).map((run) => Math.round(run.power_W))).toEqual([15, 16, 17]);
    const below = staircase([0.5, 1, 1.8]);
    expect(below.map((run) => Number(run.power_W.toFixed(1)))).toEqual([0.5, 1, 1.8]);
    for (const run of below) expect([...run.reasons, ...run.notes].join()).not.toMatch(/load drifted/);
  });

  it('makes a run of each plateau between long gaps', () => {
    const lines = makeLog({ ...plain, loads: [{ power_W: 200, seconds: 3000 }] }, seeded(22)).csv.split('\n');
    const kept = lines.filter((_, i) => i <= 1000 || (i > 1800 && i < 2800));
    expect(reduce(benchOf({ 'a.csv': kept.join('\n') })).runs.map((run) => run.run)).toEqual([
      'r1.1',
      'r1.2',
    ]);
  });

  it('does not take a load that fell by half for one steady state', () => {
    const lines = makeLog(plain, seeded(23)).csv.split('\n');
    const fallen = lines.map((line, i) =>
      i === 0
        ? line
        : line.replace(
            /,(\d+\.\d+),(\d+)$/,
            (_, watts, rpm) => `,${(Number(watts) * (1 - i / 3000)).toFixed(2)},${rpm}`,
          ),
    );
    const [run] = reduce(benchOf({ 'a.csv': fallen.join('\n') })).runs;
    expect(run.usable).toBe(false);
    expect(run.reasons.join()).toMatch(/the load drifted by \d+ %, more than the 10 %/);
  });

  it('reduces a log without load to the offset of the sensors', () => {
    const made = makeLog({ ...plain, loads: [{ power_W: 0, seconds: 600 }] }, seeded(4));
    const [run] = reduce(benchOf({ 'a.csv': made.csv })).runs;
    expect(Math.abs(run.rise_K!)).toBeLessThan(3 * run.u_K!);
    expect(run.steady).toBe(true);
  });

  it('mends single readings of a loose sensor', () => {
    const lines = makeLog(plain, seeded(7)).csv.split('\n');
    for (const row of [400, 401 + 20, 900]) lines[row] = lines[row].replace(/^(\d+),[^,]+/, '$1,850.0');
    const [run] = reduce(benchOf({ 'a.csv': lines.join('\n') })).runs;
    expect(Math.abs(run.rise_K! - 40)).toBeLessThan(3 * run.u_K!);
    expect(run.notes.join()).toMatch(/3 source readings jump more than 8 K away and back, first at 399 s/);
  });

  it('takes drift of the load and of the air out, however the source follows the air', () => {
    for (const follow of ['ladder', 'slowest', 'shares', 'at-once'] as const) {
      const made = makeLog(
        { ...plain, follow, wander_K: 0.4, wander_s: 300, loadSwing: { share: 0.003, period_s: 700 } },
        seeded(8),
      );
      const [run] = reduce(benchOf({ 'a.csv': made.csv })).runs;
      expect(Math.abs(run.rise_K! - 40)).toBeLessThan(0.03);
      // A log alone cannot tell slow noise from none.
      expect(run.u_K).toBeLessThan(0.08);
    }
  });

  it('refuses a log of a few rows in words', () => {
    const [run] = reduce(
      benchOf({ 'a.csv': 'time_s,source_C,ambient_C,power_W,fan_rpm\n0,22,22,100,900\n1,23,22,100,900\n' }),
    ).runs;
    expect([run.usable, run.rise_K]).toEqual([false, null]);
    expect(run.reasons[0]).toMatch(/only 1 s and 2 rows/);
  });

  it('refuses readings that are no response in words', () => {
    const lines = makeLog({ ...plain, loads: [{ power_W: 200, seconds: 300 }] }, seeded(9)).csv.split('\n');
    const wild = lines.map((line, i) =>
      i === 0 ? line : line.replace(/,[^,]+/, `,${i % 7 === 0 ? '1e300' : '22'}`),
    );
    const [run] = reduce(benchOf({ 'a.csv': wild.join('\n') })).runs;
    expect([run.usable, run.steady, run.rise_K]).toEqual([false, false, null]);
    expect(run.reasons).toEqual(['the readings follow no thermal response; check the sensors and the log']);
  });

  it('makes rows of runs.csv', () => {
    const made = makeLog(plain, seeded(5));
    const bench = benchOf({ 'a.csv': made.csv });
    const rows = reducedRuns(bench, reduce(bench));
    expect(rows[0]).toMatchObject({
      run: 'r1',
      cooler: 'Siskin',
      mount: 'm1',
      session: 's1',
      torque_Nm: 0.6,
      log: 'a.csv',
      extra: { room: 'B' },
    });
    expect(rows[0].source_C - rows[0].ambient_C).toBeCloseTo(40, 1);
  });

  it('is the same from bytes and from a scan made beforehand', () => {
    const made = makeLog(plain, seeded(6));
    const bench = benchOf({ 'a.csv': made.csv });
    const scans = new Map([['a.csv', scanLog('a.csv', bench.logFiles.get('a.csv')!)]]);
    expect(reduce({ ...bench, logFiles: new Map() }, { scans })).toEqual(reduce(bench));
  });

  it('gives ambient as the source saw it, also after other logs have been reduced', () => {
    const room = { setpoint_C: 22, tolerance_K: 1 };
    const scanned = (seed: number) =>
      scanLog('a.csv', new TextEncoder().encode(makeLog(plain, seeded(seed)).csv));
    const atOnce = Array.from(reduceLog(scanned(7), room)[0].response!.lagged_ambient_C);
    const [step] = reduceLog(scanned(7), room);
    reduceLog(scanned(8), room);
    expect(Array.from(step.response!.lagged_ambient_C)).toEqual(atOnce);
    expect(Math.max(...atOnce) - Math.min(...atOnce)).toBeGreaterThan(0.02);
    expect(Object.keys(JSON.parse(JSON.stringify(step.response)))).toEqual([
      'time_s',
      'source_C',
      'lagged_ambient_C',
    ]);
  });
});
