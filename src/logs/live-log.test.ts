import { describe, expect, it } from 'vitest';
import { LiveLog } from './live-log.ts';
import type { LoggedRow } from './log-blocks.ts';
import { scanLog } from './log-scanner.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const header = 'time_s,source_C,ambient_C,power_W,fan_rpm';

function live(pieces: readonly (string | 'replaced')[]) {
  const rows: LoggedRow[] = [];
  const log = new LiveLog('a.csv', {}, (row) => rows.push(row));
  for (const piece of pieces) {
    if (piece === 'replaced') log.replaced();
    else log.push(bytes(piece));
  }
  return { rows, log };
}

const lines = (from: number, to: number, source = (t: number) => 25 + 0.1 * t) =>
  Array.from({ length: to - from }, (_, i) => `${from + i},${source(from + i).toFixed(2)},22,150,1200\n`);

describe('a log that grows', () => {
  it('gives out each row as soon as its line is whole, wherever the bytes are cut', () => {
    const text = `${header}\n${lines(0, 90).join('')}`;
    const { rows, log } = live([...text]);
    expect(rows.map(({ own_s }) => own_s)).toEqual(Array.from({ length: 90 }, (_, i) => i));
    expect(log.blocks()).toEqual(scanLog('a.csv', bytes(text)));
    const cut = live([`${header}\n0,25,22,150,1200\n1,25.1,2`]);
    expect(cut.rows).toHaveLength(1);
    cut.log.push(bytes('2,150,1200\n'));
    expect(cut.rows[1].source_C).toBe(25.1);
  });

  it('understands a preamble, semicolons, decimal commas and a clock from its first row on', () => {
    const { rows, log } = live([
      'Logger TL-4;;;;\n',
      'Zeit;Block (°C);Raum (°C);Last (W);Drehzahl (U/min)\n',
      '14:05:30;25;22;150;1200\n14:05:31;25,25;22;150;1200\n',
    ]);
    expect(rows.map(({ own_s, source_C }) => [own_s, source_C])).toEqual([
      [0, 25],
      [1, 25.25],
    ]);
    expect(log.blocks()?.notes.join()).toContain('decimal commas');
  });

  it('passes over lines that are none, and says which', () => {
    const { rows, log } = live([`${header}\n0,25,22,150,1200\n1,25.1,2\n2,25.2,22,150,1200\n${header}\n`]);
    for (const line of lines(3, 80)) log.push(bytes(line));
    log.push(bytes('80,25.1,22,one,1200\n81,25.2,22,150,1200\n'));
    expect(rows).toHaveLength(80);
    expect(log.faults.map(({ line }) => line)).toEqual([3, 5, 83]);
  });

  it('goes on in the next file where that goes on with the run, by whatever clock', () => {
    const first = `${header}\n${lines(0, 100).join('')}`;
    const on = live([first, 'replaced', `${header}\n`, ...lines(0, 80, (t) => 35 + 0.1 * t)]);
    expect(on.rows).toHaveLength(180);
    expect(on.rows[179].time_s).toBe(179);
    expect(on.log.blocks()?.count).toBe(180);
    const anew = live([first, 'replaced', `${header}\n`, ...lines(0, 80)]);
    expect(anew.rows[179].time_s).toBe(79);
    expect(anew.log.blocks()?.count).toBe(80);
  });

  it('refuses what is no log, once it has seen enough of it', () => {
    const prose = live(Array.from({ length: 20 }, (_, i) => `line ${i} of a letter\n`));
    expect(prose.log.pending?.message).toMatch(/missing columns/);
    expect(() => prose.log.push(bytes('more of it\n'.repeat(60)))).toThrow(/missing columns/);
  });

  it('takes no more memory for six hours at 10 Hz than for a quarter of one', () => {
    const { log } = live([`${header}\n`]);
    for (let t = 0; t < 216_000; t += 500) {
      let text = '';
      for (let i = t; i < t + 500; i++)
        text += `${i / 10},${(45 + Math.sin(i)).toFixed(2)},22,${Math.floor(i / 36_000) % 2 ? 0 : 150},1200\n`;
      log.push(bytes(text));
    }
    expect(log.blocks()?.totalRows).toBe(216_000);
    expect(log.blocks()?.count).toBeLessThanOrEqual(8192);
  });
});
