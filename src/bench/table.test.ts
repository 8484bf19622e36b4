import { parse } from 'csv-parse/browser/esm/sync';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { nearestName } from './nearest-name.ts';
import { placeName, readTable } from './table.ts';

const bytes = (text: string) => new TextEncoder().encode(text);

test('reads the example of its comment', () => {
  expect(readTable('noise.csv', bytes('cooler,fan_rpm\nA,900\n')).rows[0].cells).toEqual(['A', '900']);
});

// Reference: csv-parse for the cells; the places are checked by reading the text at them.
test('cells and their places, whatever is quoted and however lines end', () => {
  const cell = fc.oneof(
    fc.stringMatching(/^[a-zé🌲0-9.]{1,6}$/u).map((text) => ({ text, written: text })),
    fc
      .stringMatching(/^[a-z",\n]{1,8}$/)
      .map((text) => ({ text, written: `"${text.replaceAll('"', '""')}"` })),
  );
  const row = fc.tuple(cell, cell, cell);
  const lineEnd = fc.constantFrom('\n', '\r\n', '\r');
  fc.assert(
    fc.property(fc.array(row, { minLength: 1, maxLength: 6 }), lineEnd, fc.boolean(), (rows, end, mark) => {
      const body = rows.map((cells) => cells.map((c) => c.written).join(' , ')).join(`${end}${end}`);
      const text = `${mark ? '\ufeff' : ''}x,y,z${end}${body}`
        .replaceAll('\n', end === '\r' ? '\n' : end)
        .replaceAll('\r\r\n', '\r\n');
      const table = readTable('t.csv', bytes(text));
      const plain = text.replace('\ufeff', '').replace(/\r\n?/g, '\n');
      const reference: string[][] = parse(plain, {
        record_delimiter: '\n',
        trim: true,
        skip_empty_lines: true,
        relax_column_count: true,
      });
      const filled = reference.slice(1).filter((cells) => cells.some((c) => c.trim() !== ''));
      expect(table.rows.map((r) => r.cells)).toEqual(filled.map((cells) => cells.map((c) => c.trim())));
      const lines = plain.split('\n');
      for (const r of table.rows) {
        r.cells.forEach((content, index) => {
          const [, line, column] = placeName(table, r, index).split(':').map(Number);
          const there = [...lines[line - 1]].slice(column - 1).join('');
          const start = content.split('\n')[0].replaceAll('"', '""');
          expect(there.startsWith(start) || there.startsWith('"')).toBe(true);
        });
      }
    }),
    { numRuns: 300 },
  );
});

test('nearestName', () => {
  expect(nearestName('fan_rmp', ['power_W', 'fan_rpm'])).toBe('fan_rpm');
  expect(nearestName('powr_W', ['power_W', 'fan_rpm'])).toBe('power_W');
  expect(nearestName('heatr', ['heater'])).toBe('heater');
  expect(nearestName('colour', ['heater', 'name'])).toBeUndefined();
  expect(nearestName('B', ['A'])).toBeUndefined();
  expect(nearestName('x'.repeat(5000), ['x'])).toBeUndefined();
});

test('a table without quotes is read as the same table with quotes around every cell', () => {
  const cell = fc.stringMatching(/^[ a-zé.;\t-]{0,4}$/);
  const row = fc.oneof(
    { weight: 6, arbitrary: fc.array(cell, { minLength: 3, maxLength: 3 }) },
    { weight: 1, arbitrary: fc.constant(['']) },
  );
  const end = fc.constantFrom('\n', '\r\n', '\r');
  const table = fc.tuple(fc.array(row, { maxLength: 8 }), end, fc.boolean());
  fc.assert(
    fc.property(table, ([rows, lineEnd, open]) => {
      const write = (quote: string) =>
        new TextEncoder().encode(
          [
            '',
            'x,y,z',
            ...rows.map((cells) =>
              cells.length === 1 ? '' : cells.map((one) => `${quote}${one}${quote}`).join(','),
            ),
          ].join(lineEnd) + (open ? '' : lineEnd),
        );
      const read = (quote: string) =>
        readTable('x.csv', write(quote)).rows.map(({ cells, line }) => ({ cells, line }));
      expect(read('')).toEqual(read('"'));
    }),
    { numRuns: 300 },
  );
});
