import { expect, it } from 'vitest';
import { readBench } from '../../src/bench/read-bench.ts';
import { benchPosterior } from '../../src/fit/bench-posterior.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { predictFrom } from '../../src/predict/predict.ts';
import { layoutOf } from '../benchmarks/layouts.ts';

// On the bench of seed 9008 an interval once was 200,000 K wide: its coolers have priors very unlike each other's.
it('no interval runs away where coolers are very unlike, each at several speeds', () => {
  for (let seed = 9005; seed <= 9012; seed++) {
    const { files } = makeVirtualBench(layoutOf('second-steep', 'first')(seed));
    const posterior = benchPosterior(readBench(files), shippedModels);
    for (const { run_low_K, run_high_K, mean_low_K, mean_high_K } of predictFrom(posterior, {
      power_W: [60, 120, 180],
    }).predictions) {
      expect(mean_high_K - mean_low_K).toBeLessThan(20);
      expect(run_high_K - run_low_K).toBeLessThan(20);
    }
  }
});
