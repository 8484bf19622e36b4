import { describe, expect, it } from 'vitest';
import { averageRunLength } from '../../src/months/ewma.ts';

/**
 * Average run lengths of Lucas and Saccucci (1990), Technometrics 32, 1-12, table 3, as reprinted in Montgomery,
 * Introduction to Statistical Quality Control, 6th ed. (2009), chapter 9 (EWMA charts). Cited from memory.
 */
const SHIFTS = [0, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4];
const TABLE = [
  { weight: 0.4, limit: 3.054, runs: [500, 224, 71.2, 28.4, 14.3, 5.9, 3.5, 2.5, 2.0, 1.4] },
  { weight: 0.25, limit: 2.998, runs: [500, 170, 48.2, 20.1, 11.1, 5.5, 3.6, 2.7, 2.3, 1.7] },
  { weight: 0.2, limit: 2.962, runs: [500, 150, 41.8, 18.2, 10.5, 5.5, 3.7, 2.9, 2.4, 1.9] },
  { weight: 0.1, limit: 2.814, runs: [500, 106, 31.3, 15.9, 10.3, 6.1, 4.4, 3.4, 2.9, 2.2] },
  { weight: 0.05, limit: 2.615, runs: [500, 84.1, 28.8, 16.4, 11.4, 7.1, 5.2, 4.2, 3.5, 2.7] },
];

describe('run lengths of control charts', () => {
  it.each(TABLE)('EWMA chart with λ = $weight and L = $limit', ({ weight, limit, runs }) => {
    SHIFTS.forEach((shift, k) => {
      const printed = runs[k];
      // Half a unit of the last printed digit, and 0.2 % for the three decimals of the printed limit.
      const digit = printed >= 100 ? 0.5 : 0.05;
      const found = averageRunLength({ weight, limit }, shift);
      expect(Math.abs(found - printed), `shift ${shift}: ${found}`).toBeLessThan(digit + 0.002 * printed);
    });
  });

  // Shewhart chart for single values with limits at 3 σ: ISO 7870-2 and Montgomery, chapter on Shewhart charts, from memory.
  it.each([
    [0, 370.4],
    [0.5, 155.2],
    [1, 43.9],
    [1.5, 15.0],
    [2, 6.3],
    [3, 2.0],
  ])('Shewhart chart, shift of %s σ', (shift, printed) => {
    expect(Math.abs(averageRunLength({ weight: 1, limit: 3 }, shift) - printed)).toBeLessThan(0.051);
  });
});
