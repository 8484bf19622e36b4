/**
 * Answers on a chip that is not what was stated of it: node test/benchmarks/run.mjs chip-unlike [benches] [first seed] [cases] [coolers run on it]
 *
 * Coolers of the second lab. `wrong-N`: the geometry's own term is a part of 1/N of the true one; `off-centre`: a small hot spot off the
 * middle, which every cooler answers to in its own measure; `rough`: samples and fittings differ 1.6 times as much as on the heater.
 */
import { readBench } from '../../src/bench/read-bench.ts';
import { compareFrom } from '../../src/compare/compare.ts';
import { benchPosterior } from '../../src/fit/bench-posterior.ts';
import { chipPosterior } from '../../src/fit/chip-posterior.ts';
import { sourceTerm } from '../../src/fit/chip-term.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';
import type { ChipOptions } from '../../src/lab/bench-options.ts';
import { curveCoolers } from '../../src/lab/curve-coolers.ts';
import { labData } from '../../src/lab/lab-data.generated.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { predictFrom } from '../../src/predict/predict.ts';

const COOLERS = 6;
const LOADS_W = [80, 120, 160];
/** Term of the geometry stated, K/W. */
const STATED_K_PER_W = 0.048;

type Stated = Pick<ChipOptions, 'chip' | 'geometry' | 'scatter_factor'>;
const even = labData.chips[0];
const withTerm = (times: number): Stated => ({
  chip: { ...even, internal_K_per_W: labData.heater.internal_K_per_W + times * STATED_K_PER_W },
  geometry: 'one-die',
});
const small = { ...even, width_mm: 14, length_mm: 14, off_centre: 1 };
const CASES: Readonly<Record<string, Stated>> = {
  centred: { chip: even },
  'right-geometry': withTerm(1),
  'wrong-2': withTerm(2),
  'wrong-3': withTerm(3),
  'wrong-4': withTerm(4),
  'off-centre': { chip: small },
  'off-centre-stated': { chip: small, geometry: 'one-die' },
  rough: { chip: even, scatter_factor: 1.6 },
};

const [benches = '40', start = '1', which = 'all', counts = '0,2,4'] = process.argv.slice(2);
console.log(
  '| chip | coolers run on it | mean inside | bias | width | fresh run inside | its width | pairs inside | told apart | the wrong way |',
);
console.log('|---|---|---|---|---|---|---|---|---|---|');
for (const [name, stated] of Object.entries(CASES)) {
  if (which !== 'all' && !which.split(',').includes(name)) continue;
  for (const onChip of counts.split(',')) console.log(row(name, stated, Number(onChip)));
}

function row(name: string, stated: Stated, onChip: number): string {
  const sum = {
    inside: 0,
    fresh: 0,
    width: 0,
    freshWidth: 0,
    bias: 0,
    count: 0,
    pairs: 0,
    pairsIn: 0,
    told: 0,
    wrong: 0,
  };
  let wrongBenches = 0;
  const chip = stated.chip.source;
  for (let seed = Number(start); seed < Number(start) + Number(benches); seed++) {
    const coolers = curveCoolers(COOLERS, seed, { kinds: ['pipes', 'pipes', 'bare', 'chamber'] });
    const ran = coolers.slice(0, onChip).map(({ cooler }) => cooler);
    const { files, truth } = makeVirtualBench({
      seed,
      coolers,
      samples: 2,
      mounts: 2,
      loads_W: [60, 120, 180],
      noise_speeds: [],
      heaterLeak: { value: 0.05, uncertainty: 0.01 },
      chips: [{ ...stated, coolers: ran, loads_W: [70, 140] }],
    });
    const bench = readBench(files);
    const fitted = (source: string) => benchPosterior(bench, shippedModels, source);
    const heater = fitted('heater');
    const posterior = chipPosterior(heater, chip, sourceTerm(heater, chip), fitted);
    const rpm = (cooler: string) => truth.fan_max_rpm(cooler);
    for (const p of predictFrom(posterior, { power_W: LOADS_W }).predictions) {
      if (ran.includes(p.cooler)) continue;
      const rise = truth.rise_K(p.cooler, p.power_W, p.fan_rpm, chip);
      sum.inside += rise >= p.mean_low_K && rise <= p.mean_high_K ? 1 : 0;
      sum.bias += (p.rise_K - rise) / rise;
      sum.width += (p.mean_high_K - p.mean_low_K) / rise;
      sum.freshWidth += (p.run_high_K - p.run_low_K) / rise;
      sum.count++;
      for (let k = 0; k < 4; k++) {
        const reading = truth.freshRun(p.cooler, p.power_W, p.fan_rpm, 1000 * seed + k, chip);
        sum.fresh += reading >= p.run_low_K && reading <= p.run_high_K ? 0.25 : 0;
      }
    }
    let wrong = 0;
    for (const { a, b, resolved, difference } of compareFrom(posterior, { power_W: [140] }).pairs) {
      const truly = truth.rise_K(a, 140, rpm(a), chip) - truth.rise_K(b, 140, rpm(b), chip);
      const { low_K, high_K } = difference[0];
      sum.pairs++;
      sum.pairsIn += truly >= low_K && truly <= high_K ? 1 : 0;
      sum.told += resolved.length > 0 ? 1 : 0;
      wrong += resolved.length > 0 && (resolved[0].better === a) !== truly < 0 ? 1 : 0;
    }
    sum.wrong += wrong;
    wrongBenches += wrong > 0 ? 1 : 0;
  }
  const percent = (part: number, whole: number) => `${((100 * part) / whole).toFixed(1)} %`;
  const { count, pairs, told, wrong } = sum;
  return `| ${name} | ${onChip} | ${percent(sum.inside, count)} | ${percent(sum.bias, count)} | ${percent(sum.width, count)} | ${percent(sum.fresh, count)} | ${percent(sum.freshWidth, count)} | ${percent(sum.pairsIn, pairs)} | ${told} of ${pairs} | ${wrong} on ${wrongBenches} |`;
}
