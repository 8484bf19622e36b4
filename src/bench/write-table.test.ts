import { parse } from 'csv-parse/browser/esm/sync';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { writeTable } from './write-table.ts';

test('quotes what has to be quoted', () => {
  expect(writeTable(['run', 'power_W'], [{ run: 'a,b', power_W: 182.5 }])).toBe('run,power_W\n"a,b",182.5\n');
  expect(
    writeTable(
      ['a', 'b'],
      [
        { a: 'say "x"', b: undefined },
        { a: 'two\nlines', b: null },
      ],
    ),
  ).toBe('a,b\n"say ""x""",\n"two\nlines",\n');
});

test('formulas are written as text, numbers as numbers', () => {
  const rows = ['=1+1', '+x', '@y', '-z', '-5', '+1e3', "'=x", "'x"].map((a) => ({ a }));
  expect(writeTable(['a'], rows)).toBe("a\n'=1+1\n'+x\n'@y\n'-z\n-5\n+1e3\n''=x\n'x\n");
  expect(writeTable(['a'], [{ a: -5 }])).toBe('a\n-5\n');
});

test('names of the language are plain columns', () => {
  expect(writeTable(['constructor', '__proto__'], [{}])).toBe('constructor,__proto__\n,\n');
});

test('a number that is not finite is refused', () => {
  expect(() => writeTable(['a'], [{ a: Number.NaN }])).toThrow(RangeError);
});

// Reference: csv-parse reads back what was written.
test('whatever is written is read back by a general CSV reader', () => {
  const cell = fc.string().filter((text) => !/^('*[=+@-]|[\t\r\n])/.test(text));
  fc.assert(
    fc.property(fc.array(fc.tuple(cell, cell), { minLength: 1 }), (rows) => {
      const text = writeTable(
        ['a', 'b'],
        rows.map(([a, b]) => ({ a, b })),
      );
      expect(parse(text, { record_delimiter: '\n' })).toEqual([['a', 'b'], ...rows]);
    }),
  );
});
