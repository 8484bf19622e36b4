/**
 * Pair differences across three sessions that a reference cooler ties, which was fitted badly in one of them:
 * node test/benchmarks/run.mjs bad-reference [benches] [first seed] [K/W of the bad fitting]
 *
 * Seven coolers: the reference was fitted once in every session, each of the others three times in one of them. In the second study a second cooler is
 * run in every session too.
 */
import { readBench } from '../../src/bench/read-bench.ts';
import { compareFrom } from '../../src/compare/compare.ts';
import { benchPosterior } from '../../src/fit/bench-posterior.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

const SESSIONS = ['spring', 'summer', 'autumn'];
const [benches = '40', start = '1', bad = '0.04'] = process.argv.slice(2);
console.log(
  '| ties | bad fitting | pairs across sessions inside | mean width | told apart | the wrong way |',
);
console.log('|---|---|---|---|---|---|');
for (const ties of [1, 2]) for (const added of [0, Number(bad)]) console.log(row(ties, added));

function row(ties: number, added: number): string {
  const sum = { pairs: 0, inside: 0, width: 0, told: 0, wrong: 0 };
  for (let seed = Number(start); seed < Number(start) + Number(benches); seed++) {
    const { files, truth } = makeVirtualBench({
      seed,
      coolers: 7,
      mounts: 9,
      samples: 1,
      sessions: SESSIONS,
      noise_speeds: [],
      heaterLeak: { value: 0.05, uncertainty: 0.01 },
      scatter: { session_K_per_W: 0.003 },
      faults: added === 0 ? [] : [{ cooler: 'cooler-1', mount: '2', interface_K_per_W: added }],
    });
    const bench = readBench(files);
    const names = bench.coolers.map(({ cooler }) => cooler);
    const home = new Map(names.map((name, k) => [name, k < ties ? '' : SESSIONS[k % 3]]));
    const runs = bench.runs.filter(({ cooler, mount, session }) =>
      home.get(cooler) === '' ? Number(mount) <= 3 : home.get(cooler) === session,
    );
    const posterior = benchPosterior({ ...bench, runs }, shippedModels);
    for (const { a, b, difference, resolved } of compareFrom(posterior, { power_W: [150] }).pairs) {
      if (!home.get(a) || !home.get(b) || home.get(a) === home.get(b)) continue;
      const truly = truth.rise_K(a, 150, truth.fan_max_rpm(a)) - truth.rise_K(b, 150, truth.fan_max_rpm(b));
      const { low_K, high_K } = difference[0];
      sum.pairs++;
      sum.inside += truly >= low_K && truly <= high_K ? 1 : 0;
      sum.width += high_K - low_K;
      sum.told += resolved.length > 0 ? 1 : 0;
      sum.wrong += resolved.length > 0 && (resolved[0].better === a) !== truly < 0 ? 1 : 0;
    }
  }
  const { pairs } = sum;
  return `| ${ties} | ${added} K/W | ${((100 * sum.inside) / pairs).toFixed(1)} % | ${(sum.width / pairs).toFixed(2)} K | ${sum.told} of ${pairs} | ${sum.wrong} |`;
}
