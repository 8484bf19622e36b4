import { expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { compareFrom } from '../compare/compare.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { fitResultOf } from '../predict/fit-result.ts';
import { predictFrom } from '../predict/predict.ts';
import { benchPosterior } from './bench-posterior.ts';
import { compactPosterior, packNumbers, restorePosterior, unpackNumbers } from './compact.ts';
import { modelsOf } from './models-of.ts';

it('packs every double without loss', () => {
  const values = [0, -0, 1 / 3, -1e-320, Number.MAX_VALUE, Number.POSITIVE_INFINITY, Number.NaN];
  expect([...unpackNumbers(packNumbers(values))]).toEqual(values);
});

it.each([
  ['one session', {}],
  [
    'two sessions, tied by a reference cooler',
    { sessions: ['spring', 'autumn'], reference_cooler: 'cooler-1', scatter: { session_K_per_W: 0.004 } },
  ],
])('answers the same after a way through text: %s', (_name, more) => {
  const { files } = makeVirtualBench({
    seed: 5,
    coolers: 3,
    speeds: [1, 0.6],
    mounts: 2,
    zeroLoadRuns: 1,
    ...more,
  });
  const bench = readBench(files);
  const [own, ...others] = modelsOf(bench);
  // One model that is not among the shipped ones, as a lab's own would be.
  const posterior = benchPosterior(bench, [{ ...own, name: 'of-the-lab' }, ...others]);
  const text = JSON.stringify(compactPosterior(posterior));
  const restored = restorePosterior(JSON.parse(text), bench);
  for (const conditions of [
    { power_W: [40, 150, 260] },
    { power_W: [200], fan_percent: 55, level: 0.9 },
    { power_W: [150], sound_dBA: 36 },
  ]) {
    expect(predictFrom(restored, conditions)).toEqual(predictFrom(posterior, conditions));
    expect(compareFrom(restored, conditions)).toEqual(compareFrom(posterior, conditions));
  }
  expect(fitResultOf(restored, restored.coolers)).toEqual(fitResultOf(posterior, posterior.coolers));
  expect(text.length).toBeLessThan(3 * 20_000);
});
