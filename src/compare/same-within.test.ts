import { describe, expect, it } from 'vitest';
import { sameWithin } from './same-within.ts';

const pair = (low_K: number, high_K: number) => ({
  a: 'Ash',
  b: 'Birch',
  difference: [60, 120].map((power_W) => ({
    power_W,
    rise_K: ((low_K + high_K) / 2) * (power_W / 120),
    low_K: (low_K * power_W) / 120,
    high_K: (high_K * power_W) / 120,
    p_less: 0.5,
  })),
});

describe('coolers that are the same within a margin', () => {
  it('have both limits of their difference inside it', () => {
    expect(sameWithin([pair(-0.8, 0.6)], 1).pairs).toEqual([{ a: 'Ash', b: 'Birch', power_W: [60, 120] }]);
    expect(sameWithin([pair(-1.6, 0.6)], 1).pairs).toEqual([{ a: 'Ash', b: 'Birch', power_W: [60] }]);
    expect(sameWithin([pair(-2.4, 2.6)], 1).pairs).toEqual([]);
  });

  it('may be told apart all the same', () => {
    expect(sameWithin([pair(0.2, 0.9)], 1).pairs).toHaveLength(1);
  });

  it('need a margin', () => {
    for (const margin_K of [0, -1, Number.NaN, 1001]) {
      expect(() => sameWithin([], margin_K)).toThrow(/give K above 0, such as 1/);
    }
  });
});
