import { expect, it } from 'vitest';
import type { Run } from '../bench/bench.ts';
import { readBench } from '../bench/read-bench.ts';
import { benchPosterior } from '../fit/bench-posterior.ts';
import { shippedModels } from '../formula/shipped-models.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { predictFrom } from './predict.ts';

const bench = readBench(
  makeVirtualBench({
    seed: 5,
    coolers: 4,
    samples: 1,
    mounts: 4,
    sessions: ['May', 'June'],
    noise_speeds: [],
  }).files,
);

/** Middle of the interval of a reading less that of the mean, and the mean, K; averaged over the coolers. */
function foreseen(runs: readonly Run[]): [shift: number, mean: number] {
  const { predictions } = predictFrom(benchPosterior({ ...bench, runs: [...runs] }, shippedModels), {
    power_W: [120],
  });
  const average = (of: (p: (typeof predictions)[number]) => number) =>
    predictions.reduce((sum, p) => sum + of(p), 0) / predictions.length;
  return [average((p) => (p.run_low_K + p.run_high_K) / 2 - p.rise_K), average((p) => p.rise_K)];
}

it('a reading is foreseen as the sensors of the present session read it', () => {
  const [before, mean] = foreseen(bench.runs);
  // Every cooler was run in both sessions, so the difference between them is known well; half of it is the last session's.
  const warmer = bench.runs.map((run) =>
    run.session === 'June' ? { ...run, source_C: run.source_C + 0.8 } : run,
  );
  const [after, meanAfter] = foreseen(warmer);
  expect(after + meanAfter - before - mean).toBeGreaterThan(0.6);
  expect(after + meanAfter - before - mean).toBeLessThan(0.9);
  expect(after - before).toBeGreaterThan(0.25);
});

it('and as zero-load runs show the sensors to read', () => {
  const [before, mean] = foreseen(bench.runs);
  const idle = bench.runs
    .filter((run) => run.session === 'June')
    .slice(0, 2)
    .map((run, k) => ({ ...run, run: `idle-${k}`, power_W: 0, source_C: run.ambient_C + 0.7 }));
  const high = bench.runs.map((run) => ({ ...run, source_C: run.source_C + 0.7 }));
  const [after, meanAfter] = foreseen([...high, ...idle]);
  // What the readings went up by is foreseen of the next one as well, and is no longer taken for the rise.
  expect(after + meanAfter - before - mean).toBeGreaterThan(0.5);
  expect(after + meanAfter - before - mean).toBeLessThan(0.9);
  expect(meanAfter - mean).toBeLessThan(0.45);
});
