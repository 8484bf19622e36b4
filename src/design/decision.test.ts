import { describe, expect, it } from 'vitest';
import { chanceDecided, type Decision, decided, decisionFor, regionOf } from './decision.ts';

const NAMES = ['A', 'B, black', 'C', 'D', 'E', 'F'];

describe('the decision of a goal', () => {
  it('shares the chance of error among its comparisons', () => {
    expect(decisionFor({}, NAMES, 0.95)).toMatchObject({ goal: 'order', margin_K: 0 });
    expect(decisionFor({}, NAMES, 0.95).tell).toBeCloseTo(0.05 / 15, 12);
    expect(decisionFor({ goal: 'winner' }, NAMES, 0.95).tell).toBeCloseTo(0.1 / 5, 12);
    const pair = decisionFor({ goal: 'pair:B, black,A', margin_K: 1 }, NAMES, 0.95);
    expect(pair).toMatchObject({ goal: 'pair', pair: [0, 1], margin_K: 1 });
    expect(pair.tell).toBeCloseTo(0.05, 12);
    expect(pair.same).toBeCloseTo(0.1, 12);
    expect(decisionFor({ goal: 'pair:"B, black",C' }, NAMES, 0.95).pair).toEqual([1, 2]);
  });

  it('refuses what is no goal, no pair and no margin', () => {
    expect(() => decisionFor({ goal: 'fame' as 'order' }, NAMES, 0.95)).toThrow(/order, winner, pair:A,B/);
    expect(() => decisionFor({ goal: 'pair:A,Z' }, NAMES, 0.95)).toThrow(/does not name two coolers/);
    expect(() => decisionFor({ goal: 'pair:A,A' }, NAMES, 0.95)).toThrow(/does not name two coolers/);
    expect(() => decisionFor({ margin_K: 0 }, NAMES, 0.95)).toThrow(/--margin: /);
  });
});

describe('where a difference decides', () => {
  const decision = decisionFor({ goal: 'pair:A,C', margin_K: 2 }, NAMES, 0.95);
  /** Known to a standard error of s, four fifths of all that will be. */
  const at = (s: number, of: Decision = decision) =>
    regionOf(of, { above_K: 1.96 * s, below_K: 1.96 * s }, 1.96, 0.8);

  it('is beyond its limits, or well within the margin', () => {
    const region = at(0.3);
    expect(decided(region, 3)).toBe('b');
    expect(decided(region, -3)).toBe('a');
    expect(decided(region, 0)).toBe('same');
    // Between the two: too near the margin to be the same, too near zero to be told apart.
    expect(decided(at(0.6), 1.2)).toBeUndefined();
    // Too little known to call anything the same.
    expect(decided(at(1.2), 0)).toBeUndefined();
  });

  it('is within the margin of the best for a winner', () => {
    const winner = decisionFor({ goal: 'winner', margin_K: 2 }, NAMES, 0.95);
    const without = decisionFor({ goal: 'winner' }, NAMES, 0.95);
    const [with2, with0] = [winner, without].map((one) => at(0.3, one));
    expect(with2.below_K).toBeCloseTo(with0.below_K - 2, 9);
    expect(decided(with2, -0.1)).toBe('a');
    expect(decided(with0, -0.1)).toBeUndefined();
  });

  it('has the chance that counting gives', () => {
    const count = 4000;
    const z = Array.from({ length: count }, (_, k) => quantile((k + 0.5) / count));
    for (const s of [0.3, 0.6]) {
      const region = at(s);
      for (const [middle, spread] of [
        [0, 1],
        [1.5, 0.7],
        [-2, 2],
      ]) {
        const told = z.filter((value) => decided(region, middle + spread * value) !== undefined).length;
        expect(chanceDecided(region, middle, spread)).toBeCloseTo(told / count, 2);
      }
    }
  });
});

/** By bisection of the error function's series, so that nothing of what is tested is used. */
function quantile(p: number): number {
  let [low, high] = [-8, 8];
  for (let k = 0; k < 60; k++) {
    const x = (low + high) / 2;
    if (cdf(x) < p) low = x;
    else high = x;
  }
  return (low + high) / 2;
}

function cdf(x: number): number {
  let sum = x;
  let term = x;
  for (let k = 1; k < 200; k++) {
    term *= (x * x) / (2 * k + 1);
    sum += term;
  }
  return 0.5 + (sum * Math.exp((-x * x) / 2)) / Math.sqrt(2 * Math.PI);
}
