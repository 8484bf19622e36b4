import { describe, expect, it } from 'vitest';
import { equalNoiseStudy } from '../benchmarks/equal-noise-study.ts';

// The short version of test/benchmarks/equal-noise-coverage.ts; the full study comes to 94 to 96 % on these. A bench's
// answers hang together, so few benches leave wide slack below; widths are held too, since wide enough always covers.
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
    6,
    41,
  );
  const share = ({ held, count }: { held: number; count: number }) => held / count;

  it('the speed at a level and the rise there are in their intervals', () => {
    expect(tally.speed.count).toBeGreaterThan(60);
    expect(share(tally.speed)).toBeGreaterThan(0.86);
    expect(share(tally.freshRun)).toBeGreaterThan(0.88);
    expect(share(tally.mean)).toBeGreaterThan(0.8);
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
