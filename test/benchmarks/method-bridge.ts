/**
 * Whether differences of coolers run under different test methods hold what is true, when one or two coolers were run under
 * both: `node test/benchmarks/run.mjs method-bridge [benches] [first seed]`.
 *
 * Under the second method a rise is 0.8 K more than 1.06 times that under the first. Two fittings of every cooler under
 * its method, at three loads.
 */

import { compare } from '../../src/answers/compare.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

const [benches = '30', first = '1'] = process.argv.slice(2);
const OFFSET_K = 0.8;
const RATIO = 1.06;

for (const bridging of [1, 2, 3]) {
  const tally = new Map<string, { held: number; count: number; width: number }>();
  for (let seed = Number(first); seed < Number(first) + Number(benches); seed++) {
    const { files, truth } = makeVirtualBench({
      seed,
      coolers: 6,
      mounts: 4,
      instruments: { source_systematic_K: 0.2, ambient_systematic_K: 0.2 },
    });
    const bench = readBench(files);
    const shared = truth.coolers.slice(0, bridging);
    const open = truth.coolers.slice(0, 3);
    bench.runs = bench.runs.flatMap((run) => {
      const late = Number(run.mount) > 2;
      const both = shared.includes(run.cooler);
      // A cooler of one method has two of its four fittings only.
      if (!both && late) return [];
      const boxed = both ? late : !open.includes(run.cooler);
      if (!boxed) return [{ ...run, method: 'open' }];
      const rise = run.source_C - run.ambient_C;
      return [{ ...run, method: 'boxed', source_C: run.ambient_C + OFFSET_K + RATIO * rise }];
    });
    bench.runs.sort((a, b) => (a.method === b.method ? 0 : a.method === 'open' ? -1 : 1));
    const rise = (cooler: string, load: number) =>
      OFFSET_K + RATIO * truth.rise_K(cooler, load, truth.fan_max_rpm(cooler));
    const onlyOpen = (cooler: string) => open.includes(cooler) && !shared.includes(cooler);
    const all = new Map<string, boolean>();
    for (const pair of compare(bench, { power_W: [80, 120, 180] }).pairs) {
      const kind = onlyOpen(pair.a) !== onlyOpen(pair.b) ? 'across' : 'within';
      for (const { power_W, low_K, high_K } of pair.difference) {
        const name = `${kind} ${power_W} W`;
        const entry = tally.get(name) ?? { held: 0, count: 0, width: 0 };
        const difference = rise(pair.a, power_W) - rise(pair.b, power_W);
        const holds = low_K <= difference && difference <= high_K;
        entry.count++;
        entry.width += high_K - low_K;
        if (holds) entry.held++;
        tally.set(name, entry);
        all.set(`${power_W}`, (all.get(`${power_W}`) ?? true) && holds);
      }
    }
    for (const [load, held] of all) {
      const name = `every pair of a bench ${load} W`;
      const entry = tally.get(name) ?? { held: 0, count: 0, width: Number.NaN };
      entry.count++;
      if (held) entry.held++;
      tally.set(name, entry);
    }
  }
  console.log(`${bridging} run under both`);
  for (const [name, { held, count, width }] of [...tally].sort()) {
    const wide = Number.isNaN(width) ? '' : `, width ${(width / count).toFixed(2)} K`;
    console.log(`  ${name}: true ${((100 * held) / count).toFixed(1)} % of ${count}${wide}`);
  }
}
