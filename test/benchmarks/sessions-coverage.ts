/**
 * Pair differences across two sessions tied by a reference cooler: see sessions.ts
 *
 * Half of the coolers were run in the first session only, half in the second; another paste batch and a recalibrated
 * sensor lie between. With the reference the sessions are tied, without it they are only as far apart as the calibration says.
 */
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { compareFrom } from '../../src/compare/compare.ts';
import { benchPosterior } from '../../src/fit/bench-posterior.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

export function acrossSessions(
  benches: number,
  first: number,
  tied: boolean,
): { line: string; covered: number } {
  let inside = 0;
  let count = 0;
  let width = 0;
  let within = 0;
  let withinCount = 0;
  for (let b = 0; b < benches; b++) {
    const { files, truth } = makeVirtualBench({
      seed: first + b,
      coolers: 7,
      mounts: 4,
      samples: 1,
      loads_W: [60, 120, 180],
      sessions: ['spring', 'autumn'],
      noise_speeds: [],
      heaterLeak: { value: 0.05, uncertainty: 0.01 },
      scatter: { session_K_per_W: 0.004 },
    });
    const bench = readBench(files);
    const names = bench.coolers.map((cooler) => cooler.cooler);
    const home = new Map(
      names.map((name, k) => [name, k === 0 && tied ? '' : k % 2 === 0 ? 'spring' : 'autumn']),
    );
    const kept: Bench = {
      ...bench,
      runs: bench.runs.filter((run) => ['', run.session].includes(home.get(run.cooler))),
    };
    const posterior = benchPosterior(kept, shippedModels);
    for (const { a, b: other, difference } of compareFrom(posterior, { power_W: [150] }).pairs) {
      const truly =
        truth.rise_K(a, 150, truth.fan_max_rpm(a)) - truth.rise_K(other, 150, truth.fan_max_rpm(other));
      const hit = truly >= difference[0].low_K && truly <= difference[0].high_K ? 1 : 0;
      if (home.get(a) && home.get(other) && home.get(a) !== home.get(other)) {
        inside += hit;
        width += difference[0].high_K - difference[0].low_K;
        count++;
      } else {
        within += hit;
        withinCount++;
      }
    }
  }
  const covered = inside / count;
  const line =
    `${tied ? 'tied by a reference' : 'not tied'}: pairs across sessions true ${(100 * covered).toFixed(1)} % of ${count}, ` +
    `mean width ${(width / count).toFixed(2)} K; within ${((100 * within) / withinCount).toFixed(1)} %`;
  return { line, covered };
}
