import { describe, expect, it } from 'vitest';
import { benchOfLogs } from '../../test/logs/bench-of-logs.ts';
import { makeLog, randomRecipe, seeded } from '../../test/logs/make-logs.ts';
import type { Bench, LogEntry } from '../bench/bench.ts';
import { readBench } from '../bench/read-bench.ts';
import { scannedLog } from './log-source.ts';
import { reduce } from './reduce.ts';

/** A run with two loads, as one log would have it. */
const recipe = { ...randomRecipe(seeded(3), 'air', 900), idle_s: 90, gaps: undefined };
const made = makeLog(
  {
    ...recipe,
    loads: [
      { power_W: 120, seconds: 900 },
      { power_W: 200, seconds: 900 },
    ],
  },
  seeded(5),
);
const rows = made.csv
  .trimEnd()
  .split('\n')
  .slice(1)
  .map((line) => line.split(',').map(Number));

/** The same run from two instruments, the supply's clock so far behind and with a row only every so often. */
function bench(
  shift_s: number,
  every = 1,
  entry: Partial<LogEntry> = {},
  of: 'load' | 'air' = 'load',
): Bench {
  const temperatures = rows.map(([t, source, ambient]) =>
    of === 'load' ? `${t},${source},${ambient}` : `${t},${source}`,
  );
  const supply = rows
    .filter((_, i) => i % every === 0)
    .map(([t, , ambient, power, fan]) =>
      of === 'load' ? `${t - shift_s},${power},${fan}` : `${t - shift_s},${ambient}`,
    );
  const logs = {
    't.csv': `time_s,source_C${of === 'load' ? ',ambient_C' : ''}\n${temperatures.join('\n')}\n`,
    's.csv': `${of === 'load' ? 'time_s,power_W,fan_rpm' : 'time_s,ambient_C'}\n${supply.join('\n')}\n`,
  };
  const whole = benchOfLogs(logs);
  return { ...whole, logs: [{ ...whole.logs[0], log: 't.csv + s.csv', ...entry }] };
}

const rises = (one: Bench) => reduce(one).runs.map(({ rise_K }) => rise_K as number);
const notes = (one: Bench) => scannedLog(one, 't.csv + s.csv')?.notes.join('\n');
const together = rises(benchOfLogs({ 'whole.csv': made.csv }));

describe('two instruments of one run', () => {
  it.each([
    [0, 1],
    [37, 1],
    [-412.5, 1],
    [2500, 5],
  ])(
    'with clocks %f s apart, a row of the supply every %f s: the shift is found from the load',
    (shift_s, every) => {
      const found = Number(/its clock being ([\d.]+) s/.exec(notes(bench(shift_s, every)) ?? '')?.[1] ?? 0);
      expect(Math.abs(found - Math.abs(shift_s))).toBeLessThan(4);
      expect(rises(bench(shift_s, every))).toHaveLength(2);
      rises(bench(shift_s, every)).forEach((rise, i) => {
        expect(Math.abs(rise - together[i])).toBeLessThan(0.05);
        expect(Math.abs(rise - made.rise_K[i])).toBeLessThan(0.2);
      });
    },
  );

  it('may have the shift given', () => {
    expect(rises(bench(37, 1, { shift_s: 37 }))).toEqual(together);
    expect(notes(bench(37, 1, { shift_s: 37 }))).toContain(
      'its clock being 37 s behind: 37 s, as logs.csv says',
    );
    expect(() => rises(bench(37, 1, { shift_s: 9000 }))).toThrow(/no time in common with the shift given/);
  });

  it('are refused where nothing tells the shift, and joined by clocks that tell the time', () => {
    const held = { power_W: 120, fan_rpm: 1200 };
    expect(() => rises(bench(37, 1, { held }, 'air'))).toThrow(
      /^logs\.csv:2:1: no change of load tells .*shift_s/,
    );
    const clock = (t: number) => new Date(1.7e12 + 1000 * t).toISOString().slice(0, 19);
    const one = bench(0, 1, { held }, 'air');
    const dated = (name: string) =>
      new TextDecoder()
        .decode(one.logFiles.get(name))
        .replace(/^-?[\d.]+(?=,)/gm, (t) => clock(Number(t)))
        .replace('time_s', 'time');
    const logFiles = new Map(['t.csv', 's.csv'].map((name) => [name, new TextEncoder().encode(dated(name))]));
    expect(notes({ ...one, logFiles })).toContain(
      'its clock being the same: by their clocks, which are taken as one',
    );
    expect(() => rises(bench(0, 1, {}, 'air'))).toThrow(/none of t\.csv and s\.csv has a column power_W/);
  });

  it('stand in one cell of logs.csv', () => {
    const text = (value: string) => new TextEncoder().encode(value);
    const { logFiles } = bench(37);
    const read = (log: string, shift = '') =>
      readBench(
        new Map([
          ['bench.yaml', text('name: two')],
          ['logs.csv', text(`run,cooler,log,shift_s\nr1,A,${log},${shift}\n`)],
          ['logs/t.csv', logFiles.get('t.csv') as Uint8Array],
          ['logs/s.csv', logFiles.get('s.csv') as Uint8Array],
        ]),
      );
    expect(read('t.csv+logs/s.csv', '37').logs[0]).toMatchObject({ log: 't.csv + s.csv', shift_s: 37 });
    expect(rises(read('t.csv + s.csv'))).toHaveLength(2);
    expect(() => read('t.csv', '37')).toThrow(/logs\.csv:2:12: a shift is that of the second of two files/);
    expect(() => read('t.csv + u.csv')).toThrow(/there is no file "logs\/u\.csv"/);
  });
});
