import { describe, expect, it } from 'vitest';
import { chipPlanTally } from '../benchmarks/chip-plan.ts';
import { chipCoverage } from '../benchmarks/chip-study.ts';

describe('predictions on a chip', () => {
  it('cover what was not run on it, and are narrower with each cooler run on it', () => {
    const found = [0, 1, 2, 4].map((onChip) => chipCoverage(8, 1, onChip));
    for (const t of found) {
      expect(t.mean).toBeGreaterThanOrEqual(93);
      expect(t.run).toBeGreaterThanOrEqual(93);
    }
    // One cooler on the chip does not show how much the chip's term differs between coolers: its width
    // carries the stated prior of that scatter (24.7 % here; 18.7 % while the scatter was taken as known).
    const bounds = [30, 20, 20];
    for (const [k, t] of found.slice(1).entries()) {
      expect(t.meanWidth).toBeLessThan(bounds[k]);
      expect(t.runWidth).toBeLessThan(bounds[k]);
      expect(Math.abs(t.bias_K)).toBeLessThan(1);
    }
    for (let k = 1; k < found.length; k++) {
      expect(found[k].meanWidth).toBeLessThan(found[k - 1].meanWidth);
      expect(found[k].runWidth).toBeLessThan(found[k - 1].runWidth);
    }
  }, 60_000);
});

describe('what planned runs on a chip buy', () => {
  it('is what they bring once they are done', () => {
    const { open, foreseen, told, wrong, widths } = chipPlanTally(16, 101);
    expect(open).toBeGreaterThan(80);
    expect(wrong).toBe(0);
    // Counts of pairs of the same six coolers hang together: three standard deviations with a quarter of them independent.
    expect(Math.abs(told - foreseen)).toBeLessThan(3 * Math.sqrt(4 * foreseen));
    // The scatter between coolers is estimated anew once the runs are done, which is not foreseen.
    expect(widths[widths.length >> 1]).toBeGreaterThan(0.88);
    expect(widths[widths.length >> 1]).toBeLessThan(1.06);
  }, 60_000);
});
