/** "You can stop" against the truth; `watch-study.ts` among the benchmarks gives the figures on 200 logs. */
import { describe, expect, it } from 'vitest';
import { realOutcomes, summary, virtualOutcomes } from '../logs/stop-study.ts';

describe('a run that is stopped when watch says so', () => {
  it('is known as well as was promised, on virtual benches', { timeout: 300_000 }, () => {
    const { logs, kept, usableStopped, beforeHalf } = summary(virtualOutcomes(12, 3));
    expect(logs).toBe(60);
    expect(kept).toBeGreaterThanOrEqual(0.95);
    expect(usableStopped).toBeGreaterThanOrEqual(0.8);
    expect(beforeHalf).toBeGreaterThanOrEqual(0.5);
  });

  it('is known as well as was promised on every real log', { timeout: 120_000 }, () => {
    for (const { stop } of realOutcomes()) if (stop) expect(Math.abs(stop.off_K)).toBeLessThanOrEqual(0.3);
  });
});
