/**
 * How time grows with the runs of each cooler, on mounts of eight runs: node test/benchmarks/run.mjs growth-runs [coolers] [runs,runs,…] [scatter]
 *
 * CPU seconds of one process each for fitting (screening for strange runs left out and with it), predicting at three loads and
 * comparing at one. `scatter` multiplies what mounts, samples and readings scatter by: at 0.05 they hardly do.
 */

import { compare } from '../../src/answers/compare.ts';
import { fit } from '../../src/answers/fit.ts';
import { predict } from '../../src/answers/predict.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { posteriorOf } from '../../src/fit/posterior-of.ts';
import { defaultScatter } from '../../src/lab/bench-options.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

const commands = { compare, fit, predict };

const coolers = Number(process.argv[2] ?? 4);
const sizes = (process.argv[3] ?? '104,200,400').split(',').map(Number);
const scale = Number(process.argv[4] ?? 1);
console.log('runs each     fit  strange  predict  compare  scatters settled');
for (const runs of sizes) {
  const { files } = makeVirtualBench({
    seed: 40,
    coolers,
    samples: 2,
    mounts: Math.round(runs / 16),
    loads_W: [60, 100, 140, 180],
    speeds: [0.6, 1],
    noise_speeds: [],
    scatter: {
      mount_K_per_W: scale * defaultScatter.mount_K_per_W,
      sample_K_per_W: scale * defaultScatter.sample_K_per_W,
      reading_K: scale * defaultScatter.reading_K,
    },
  });
  const timed = <T>(work: () => T): [T, number] => {
    const before = process.cpuUsage();
    const result = work();
    return [result, process.cpuUsage(before).user / 1e6];
  };
  const bench = readBench(files);
  const [posterior, fit_s] = timed(() => posteriorOf(bench, 'heater'));
  const [, strange_s] = timed(() => commands.fit(bench));
  const [, predict_s] = timed(() => commands.predict(bench, { power_W: [100, 200, 300] }));
  const [, compare_s] = timed(() => commands.compare(bench, { power_W: [200] }));
  const cells = [fit_s, strange_s, predict_s, compare_s].map((s) => s.toFixed(2).padStart(8));
  console.log(
    `${String(bench.runs.length / coolers).padStart(9)}${cells.join(' ')}  ${posterior.scatter.converged}`,
  );
}
