import { parse } from 'csv-parse/sync';
import { expect, it } from 'vitest';
import { type ChartTable, csvOf, tableHtml } from './chart-table.ts';

const names = ['=1+1', '+x', '-y', '@z', '\tt', 'say "so"', 'a,b', 'two\nlines', 'plain', 'Ünïcode'];
const table: ChartTable = {
  caption: 'names <and> numbers',
  columns: [
    { name: 'cooler', kind: 'cooler' },
    { name: 'mean low', unit: 'K', kind: 'number', decimals: 1 },
  ],
  rows: names.map((name, i) => [name, i % 2 === 0 ? -1 / (i + 3) : null]),
};

// csv-parse is a reader that this project did not write.
it('writes CSV that another reader takes back, every digit kept and no cell run as a formula', () => {
  const rows = parse(csvOf(table), { columns: true }) as Record<string, string>[];
  expect(rows.map((row) => row.cooler)).toEqual(names.map((name, i) => (i < 5 ? `'${name}` : name)));
  rows.forEach((row, i) => {
    if (i % 2 === 0) expect(Number(row.mean_low_K)).toBe(-1 / (i + 3));
    else expect(row.mean_low_K).toBe('');
  });
});

it('writes HTML in which no name is markup and numbers are rounded', () => {
  const html = tableHtml({ ...table, rows: [['<b>&', -0.04]] }, new Map());
  expect(html).toContain('&lt;b&gt;&amp;');
  expect(html).toContain('>0.0<');
  expect(html).toContain('names &lt;and&gt; numbers');
});
