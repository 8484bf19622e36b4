import { describe, expect, it } from 'vitest';
import { readBench } from '../../src/bench/read-bench.ts';
import { rehearseAdaptive } from '../../src/design/adaptive.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

/** Five coolers, two samples each, fitted once. */
const bench = readBench(
  makeVirtualBench({
    seed: 4,
    coolers: 5,
    samples: 2,
    mounts: 1,
    loads_W: [60, 150],
    noise_speeds: [],
    scatter: { mount_K_per_W: 0.005, sample_K_per_W: 0.002 },
  }).files,
);

describe('the loop of planning and reading', () => {
  const options = { target_W: 150, hours: 12, goal: 'winner', margin_K: 2, repeats: 12 } as const;
  const seen: number[] = [];
  const result = rehearseAdaptive(bench, options, (done) => seen.push(done));
  const { adaptive, in_turn } = result;

  it('spends no more than the hours, and less than every cooler in turn does', () => {
    for (const policy of [adaptive, in_turn]) {
      expect(policy.hours_90).toBeLessThanOrEqual(12);
      expect(policy.hours_10).toBeLessThanOrEqual(policy.hours_50);
      for (const share of [policy.answered, policy.right, policy.false_decisions]) {
        expect(share).toBeGreaterThanOrEqual(0);
        expect(share).toBeLessThanOrEqual(1);
      }
    }
    expect(adaptive.hours_mean).toBeLessThan(in_turn.hours_mean + 1e-9);
    expect(adaptive.answered).toBeGreaterThanOrEqual(in_turn.answered - 0.1);
    expect(seen).toEqual(Array.from({ length: 12 }, (_, k) => k + 1));
  });

  it('says next to nothing false, all looks counted', () => {
    // One false word in twelve benches has a chance of next to a half at 5 %, three one of 2 %.
    expect(12 * adaptive.false_decisions).toBeLessThan(3);
    expect(12 * in_turn.false_decisions).toBeLessThan(3);
  });

  it('is the same for the same seed, and refuses what it cannot play', () => {
    const few = { ...options, repeats: 2 };
    expect(rehearseAdaptive(bench, few)).toEqual(rehearseAdaptive(bench, few));
    expect(() => rehearseAdaptive(bench, { ...few, goal: 'prediction' })).toThrow(/--goal: /);
    expect(() => rehearseAdaptive(bench, { ...few, repeats: 0 })).toThrow(/--repeats: /);
  });
});
