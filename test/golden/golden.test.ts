import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { answersOf, BENCHES } from './benches.ts';

/**
 * The answers of every command on small benches, as they were when last looked at. They are checked for staying what they are and not for being
 * right: that is what the other tests are for. After a change that means to move them: `npm run golden`, and look at the difference.
 */
const RELATIVE = 1e-9;
const NEAR_ZERO = 1e-12;
const SHOWN = 10;

const fileOf = (bench: string): string => fileURLToPath(new URL(`fixtures/${bench}.json`, import.meta.url));

type Json = null | boolean | number | string | Json[] | { [name: string]: Json };

const same = (a: number, b: number): boolean =>
  Math.abs(a - b) <= NEAR_ZERO + RELATIVE * Math.max(Math.abs(a), Math.abs(b));

const brief = (value: Json | undefined): string => {
  const text = JSON.stringify(value) ?? 'nothing';
  return text.length > 160 ? `${text.slice(0, 160)}…` : text;
};

/** Where two JSON values differ: path, old and new. */
function* differences(old: Json | undefined, now: Json | undefined, path: string): Generator<string> {
  if (old !== null && now !== null && typeof old === 'object' && typeof now === 'object') {
    const [a, b] = [old, now] as Record<string, Json>[];
    if (Array.isArray(a) === Array.isArray(b)) {
      for (const key of new Set([...Object.keys(a), ...Object.keys(b)])) {
        yield* differences(a[key], b[key], Array.isArray(a) ? `${path}[${key}]` : `${path}.${key}`);
      }
      return;
    }
  }
  if (typeof old === 'number' && typeof now === 'number' ? same(old, now) : old === now) return;
  yield `${path}: ${brief(old)} became ${brief(now)}`;
}

/** One answer a line, twelve digits. */
const textOf = (answers: object): string =>
  `{\n${Object.entries(answers)
    .map(([question, answer]) => {
      const rounded = (_: string, value: unknown): unknown =>
        typeof value === 'number' ? Number(value.toPrecision(12)) : value;
      return `${JSON.stringify(question)}: ${JSON.stringify(answer, rounded)}`;
    })
    .join(',\n')}\n}\n`;

describe.each(BENCHES)('the bench of %s', (bench) => {
  it('answers as before', () => {
    const answers = answersOf(bench) as Json;
    if (process.env.HEATLADDER_GOLDEN === 'write') writeFileSync(fileOf(bench), textOf(answers as object));
    const kept = JSON.parse(readFileSync(fileOf(bench), 'utf8')) as Json;
    const found = [...differences(kept, answers, bench)];
    expect(found.slice(0, SHOWN), `${found.length} differences, the first of them`).toEqual([]);
  }, 300_000);
});
