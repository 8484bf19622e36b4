import path from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { Bench } from '../../src/bench/bench.ts';
import { BenchError } from '../../src/bench/bench-error.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { unlistedUnits } from '../../src/bench/unlisted-units.ts';
import { readBenchFolder } from '../../src/cli/read-folder.ts';

const healthy = readBenchFolder(path.join(import.meta.dirname, 'fixtures/full'));
const names = [...healthy.keys()];
const encode = (text: string) => new TextEncoder().encode(text);
const decode = (bytes: Uint8Array) => new TextDecoder('latin1').decode(bytes);
const toBytes = (text: string) => Uint8Array.from(text, (character) => character.charCodeAt(0));

type Mutation = (bytes: Uint8Array) => Uint8Array;
// Without the library's leaning towards first and smallest values, so that damage is spread over the whole bench.
const place = fc.noBias(fc.nat(999_999)).map((millionths) => millionths / 1_000_000);
const file = fc.noBias(fc.constantFrom(...names));
const at = (fraction: number, length: number) => Math.floor(fraction * length);
const scraps = [
  '"',
  ',',
  '\n',
  '\r',
  ';',
  '\t',
  '-',
  '=',
  ':',
  '{',
  '[',
  '&a ',
  '*a',
  '!!',
  '1e999',
  'NaN',
  '__proto__',
  '\0',
  '\ufeff',
  'é',
  '  ',
];

const mutation: fc.Arbitrary<Mutation> = fc.oneof(
  fc.tuple(place, fc.nat(255)).map(
    ([where, byte]): Mutation =>
      (bytes) => {
        const out = bytes.slice();
        if (out.length > 0) out[at(where, out.length)] = byte;
        return out;
      },
  ),
  fc.tuple(place, fc.constantFrom(...scraps)).map(
    ([where, scrap]): Mutation =>
      (bytes) => {
        const cut = at(where, bytes.length + 1);
        return Uint8Array.from([...bytes.slice(0, cut), ...encode(scrap), ...bytes.slice(cut)]);
      },
  ),
  fc.tuple(place, place).map(
    ([from, to]): Mutation =>
      (bytes) => {
        const [a, b] = [at(from, bytes.length), at(to, bytes.length)].sort((x, y) => x - y);
        return Uint8Array.from([...bytes.slice(0, a), ...bytes.slice(b)]);
      },
  ),
  fc.tuple(place, place).map(
    ([first, second]): Mutation =>
      (bytes) => {
        const rows = decode(bytes).split('\n');
        const [a, b] = [at(first, rows.length), at(second, rows.length)];
        [rows[a], rows[b]] = [rows[b], rows[a]];
        return toBytes(rows.join('\n'));
      },
  ),
  fc.tuple(fc.nat(24), fc.nat(24)).map(
    ([a, b]): Mutation =>
      (bytes) => {
        const rows = decode(bytes)
          .split('\n')
          .map((row) => row.split(','));
        for (const row of rows) if (a < row.length && b < row.length) [row[a], row[b]] = [row[b], row[a]];
        return toBytes(rows.map((row) => row.join(',')).join('\n'));
      },
  ),
  fc.tuple(place, fc.constantFrom(...scraps, '182,5', '-1', 'x', '')).map(
    ([where, cell]): Mutation =>
      (bytes) => {
        const cells = decode(bytes).split(',');
        cells[at(where, cells.length)] = decode(encode(cell));
        return toBytes(cells.join(','));
      },
  ),
);

const mutatedBench = fc
  .tuple(
    fc.array(fc.tuple(file, mutation), { minLength: 1, maxLength: 2 }),
    fc.noBias(fc.option(file, { freq: 2, nil: undefined })),
  )
  .map(([mutations, removed]) => {
    const files = new Map(healthy);
    for (const [name, mutate] of mutations) files.set(name, mutate(files.get(name)!));
    if (removed !== undefined) files.delete(removed);
    return files;
  });

function finite(bench: Bench): boolean {
  const rows: object[] = [
    ...bench.runs,
    ...bench.coolers,
    ...bench.noise,
    ...bench.flatness.flatMap((map) => map.points),
  ];
  return rows.every((row) =>
    Object.values(row).every((value) => typeof value !== 'number' || Number.isFinite(value)),
  );
}

test('a damaged bench is read or refused at a place in a file, never anything else', () => {
  let refused = 0;
  let read = 0;
  fc.assert(
    fc.property(mutatedBench, (files) => {
      unlistedUnits(files);
      try {
        expect(finite(readBench(files))).toBe(true);
        read++;
      } catch (error) {
        if (!(error instanceof BenchError)) throw error;
        expect(error.line).toBeGreaterThanOrEqual(1);
        expect(error.column).toBeGreaterThanOrEqual(1);
        expect(error.message).toMatch(/^[^:\n]+:\d+:\d+: [^\n]{10,}$/);
        const text = decode(files.get(error.file) ?? new Uint8Array()).split(/\r\n?|\n/);
        expect(error.line).toBeLessThanOrEqual(text.length);
        refused++;
      }
    }),
    { numRuns: 2000, seed: 20_240_301 },
  );
  // Both ends must be met, or the test would prove nothing.
  expect(refused).toBeGreaterThan(300);
  expect(read).toBeGreaterThan(300);
});
