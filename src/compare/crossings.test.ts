import { describe, expect, it } from 'vitest';
import { crossingsOf as crossingsWith, type DifferenceAt } from './crossings.ts';

type Limited = DifferenceAt & { low_K: number; high_K: number };

const crossingsOf = (a: string, b: string, at: Limited[]) =>
  crossingsWith(a, b, at, {
    limits: (g) => at[g],
    holdsZero: (g) => at[g].low_K <= 0 && at[g].high_K >= 0,
  });

const line = (slope: number, zero: number, half: number): Limited[] =>
  Array.from({ length: 31 }, (_, i) => {
    const power_W = 50 + 10 * i;
    const rise_K = slope * (power_W - zero);
    return { power_W, rise_K, low_K: rise_K - half, high_K: rise_K + half, extrapolated: power_W > 180 };
  });

describe('crossing loads', () => {
  it('of straight lines are exact, with the interval that inverts the test', () => {
    const [crossing, ...more] = crossingsOf('Ash', 'Elm', line(0.02, 213, 1));
    expect(more).toEqual([]);
    expect(crossing.value).toBeCloseTo(213, 9);
    expect(crossing.low).toBeCloseTo(213 - 50, 9);
    expect(crossing.high).toBeCloseTo(213 + 50, 9);
    expect(crossing).toMatchObject({ extrapolated: true, low_open: false, high_open: false });
    expect(crossing).toMatchObject({ ahead_below: 'Ash', ahead_above: 'Elm' });
  });

  it('mirror when the pair is named the other way round', () => {
    const [crossing] = crossingsOf('Elm', 'Ash', line(-0.02, 213, 1));
    expect(crossing).toMatchObject({ ahead_below: 'Ash', ahead_above: 'Elm' });
    expect(crossing.low).toBeCloseTo(163, 9);
    expect(crossing.high).toBeCloseTo(263, 9);
  });

  it('are open where the limits never part', () => {
    const [crossing] = crossingsOf('Ash', 'Elm', line(0.001, 213, 1));
    expect(crossing).toMatchObject({ low: 50, high: 350, low_open: true, high_open: true });
  });

  it('may be several', () => {
    const wave = line(0, 0, 0.1).map((d) => {
      const rise_K = Math.sin((d.power_W - 50) / 47);
      return { ...d, rise_K, low_K: rise_K - 0.1, high_K: rise_K + 0.1 };
    });
    const found = crossingsOf('Ash', 'Elm', wave);
    expect(found.map((c) => Math.round(c.value))).toEqual([198, 345]);
    expect(found[0].high).toBeLessThan(found[1].low);
  });
});
