import { expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { Answers } from './answers.ts';
import { pageData } from './page-data.ts';

it('a run is shown with the rise that was read, and its residual with what its session adds taken off', () => {
  const bench = readBench(
    makeVirtualBench({
      seed: 4,
      coolers: 3,
      samples: 1,
      mounts: 4,
      loads_W: [60, 120, 180],
      noise_speeds: [],
      sessions: ['a', 'b', 'c', 'd'],
      reference_cooler: 'cooler-1',
      instruments: { source_systematic_K: 2 },
    }).files,
  );
  const data = pageData(
    bench,
    [posteriorOf(bench)],
    {},
    { version: '', hashes: [], sections: '', control: null },
  );
  const shown = new Answers(data).residuals({ source: 'heater' });
  expect(shown).toHaveLength(bench.runs.filter((run) => run.power_W > 0).length);
  for (const { run, rise_K } of shown) {
    const read = bench.runs.find((one) => one.run === run)!;
    expect(rise_K).toBeCloseTo(read.source_C - read.ambient_C, 9);
  }
  // Mounts scatter by 0.005 K/W, 0.9 K at 180 W; the sensors of a session by 2 K.
  const rms = Math.sqrt(shown.reduce((sum, one) => sum + one.residual_K ** 2, 0) / shown.length);
  expect(rms).toBeLessThan(1.2);
});
