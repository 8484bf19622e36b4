/**
 * How many pairs any allocation of fresh mounts at the target could tell apart on the benches of `plan-gain`, found by trial with the truth in hand:
 * the ceiling for a plan that knows only the runs there are.
 *
 * Run: node test/benchmarks/run.mjs plan-ceiling [benches] [first seed] [hours] [settings]
 */
import { makeRandom } from '../../src/lab/random.ts';
import {
  closeBench,
  type Doable,
  done,
  evenSpread,
  judged,
  MINUTES_A_MOUNT,
  SETTINGS,
} from './plan-study.ts';

/** Changes of the allocation that are tried, and trials of each. */
const CHANGES = 50;
const TRIALS = 10;
/** What is reported comes from trials of its own, so that luck in the search does not count. */
const REPORTED = 20;

const [benches = '6', first = '1', hours = '10', ...settings] = process.argv.slice(2);

for (const name of settings.length > 0 ? settings : Object.keys(SETTINGS)) {
  const sums = { ladder: 0, single: 0, target: 0, best: 0 };
  for (let seed = Number(first); seed < Number(first) + Number(benches); seed++) {
    const close = closeBench(name, seed);
    const { target_W } = close.setting;
    const judge = judged(close);
    const told = (runs: readonly Doable[], from: number, trials: number) => {
      let sum = 0;
      for (let k = 0; k < trials; k++)
        sum += judge.told(done(close, runs, `ceiling/${from + k}`)).wanted / trials;
      return sum;
    };
    const mounts = Math.floor((Number(hours) * 60) / MINUTES_A_MOUNT);
    const coolers = close.bench.coolers.map(({ cooler }) => ({
      cooler,
      samples: [...new Set(close.bench.runs.filter((run) => run.cooler === cooler).map((run) => run.sample))],
      fan_rpm: close.truth.fan_max_rpm(cooler),
    }));
    const runsOf = (counts: readonly number[]): Doable[] =>
      counts.flatMap((count, c) =>
        Array.from({ length: count }, (_, k) => {
          const { cooler, samples, fan_rpm } = coolers[c];
          return { cooler, sample: samples[k % samples.length], power_W: target_W, fan_rpm, remount: true };
        }),
      );
    const random = makeRandom(seed).split('ceiling');
    let counts = coolers.map(
      (_, c) => Math.floor(mounts / coolers.length) + (c < mounts % coolers.length ? 1 : 0),
    );
    let best = told(runsOf(counts), 0, TRIALS);
    for (let change = 0; change < CHANGES; change++) {
      const [from, to] = [random.integer(0, coolers.length - 1), random.integer(0, coolers.length - 1)];
      if (from === to || counts[from] === 0) continue;
      const moved = Math.min(counts[from], random.integer(1, 2));
      const tried = counts.map((count, c) => count + (c === to ? moved : 0) - (c === from ? moved : 0));
      const worth = told(runsOf(tried), 0, TRIALS);
      if (worth > best) [best, counts] = [worth, tried];
    }
    const report = (runs: readonly Doable[]) => told(runs, 1000, REPORTED);
    sums.ladder += report(evenSpread(close, Number(hours), 3, 3));
    sums.single += report(evenSpread(close, Number(hours), 3, 1));
    sums.target += report(evenSpread(close, Number(hours), 1, 1));
    sums.best += report(runsOf(counts));
  }
  const share = (sum: number) => `${sum.toFixed(1)} (${(sum / sums.best).toFixed(2)})`;
  console.log(
    `${name}: told apart with the truth in hand ${sums.best.toFixed(1)}; three loads a mount ${share(sums.ladder)}, one load a mount ${share(sums.single)}, all at the target ${share(sums.target)}`,
  );
}
