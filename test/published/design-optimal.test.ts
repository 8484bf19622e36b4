import { describe, expect, it } from 'vitest';
import { exchangeDesign } from '../../src/design/exchange.ts';

/** D-optimal design on a grid by the exchange that also plans runs: slopes of the model by its parameters at each point. */
function dOptimal(
  points: readonly number[],
  slopes: (x: number) => [number, number],
  count: number,
): number[] {
  const rows = points.map(slopes);
  const { selection } = exchangeDesign({
    candidates: points.length,
    cost: (some) => some.length,
    budget: count,
    utility(chosen) {
      // A trace of prior information keeps the determinant positive before there are two points.
      let [a, b, d] = [1e-9, 0, 1e-9];
      for (const k of chosen) {
        const [u, v] = rows[k];
        a += u * u;
        b += u * v;
        d += v * v;
      }
      return Math.log(a * d - b * b);
    },
  });
  return selection.map((k) => points[k]).sort((x, y) => x - y);
}

const grid = (low: number, high: number, steps: number): number[] =>
  Array.from({ length: steps + 1 }, (_, k) => low + ((high - low) * k) / steps);

describe('D-optimal designs of the textbooks', () => {
  it('of a straight line are its ends, half of the runs at each', () => {
    // Fedorov (1972) Theory of Optimal Experiments, 2.3; Atkinson, Donev and Tobias (2007), chapter 11.
    expect(dOptimal(grid(-1, 1, 40), (x) => [1, x], 2)).toEqual([-1, 1]);
    expect(dOptimal(grid(-1, 1, 40), (x) => [1, x], 6)).toEqual([-1, -1, -1, 1, 1, 1]);
  });

  it('of the Michaelis-Menten curve are the greatest x and θ₂/(1 + 2θ₂/x)', () => {
    // Bates and Watts (1988) Nonlinear Regression Analysis, 3.13, enzyme example: θ = (205, 0.08), x up to 1.1 gives 1.1 and 0.0698
    // (formula and numbers cited from memory; the formula follows from setting the derivative of the determinant to zero).
    const [first, second] = [205, 0.08];
    const points = grid(0.0001, 1.1, 10999);
    const found = dOptimal(points, (x) => [x / (second + x), (-first * x) / (second + x) ** 2], 2);
    expect(found[1]).toBeCloseTo(1.1, 6);
    expect(found[0]).toBeCloseTo(second / (1 + (2 * second) / 1.1), 3);
    expect(found[0]).toBeCloseTo(0.0698, 3);
  });

  it('of two consecutive first-order reactions are at 1.23 and 6.86', () => {
    // Box and Lucas (1959) Biometrika 46, 77: yield θ₁/(θ₁ − θ₂)·(exp(−θ₂t) − exp(−θ₁t)) at θ = (0.7, 0.2).
    const f = (a: number, b: number, t: number) => (a / (a - b)) * (Math.exp(-b * t) - Math.exp(-a * t));
    const h = 1e-6;
    const slopes = (t: number): [number, number] => [
      (f(0.7 + h, 0.2, t) - f(0.7 - h, 0.2, t)) / (2 * h),
      (f(0.7, 0.2 + h, t) - f(0.7, 0.2 - h, t)) / (2 * h),
    ];
    const found = dOptimal(grid(0, 20, 2000), slopes, 2);
    expect(found[0]).toBeCloseTo(1.23, 1.9);
    expect(found[1]).toBeCloseTo(6.86, 1.9);
  });

  it('of exponential decay with a known start is one time constant', () => {
    // y = exp(−θt): |t·exp(−θt)| is greatest at t = 1/θ (Box and Lucas 1959, section 2).
    const found = dOptimal(grid(0, 20, 2000), (t) => [t * Math.exp(-t / 4), 0], 1);
    expect(found[0]).toBeCloseTo(4, 6);
  });
});
