/**
 * Speeds that were not run: node test/benchmarks/run.mjs unrun-speed [benches] [first seed] [cases] [steep|flat|usual|steep-bare|flat-bare|usual-bare]
 *
 * Air coolers of the second lab; `steep`: their rise at 45 % of full speed is 1.4 to 2.3 times that at full; `flat`: 1.05 to 1.3 times.
 */
import type { Run } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { compareFrom } from '../../src/compare/compare.ts';
import { benchPosterior } from '../../src/fit/bench-posterior.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';
import { curveCoolers } from '../../src/lab/curve-coolers.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { predictFrom } from '../../src/predict/predict.ts';

/** Which speeds the k-th cooler is run at, and those asked for; `only`: coolers asked about by `predict`. */
interface Case {
  readonly run: (k: number) => readonly number[];
  readonly ask: readonly number[];
  readonly only?: (k: number) => boolean;
}

const CASES: Readonly<Record<string, Case>> = {
  'slow-only': { run: () => [0.45], ask: [1] },
  'one-slow': { run: (k) => (k === 0 ? [0.5] : [0.45, 0.7, 1]), ask: [1], only: (k) => k === 0 },
  halves: { run: (k) => [k % 2 ? 0.45 : 1], ask: [0.45, 0.7, 1] },
  'near-full': { run: () => [0.8, 1], ask: [0.4] },
  'full-only': { run: () => [1], ask: [0.55, 0.4] },
  'three-speeds': { run: () => [0.45, 0.7, 1], ask: [0.4, 0.55, 0.85, 1] },
  'run-there': { run: () => [1], ask: [1] },
};
const SPEEDS = [0.45, 0.5, 0.7, 0.8, 1];
const STYLES: Readonly<Record<string, readonly [number, number]>> = {
  steep: [1.4, 2.3],
  flat: [1.05, 1.3],
  usual: [1.1, 1.8],
};

const [benches = '30', start = '1', which = 'all', style = 'steep'] = process.argv.slice(2);
console.log(
  '| coolers | runs | asked | mean inside | width | bias | fresh run inside | pairs told apart | the wrong way |',
);
console.log('|---|---|---|---|---|---|---|---|---|');
for (const [name, { run, ask, only }] of Object.entries(CASES)) {
  if (which !== 'all' && !which.split(',').includes(name)) continue;
  for (const share of ask) console.log(row(name, run, share, only));
}

function row(name: string, run: Case['run'], share: number, only: Case['only']): string {
  const sum = {
    inside: 0,
    width: 0,
    bias: 0,
    fresh: 0,
    count: 0,
    told: 0,
    pairs: 0,
    wrong: 0,
    wrongBenches: 0,
  };
  for (let seed = Number(start); seed < Number(start) + Number(benches); seed++) {
    const coolers = curveCoolers(6, seed, {
      kinds: style.endsWith('-bare') ? ['bare'] : ['pipes', 'pipes', 'bare', 'chamber'],
      atSlow: STYLES[style.replace('-bare', '')],
      stall: 0.15,
    });
    const { files, truth } = makeVirtualBench({
      seed,
      coolers,
      mounts: 2,
      speeds: SPEEDS,
      loads_W: [60, 120, 180],
      noise_speeds: [],
    });
    const bench = readBench(files);
    const names = bench.coolers.map(({ cooler }) => cooler);
    const isRun = ({ cooler, fan_rpm }: Run) =>
      run(names.indexOf(cooler)).some((s) => Math.abs(fan_rpm / truth.fan_max_rpm(cooler) - s) < 0.02);
    // Full speed is in coolers.csv: what is not run must not be learnt from the highest speed seen.
    const posterior = benchPosterior({ ...bench, runs: bench.runs.filter(isRun) }, shippedModels);
    const { predictions } = predictFrom(posterior, { power_W: [80, 120, 180], fan_percent: 100 * share });
    for (const p of predictions) {
      if (only && !only(names.indexOf(p.cooler))) continue;
      const rise = truth.rise_K(p.cooler, p.power_W, p.fan_rpm);
      const reading = truth.freshRun(p.cooler, p.power_W, p.fan_rpm, 1000 * seed);
      sum.inside += rise >= p.mean_low_K && rise <= p.mean_high_K ? 1 : 0;
      sum.fresh += reading >= p.run_low_K && reading <= p.run_high_K ? 1 : 0;
      sum.width += (p.mean_high_K - p.mean_low_K) / rise;
      sum.bias += (p.rise_K - rise) / rise;
      sum.count++;
    }
    let wrong = 0;
    for (const { a, b, resolved } of compareFrom(posterior, { power_W: [160], fan_percent: 100 * share })
      .pairs) {
      const rpm = (c: string) => share * truth.fan_max_rpm(c);
      const truly = truth.rise_K(a, 160, rpm(a)) - truth.rise_K(b, 160, rpm(b));
      sum.pairs++;
      if (resolved.length > 0) sum.told++;
      if (resolved.length > 0 && (resolved[0].better === a) !== truly < 0) wrong++;
    }
    sum.wrong += wrong;
    sum.wrongBenches += wrong > 0 ? 1 : 0;
  }
  const percent = (part: number, whole: number) => `${((100 * part) / whole).toFixed(1)} %`;
  const { count, pairs } = sum;
  return `| ${style} | ${name} | ${Math.round(100 * share)} % | ${percent(sum.inside, count)} | ${percent(sum.width, count)} | ${percent(sum.bias, count)} | ${percent(sum.fresh, count)} | ${sum.told} of ${pairs} | ${sum.wrong} on ${sum.wrongBenches} |`;
}
