import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { BenchError } from '../bench/bench-error.ts';
import { ColumnRoom } from './log-blocks.ts';
import { createLogScanner, scanLog, scannerWithin } from './log-scanner.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const header = 'time_s,source_C,ambient_C,power_W,fan_rpm\n';
const fault = (text: string): BenchError => {
  try {
    scanLog('logs/a.csv', bytes(text));
  } catch (error) {
    if (error instanceof BenchError) return error;
    throw error;
  }
  throw new Error('no fault found');
};

describe('scanning a log', () => {
  it('loses no row of a log whose rows are shorter than the room made for them', () => {
    const rows = 3000;
    const lines = Array.from({ length: rows }, (_, i) => `${i},${20 + (i % 7)},22,90,800`);
    const log = scanLog('logs/a.csv', bytes(`${header}${lines.join('\n')}\n`));
    expect(log.count).toBe(rows);
    for (let i = 0; i < rows; i++) {
      const row = [log.time_s[i], log.source_C[i], log.ambient_C[i], log.power_W[i], log.rows[i]];
      expect(row).toEqual([i, 20 + (i % 7), 22, 90, 1]);
    }
  });

  it('gives a log in a room that another one has left as in a room of its own', () => {
    const room = new ColumnRoom();
    const within = (text: string) => {
      const scanner = scannerWithin(room, 'logs/a.csv');
      scanner.push(bytes(text));
      return scanner.finish();
    };
    const rows = Array.from({ length: 500 }, (_, i) => `${i},50,22,150,900,31\n`);
    const long = `${header.trim()},coolant_C\n${rows.join('')}`;
    const short = `${header}0,22,22,150,900\n1,23,22,150,900\n`;
    within(long);
    expect(within(short)).toEqual(scanLog('logs/a.csv', bytes(short)));
    expect(within(long)).toEqual(scanLog('logs/a.csv', bytes(long)));
  });

  it('reads the columns in any order, with units, and leaves others alone', () => {
    const log = scanLog(
      'a.csv',
      bytes(
        'note,fan_rpm,power_kW,ambient_F,source_K,time_min,sound_dBA\nx,1200,0.15,71.6,295.65,0,30\n"a, b",1200,.15,71.6,300.15,0.5,31\n',
      ),
    );
    expect([...log.time_s]).toEqual([0, 30]);
    expect(log.source_C[1]).toBeCloseTo(27, 10);
    expect(log.ambient_C[0]).toBeCloseTo(22, 10);
    expect(log.power_W[0]).toBe(150);
    expect(log.carried[0].name).toBe('sound_dBA');
    expect([...log.carried[0].values]).toEqual([30, 31]);
  });

  it('reads a byte-order mark, CRLF, quoted and empty cells, empty lines and a cut-off last line', () => {
    const log = scanLog(
      'a.csv',
      bytes(
        `\ufeff"time_s","source_C",ambient_C,power_W,fan_rpm\r\n0,"22.5",22,150,1200\r\n\r\n1,,22,150,1200\r\n2,23.5,,,\r\n3,24.5,22,1`,
      ),
    );
    expect([...log.source_C]).toEqual([22.5, 23.5]);
    expect([...log.power_W]).toEqual([150, 150]);
    expect(log.dropouts).toBe(1);
    expect(log.notes).toContain('one row lacks a reading and was left out');
    expect(log.notes.join()).toContain('cut off');
  });

  it('runs on after a reset of the clock and averages rows of one time', () => {
    const log = scanLog(
      'a.csv',
      bytes(`${header}0,20,22,9,1\n1,21,22,9,1\n2,22,22,9,1\n0,23,22,9,1\n1,24,22,9,1\n1,26,22,9,1\n`),
    );
    expect([...log.time_s]).toEqual([0, 1, 2, 3, 4]);
    expect(log.source_C[4]).toBe(25);
    expect([log.resets, log.duplicates]).toEqual([1, 1]);
  });

  it('gives the double nearest to any decimal, wherever the bytes are cut', () => {
    const decimal = fc
      .tuple(
        fc.boolean(),
        fc.integer({ min: 0, max: 999_999_999 }),
        fc.string({ unit: fc.constantFrom(...'0123456789'), maxLength: 14 }),
        fc.constantFrom('', '', 'e3', 'E-7', 'e+2'),
      )
      .map(
        ([minus, whole, fraction, power]) =>
          `${minus ? '-' : ''}${whole}${fraction ? `.${fraction}` : ''}${power}`,
      )
      .filter((text) => Number(text) > -273);
    fc.assert(
      fc.property(
        fc.array(decimal, { minLength: 1, maxLength: 8 }),
        fc.integer({ min: 1, max: 40 }),
        (values, cut) => {
          const text = header + values.map((value, i) => `${i},${value},${value},1,1`).join('\n');
          const all = bytes(text);
          const scanner = createLogScanner('a.csv');
          for (let i = 0; i < all.length; i += cut) scanner.push(all.subarray(i, i + cut));
          expect([...scanner.finish().source_C]).toEqual(values.map((value) => Number(value)));
        },
      ),
      { numRuns: 200, seed: 1 },
    );
  });

  it('agrees with a general CSV reader, quotes and all', () => {
    const cell = fc.oneof(
      fc.double({ min: -200, max: 2000, noNaN: true }).map(String),
      fc.integer({ min: -99, max: 5000 }).map((n) => `"${n / 8}"`),
      fc.integer({ min: 0, max: 99 }).map((n) => ` ${n}.5 `),
    );
    const text = fc.constantFrom('"a ""b"", c"', 'plain', '', '"two\nlines"');
    fc.assert(
      fc.property(fc.array(fc.tuple(cell, text, cell), { minLength: 1, maxLength: 10 }), (rows) => {
        const csv = `source_C,note,power_W,time_s,ambient_C,fan_rpm\n${rows.map(([a, b, c], i) => `${a},${b},${c},${i},22,1`).join('\n')}\n`;
        const reference = parse(csv, { columns: true, trim: true }) as Record<string, string>[];
        const log = scanLog('a.csv', bytes(csv));
        expect([...log.source_C]).toEqual(reference.map((row) => Number(row.source_C)));
        expect([...log.power_W]).toEqual(reference.map((row) => Number(row.power_W)));
      }),
      { numRuns: 100, seed: 2 },
    );
  });

  it('keeps memory bounded and means right when rows are more than blocks', () => {
    const rows = Array.from(
      { length: 5000 },
      (_, i) => `${i},${i < 1000 ? 22 : 40 + (i % 2)},22,${i < 1000 ? 0 : 200},1200`,
    );
    const log = scanLog('a.csv', bytes(header + rows.join('\n')), 400);
    expect(log.count).toBeLessThanOrEqual(400);
    expect(log.rows.reduce((a, b) => a + b, 0)).toBe(5000);
    const mean = log.source_C.reduce((sum, value, k) => sum + value * log.rows[k], 0) / 5000;
    expect(mean).toBeCloseTo((1000 * 22 + 4000 * 40.5) / 5000, 9);
    // No block holds rows of both loads.
    for (const power of log.power_W) expect([0, 200]).toContain(power);
  });

  it('names line, column and what would be accepted', () => {
    expect(fault(`${header}0,22,22,150,1200\n1,22.5x,22,150,1200\n`).message).toMatch(
      /^logs\/a\.csv:3:3: "22\.5x" is not a number; source_C needs one/,
    );
    expect(fault(`${header}0,22,22,150\n1,2,3,4,5\n`).message).toMatch(
      /^logs\/a\.csv:2:12: the row has 4 cells, the header 5/,
    );
    expect(fault(`${header}0,22,22,150,1200,7\n`).message).toMatch(/^logs\/a\.csv:2:18: more cells/);
    expect(fault(`${header},22,22,150,1200\n`).message).toMatch(/^logs\/a\.csv:2:1: the time is empty/);
    expect(fault(`${header}0,-300,22,150,1200\n`).message).toMatch(/^logs\/a\.csv:2:3: .*absolute zero/);
    expect(fault(`time_s,source,ambient_C,power_W,fan_rpm\n`).message).toMatch(
      /^logs\/a\.csv:1:8: .*no unit; write source_C/,
    );
    expect(fault(`time_s,source_C,ambient_C,power_W,power_kW,fan_rpm\n`).message).toMatch(
      /^logs\/a\.csv:1:35: .*same quantity/,
    );
    expect(fault(`time_s,source_C,ambient_C,fan_rpm\n`).message).toMatch(
      /^logs\/a\.csv:1:1: missing column power_W/,
    );
    expect(fault('').message).toMatch(/empty/);
    expect(fault('time_s;source_C\n').message).toMatch(/missing columns ambient_C, power_W, fan_rpm/);
    expect(fault(`${header}0,"22,22,150,1200\n`).message).toMatch(/quotation mark/);
    expect(fault(`${header}0,"ä",22,150,1200\n`).column).toBe(3);
  });
});
