import { expect, test } from 'vitest';
import { BenchError } from './bench-error.ts';

test('a message is one line, moves no cursor and is not endless, whatever it quotes', () => {
  expect(
    new BenchError('--seed', 1, 1, '"5\n\u001b[2J\u202e0" is not a seed; give a whole number').message,
  ).toBe('--seed: "5 ·[2J·0" is not a seed; give a whole number');
  const long = new BenchError('runs.csv', 2, 3, `"${'x'.repeat(50_000)}" is no number; 150 is accepted`)
    .message;
  expect(long.length).toBe(1000);
  expect(long).toMatch(/^runs\.csv:2:3: .* … .*; 150 is accepted$/);
});
