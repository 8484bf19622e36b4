import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { targets } from './targets.ts';
import { runOn } from './watch.ts';

// A short turn of what `node test/benchmarks/run.mjs fuzz 100000` does at length.
describe('damaged input is read or refused with a place, and nothing else happens', () => {
  for (const target of targets(process.cwd())) {
    it(target.name, { timeout: 60_000 }, () => {
      const ended = { read: 0, refused: 0 };
      fc.assert(
        fc.property(target.input, (input) => {
          ended[runOn(target, input).outcome]++;
        }),
        { numRuns: Math.max(40, Math.round(1200 * target.share)), seed: 1, endOnFailure: true },
      );
      // Both ends must be met, or the damage proves nothing.
      expect(ended.read).toBeGreaterThan(0);
      expect(ended.refused).toBeGreaterThan(0);
    });
  }
});
