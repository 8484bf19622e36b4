import { describe, expect, it } from 'vitest';
import { exchangeDesign } from './exchange.ts';

describe('selection within a budget', () => {
  it('is what trying everything finds, where that can be tried', () => {
    // Worth with diminishing returns.
    const cost = [1, 2, 3, 2, 1];
    const worth = (s: readonly number[]) => {
      const n = [0, 1, 2, 3, 4].map((k) => s.filter((c) => c === k).length);
      return (
        Math.sqrt(n[0]) +
        1.6 * Math.sqrt(n[1]) +
        2.2 * Math.sqrt(n[2]) +
        1.3 * n[3] ** 0.4 +
        Math.log(1 + n[4])
      );
    };
    let best = 0;
    const all = (s: number[], left: number, from: number) => {
      best = Math.max(best, worth(s));
      for (let k = from; k < 5; k++) if (cost[k] <= left) all([...s, k], left - cost[k], k);
    };
    all([], 7, 0);
    const { selection, utility } = exchangeDesign({
      candidates: 5,
      cost: (some) => some.reduce((sum, k) => sum + cost[k], 0),
      budget: 7,
      utility: worth,
    });
    expect(selection.reduce((sum, k) => sum + cost[k], 0)).toBeLessThanOrEqual(7);
    expect(utility).toBeCloseTo(worth(selection), 12);
    expect(utility).toBeGreaterThan(0.98 * best);
  });

  it('finds what is worth something only together from a start that holds it', () => {
    const problem = {
      candidates: 3,
      cost: (some: readonly number[]) => some.length,
      budget: 2,
      utility: (s: readonly number[]) =>
        s.includes(1) && s.includes(2) ? 10 : s.filter((k) => k === 0).length,
    };
    expect(exchangeDesign(problem).selection).toEqual([0, 0]);
    expect(exchangeDesign({ ...problem, starts: [[1, 2]] }).selection).toEqual([1, 2]);
  });

  it('takes nothing where nothing helps or nothing fits', () => {
    const task = {
      candidates: 2,
      cost: (some: readonly number[]) => some.length,
      budget: 3,
      utility: () => 0,
    };
    expect(exchangeDesign(task).selection).toEqual([]);
    expect(
      exchangeDesign({ ...task, cost: (some) => 9 * some.length, utility: (s) => s.length }).selection,
    ).toEqual([]);
  });

  it('tells how the worth grew', () => {
    const { path } = exchangeDesign({
      candidates: 1,
      cost: (some) => 2 * some.length,
      budget: 7,
      utility: (s) => Math.log(1 + s.length),
    });
    expect(path.map((step) => step.cost)).toEqual([0, 2, 4, 6]);
    for (let k = 1; k < path.length; k++) expect(path[k].utility).toBeGreaterThan(path[k - 1].utility);
  });
});
