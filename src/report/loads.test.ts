import { expect, it } from 'vitest';
import { curveLoads, loadSpan } from './loads.ts';

it('spans from half the least to 1.75 times the greatest load run, and what was asked for', () => {
  expect(loadSpan([60, 120, 180], [])).toEqual({ from_W: 30, to_W: 320, step_W: 1 });
  expect(loadSpan([59.6, 180.4], [400])).toEqual({ from_W: 20, to_W: 400, step_W: 1 });
  expect(loadSpan([], [])).toEqual({ from_W: 50, to_W: 200, step_W: 1 });
});

it('lays round loads over the span, both ends included', () => {
  const loads = curveLoads({ from_W: 30, to_W: 320, step_W: 1 }, 26);
  expect(loads[0]).toBe(30);
  expect(loads.at(-1)).toBe(320);
  expect(loads.length).toBeLessThanOrEqual(26);
  expect(loads.every((P, i) => i === 0 || P > loads[i - 1])).toBe(true);
});
