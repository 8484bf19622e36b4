import { describe, expect, it } from 'vitest';
import { type LimitEvidence, pooledLimits } from './pooled-limits.ts';

const nothing = { weight: 0, places: [] };
const six: LimitEvidence = {
  described: { limit_W: 270, spread: 0.45, group: 6 },
  seen_W: 20,
  ...nothing,
};
const met = (W: number): LimitEvidence => ({
  ...six,
  seen_W: 240,
  weight: 1,
  places: [{ at: Math.log(W), likelihood: 1 }],
});

describe('what other coolers say of a limit', () => {
  it('is what the description says where they say nothing', () => {
    const [{ limit_W, spread }] = pooledLimits([six, six]);
    expect(limit_W).toBeCloseTo(270, 6);
    expect(spread).toBeCloseTo(0.45, 3);
  });

  it('moves with limits that were met and with loads that were outlived', () => {
    const [weaker] = pooledLimits([six, met(150), met(160)]);
    expect(weaker.limit_W).toBeLessThan(230);
    expect(weaker.spread).toBeLessThan(0.45);
    const [stronger] = pooledLimits([six, { ...six, seen_W: 400 }, { ...six, seen_W: 420 }]);
    expect(stronger.limit_W).toBeGreaterThan(300);
  });

  it('is finite for a bench of thousands of coolers', () => {
    const [first] = pooledLimits(
      Array.from({ length: 3000 }, (_, k) => ({ ...met(140 + (k % 40)), weight: 0.5 })),
    );
    expect(first.limit_W).toBeGreaterThan(100);
    expect(first.limit_W).toBeLessThan(270);
    expect(first.spread).toBeGreaterThan(0.3);
  });

  it('leaves alone pipes of another diameter, pipes of which nothing is known, and a cooler by its own runs', () => {
    const eight = { ...six, described: { ...six.described, group: 8 } };
    const unknown = { ...six, described: { limit_W: 260, spread: 0.45 } };
    const [other, blank, own] = pooledLimits([eight, unknown, met(150)]);
    for (const { limit_W, spread } of [other, own]) {
      expect(limit_W).toBeCloseTo(270, 6);
      expect(spread).toBeCloseTo(0.45, 3);
    }
    expect(blank).toBe(unknown.described);
  });
});
