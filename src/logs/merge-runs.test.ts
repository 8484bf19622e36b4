import { describe, expect, it } from 'vitest';
import { benchOfLogs } from '../../test/logs/bench-of-logs.ts';
import type { Run } from '../bench/bench.ts';
import { mergeRuns } from './merge-runs.ts';

const row = (run: string, more: Partial<Run> = {}): Run => ({
  run,
  cooler: 'Rowan',
  sample: '1',
  source: 'heater',
  power_W: 99,
  fan_rpm: 900,
  source_C: 40,
  ambient_C: 22,
  extra: {},
  line: 2,
  ...more,
});
/** Two logs, r1 of a.csv and r2 of b.csv. */
const bench = (runs: Run[]) => ({ ...benchOfLogs({ 'a.csv': '', 'b.csv': '' }, { mount: 'm1' }), runs });
const made = [row('r1', { source_C: 50, log: 'a.csv' }), row('r2.1', { log: 'b.csv' })];
const names = (runs: readonly Run[]) => runs.map((run) => `${run.run} ${run.source_C}`);

describe('runs.csv after a reduction', () => {
  it('keeps what was typed where it stands and replaces what a log made', () => {
    const { rows, lost } = mergeRuns(
      bench([row('h1'), row('r1', { log: 'a.csv' }), row('r1.2024'), row('r2.x', { log: 'b.csv' })]),
      made,
    );
    expect(names(rows)).toEqual(['h1 40', 'r1 50', 'r1.2024 40', 'r2.x 40', 'r2.1 40']);
    expect(lost).toEqual([]);
  });

  it('loses a typed row that a log makes too, unless it says the same', () => {
    const typed = row('r1', { line: 7 });
    expect(mergeRuns(bench([typed]), made).lost).toEqual([{ row: typed, by: made[0] }]);
    const older = row('r1', { source_C: 50, extra: { shelf: '' } });
    expect(mergeRuns(bench([older]), made)).toEqual({ rows: made, lost: [] });
  });

  it('loses a row of a log that makes no such run any more, and keeps one whose log has left the index', () => {
    const gone = row('r1.3', { log: 'a.csv' });
    expect(mergeRuns(bench([gone]), made).lost).toEqual([{ row: gone }]);
    const { rows, lost } = mergeRuns(bench([row('old', { log: 'c.csv' })]), made);
    expect([names(rows)[0], lost]).toEqual(['old 40', []]);
  });

  it('gives a row without an id another name than that of a log', () => {
    const { rows, lost } = mergeRuns(bench([row('r1', { unnamed: true })]), made);
    expect([names(rows), lost]).toEqual([['r1-2 40', 'r1 50', 'r2.1 40'], []]);
  });

  it('keeps a note and a torque that were typed onto a row of a log', () => {
    const old = row('r1', { log: 'a.csv', note: 'fan hums', torque_Nm: 0.6, extra: { lamp: 'on' } });
    const [kept] = mergeRuns(bench([old]), made).rows;
    expect(kept).toMatchObject({ source_C: 50, note: 'fan hums', torque_Nm: 0.6, extra: { lamp: 'on' } });
  });
});
