import { describe, expect, it } from 'vitest';
import { equalNoiseStudy, type Share } from '../benchmarks/equal-noise-study.ts';

// The short version of test/benchmarks/equal-noise-coverage.ts; the full study comes to 94 to 97 % on these. A bench's
// answers hang together, so the standard error is that of the benches, three of which are left below 93 %; widths are
// held too, since an interval that is wide enough always covers.
describe('equal sound on virtual benches', () => {
  const tally = equalNoiseStudy(
    (seed) => ({
      seed,
      coolers: 5,
      samples: 2,
      mounts: 2,
      loads_W: [80, 200],
      speeds: [0.4, 1],
      heaterLeak: { value: 0.05, uncertainty: 0.01 },
    }),
    10,
    41,
  );
  const share = ({ held, count }: Share) => held / count;
  const floor = ({ perBench }: Share) => {
    const mean = perBench.reduce((a, b) => a + b, 0) / perBench.length;
    const squares = perBench.reduce((sum, one) => sum + (one - mean) ** 2, 0);
    return 0.93 - 3 * Math.sqrt(squares / (perBench.length - 1) / perBench.length);
  };

  it('the speed at a level and the rise there are in their intervals', () => {
    expect(tally.speed.count).toBeGreaterThan(100);
    for (const one of [tally.speed, tally.freshRun, tally.mean, tally.bought]) {
      expect(share(one)).toBeGreaterThan(floor(one));
      expect(floor(one)).toBeGreaterThan(0.7);
    }
  });
  it('no pair is resolved the wrong way, and pairs that are apart are resolved', () => {
    expect(tally.wrongWay).toBe(0);
    expect(share(tally.resolved)).toBeGreaterThan(0.8);
  });
  it('six sound readings cost the rise little', () => {
    expect(tally.halfWidth_K).toBeGreaterThan(tally.halfWidthAtKnownSpeed_K);
    expect(tally.halfWidth_K).toBeLessThan(1.15 * tally.halfWidthAtKnownSpeed_K);
  });
});
