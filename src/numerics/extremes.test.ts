import { expect, it } from 'vitest';
import { largest, smallest } from './extremes.ts';

it('finds the extremes of more numbers than a stack holds', () => {
  const many = new Float64Array(1_000_000).fill(2);
  many[7] = -1;
  many[400_000] = 5;
  expect([smallest(many), largest(many)]).toEqual([-1, 5]);
  expect([smallest([]), largest([])]).toEqual([Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]);
});
