/**
 * Rises from real step responses: each log cut short must hold, within its interval, what the whole log says.
 *
 * Sources: `logs/heater-steps.csv`, public repository jckantor/TCLab (Apache-2.0), notebooks/step_test_data.csv at commits 196c74e, f3d31ff
 * and f9a9d4b: one heater transistor with a finned sink, about 1 Hz for 1,000 s. `logs/junction-cooling.csv`, GitHub nizie002/PyRth
 * (MIT), commit 90ec71ba, tests/data: cooling of light-emitting diodes and of a transistor after power off, above the final state.
 *
 * Weaknesses: neither states an uncertainty. The heater steps have no ambient (the first reading is held), no watts (a constant load is
 * stated), a reading step of 0.32 K, and the room of 17 minutes is unknown; the whole log is itself an estimate. The cooling curves were
 * thinned to points equally spaced in log time, and their end is what their authors took for it.
 */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { type ReducedRun, reduce } from '../../src/logs/reduce.ts';
import { benchOfLogs } from '../logs/bench-of-logs.ts';

const cuts = [0.3, 0.5, 0.8];

function rowsOf(file: string): Map<string, string[][]> {
  const text = readFileSync(fileURLToPath(new URL(`logs/${file}`, import.meta.url)), 'utf8');
  const [, ...rows] = text.split('\n').filter((line) => line !== '' && !line.startsWith('#'));
  const runs = new Map<string, string[][]>();
  for (const row of rows.map((line) => line.split(','))) runs.set(row[0], [...(runs.get(row[0]) ?? []), row]);
  return runs;
}

function reduced(logs: Record<string, string>): ReducedRun[] {
  return reduce({ ...benchOfLogs(logs), ambient: { setpoint_C: 22, tolerance_K: 5 } }, { early_stop_K: 0 })
    .runs;
}

const header = 'time_s,source_C,ambient_C,power_W,fan_rpm';
const within = (part: ReducedRun, whole: number, u: number) => {
  expect(Math.abs(part.rise_K! - whole)).toBeLessThan(1.96 * Math.hypot(part.u_K!, u));
};

describe('steps of a real heater', () => {
  const runs = rowsOf('heater-steps.csv');
  const log = (rows: string[][], share: number) =>
    [
      header,
      ...rows
        .slice(0, Math.ceil(share * rows.length))
        .map(([, time, , source]) => `${time},${source},${rows[0][3]},2,1000`),
    ].join('\n');

  it('are three, each of 1,000 s', () => {
    expect([...runs.values()].map((rows) => Math.round(Number(rows.at(-1)![1]) / 10))).toEqual([
      100, 100, 100,
    ]);
  });

  it('give a whole log the rise that its last minute shows', () => {
    for (const rows of runs.values()) {
      const [whole] = reduced({ 'whole.csv': log(rows, 1) });
      const last = rows.filter(([, time]) => Number(time) > 940).map(([, , , source]) => Number(source));
      const end = last.reduce((sum, value) => sum + value, 0) / last.length - Number(rows[0][3]);
      expect(Math.abs(whole.rise_K! - end)).toBeLessThan(0.3);
      expect(whole.u_K).toBeLessThan(0.35);
    }
  });

  it.each(cuts)(
    'hold the whole in their interval when cut to %f, alone and beside the other two',
    (share) => {
      for (const [name, rows] of runs) {
        const [whole] = reduced({ 'whole.csv': log(rows, 1) });
        const [alone] = reduced({ 'cut.csv': log(rows, share) });
        const others = [...runs].filter(([other]) => other !== name);
        const [beside] = reduced({
          'cut.csv': log(rows, share),
          ...Object.fromEntries(others.map(([other, own]) => [`${other}.csv`, log(own, 1)])),
        });
        for (const part of [alone, beside]) {
          within(part, whole.rise_K!, whole.u_K!);
          if (part.usable) expect(Math.abs(part.rise_K! - whole.rise_K!)).toBeLessThan(0.5);
        }
      }
    },
  );
});

describe('real cooling curves of a junction', () => {
  // A hundred seconds of log stand for one: the method's shortest time constant is 1 s, and the law is the same.
  const runs = rowsOf('junction-cooling.csv');
  const log = (rows: string[][], share: number) => {
    const points = rows
      .map(([, time, above]) => [100 * Number(time), 25 + Number(above)])
      .filter(([time]) => time >= 1);
    const end = share * points.at(-1)![0];
    return [
      header,
      ...points.filter(([time]) => time <= end).map(([time, value]) => `${time},${value},25,2,1000`),
    ].join('\n');
  };

  it.each([...cuts, 1])('end at their final state, within the interval, when cut to %f', (share) => {
    for (const rows of runs.values()) {
      const [part] = reduced({ 'cut.csv': log(rows, share) });
      within(part, 0, 0.016);
    }
  });
});
