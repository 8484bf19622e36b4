import { describe, expect, it } from 'vitest';
import { deletedP, holm, standing, verdictOf } from './verdict-of.ts';

describe('the words of the standard', () => {
  it('turn at 5 % and at 1 %', () => {
    expect([0.2, 0.05, 0.049, 0.01, 0.0099].map(verdictOf)).toEqual([
      'ok',
      'ok',
      'straggler',
      'straggler',
      'outlier',
    ]);
  });
});

describe('adjustment for the number judged', () => {
  it('steps down as in the example', () => {
    expect(holm([0.01, 0.04, 0.03])).toEqual([0.03, 0.06, 0.06]);
    expect(holm([])).toEqual([]);
    expect(holm([0.9, 0.8])).toEqual([1, 1]);
  });

  it('is never below the p itself and keeps the order', () => {
    const p = [0.2, 0.0001, 0.03, 0.5, 0.004];
    const adjusted = holm(p);
    p.forEach((value, i) => {
      expect(adjusted[i]).toBeGreaterThanOrEqual(value);
      for (let j = 0; j < p.length; j++)
        if (p[j] < value) expect(adjusted[j]).toBeLessThanOrEqual(adjusted[i]);
    });
  });
});

describe('suspects taken one at a time', () => {
  it('stand up to the last significant one', () => {
    expect(standing([0.2, 0.3, 0.01, 0.6], 0.05)).toBe(3);
    expect(standing([0.2, 0.3], 0.05)).toBe(0);
    expect(standing([], 0.05)).toBe(0);
  });
});

it('a deleted residual of no size says nothing', () => {
  expect(deletedP(0, 5)).toBe(1);
  expect(deletedP(1.96, Number.POSITIVE_INFINITY)).toBeCloseTo(0.05, 4);
});
