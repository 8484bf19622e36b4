/**
 * Predictions at a fan speed that a cooler was never run at: node test/benchmarks/run.mjs unrun-speed [benches] [first seed]
 *
 * In the first study the other coolers of the bench were run there and lend what they know; in the second nobody was.
 */
import { readBench } from '../../src/bench/read-bench.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { shippedModels } from '../../src/model/shipped-models.ts';
import { benchPosterior } from '../../src/posterior/bench-posterior.ts';
import { predictFrom } from '../../src/prediction/predict.ts';

const [benches = '60', start = '1'] = process.argv.slice(2);
for (const others of [true, false]) {
  let mean = 0;
  let run = 0;
  let count = 0;
  let width = 0;
  for (let seed = Number(start); seed < Number(start) + Number(benches); seed++) {
    const { files, truth } = makeVirtualBench({
      seed,
      coolers: 8,
      mounts: 2,
      speeds: [0.6, 1],
      noise_speeds: [],
    });
    const bench = readBench(files);
    const first = bench.coolers[0].cooler;
    const fullSpeed = (cooler: string, rpm: number) => rpm > 0.9 * truth.fan_max_rpm(cooler);
    const runs = bench.runs.filter(
      (one) => (others && one.cooler !== first) || fullSpeed(one.cooler, one.fan_rpm),
    );
    const posterior = benchPosterior({ ...bench, runs }, shippedModels);
    const rpm = 0.6 * truth.fan_max_rpm(first);
    const { predictions } = predictFrom(posterior, {
      power_W: [60, 120, 180],
      fan_rpm: rpm,
      coolers: [first],
    });
    for (const p of predictions) {
      const rise = truth.rise_K(first, p.power_W, rpm);
      const reading = truth.freshRun(first, p.power_W, rpm, seed);
      mean += rise >= p.mean_low_K && rise <= p.mean_high_K ? 1 : 0;
      run += reading >= p.run_low_K && reading <= p.run_high_K ? 1 : 0;
      width += (p.mean_high_K - p.mean_low_K) / rise;
      count++;
    }
  }
  console.log(
    `${others ? 'others were run there' : 'nobody was run there'}: mean ${((100 * mean) / count).toFixed(1)} %, ` +
      `fresh run ${((100 * run) / count).toFixed(1)} % of ${count}, width ${((100 * width) / count).toFixed(0)} % of the rise`,
  );
}
