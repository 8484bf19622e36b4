import { describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { shippedModels } from '../model/shipped-models.ts';
import { benchPosterior } from '../posterior/bench-posterior.ts';
import { afterRuns, expectedRise, extendRuns } from './with-planned-runs.ts';

describe('a cooler with nothing planned', () => {
  const { files } = makeVirtualBench({
    seed: 3,
    coolers: 3,
    samples: 1,
    mounts: 2,
    loads_W: [60, 120, 180],
    noise_speeds: [],
    sessions: ['a', 'b', 'c', 'd'],
    reference_cooler: 'cooler-1',
    scatter: { session_K_per_W: 0.004 },
  });
  const posterior = benchPosterior(readBench(files), shippedModels);

  it('stays where it is, whatever the sessions did to its readings', () => {
    for (const cooler of posterior.coolers) {
      const after = afterRuns(extendRuns(posterior, cooler, []));
      expect(expectedRise(posterior, after, 150, 1500)).toBeCloseTo(
        expectedRise(posterior, cooler, 150, 1500),
        9,
      );
    }
  });
});
