/**
 * How time grows with the number of coolers, 16 runs each: node test/benchmarks/run.mjs growth [coolers,coolers,…]
 *
 * CPU seconds of one process each for reading, fitting, predicting at three loads, and comparing at one load (the number of
 * pairs grows with the square).
 */

import { compare } from '../../src/answers/compare.ts';
import { fit } from '../../src/answers/fit.ts';
import { predict } from '../../src/answers/predict.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

const commands = { compare, fit, predict };

const sizes = (process.argv[2] ?? '100,400,1000,2000').split(',').map(Number);
console.log('coolers   runs    read     fit  predict  compare  fit per cooler, ms');
for (const coolers of sizes) {
  const { files } = makeVirtualBench({
    seed: 40,
    coolers,
    samples: 2,
    mounts: 2,
    loads_W: [60, 100, 140, 180],
    speeds: [1],
  });
  const timed = <T>(work: () => T): [T, number] => {
    const before = process.cpuUsage();
    const result = work();
    return [result, process.cpuUsage(before).user / 1e6];
  };
  const [bench, read_s] = timed(() => readBench(files));
  const [, fit_s] = timed(() => commands.fit(bench));
  const [, predict_s] = timed(() => commands.predict(bench, { power_W: [100, 200, 300] }));
  const [, compare_s] = timed(() => commands.compare(bench, { power_W: [200] }));
  const cells = [read_s, fit_s, predict_s, compare_s].map((s) => s.toFixed(2).padStart(8));
  console.log(
    `${String(coolers).padStart(7)} ${String(bench.runs.length).padStart(6)}${cells.join('')} ${((1000 * fit_s) / coolers).toFixed(1).padStart(12)}`,
  );
}
