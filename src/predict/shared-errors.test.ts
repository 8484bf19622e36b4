import { describe, expect, it } from 'vitest';
import { compare } from '../answers/compare.ts';
import type { Bench } from '../bench/bench.ts';
import { readBench } from '../bench/read-bench.ts';
import { benchPosterior } from '../fit/bench-posterior.ts';
import { FIRST_OFFSET, LEAK, PASTE, POWER_SCALE } from '../fit/shared-error-order.ts';
import { shippedModels } from '../formula/shipped-models.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { mixtureMean } from '../numerics/mixture.ts';
import { riseDistributions } from './rise-distribution.ts';
import { atLoads } from './rise-point.ts';

const { files } = makeVirtualBench({
  seed: 3,
  coolers: 6,
  samples: 2,
  mounts: 2,
  noise_speeds: [],
  heaterLeak: { value: 0.05, uncertainty: 0.01 },
});
const bench = readBench(files);
const LOADS = [45, 120, 180, 240];

function meanAt(of: Bench): number[][] {
  const posterior = benchPosterior(of, shippedModels);
  return posterior.coolers.map((cooler) =>
    riseDistributions(posterior, cooler, atLoads(LOADS, 1)).map((d) => mixtureMean(d.mean)),
  );
}

/** What an error really does: the whole bench is read with it and fitted anew. */
describe('sensitivity to an error that all runs share', () => {
  const posterior = benchPosterior(bench, shippedModels);
  const before = meanAt(bench);
  const predicted = (k: number) =>
    posterior.coolers.map((cooler) =>
      riseDistributions(posterior, cooler, atLoads(LOADS, 1)).map((d) => d.meanSensitivity[k]),
    );

  it.each([
    [
      'offset of the source sensor',
      FIRST_OFFSET,
      0.3,
      (b: Bench): Bench => ({ ...b, runs: b.runs.map((run) => ({ ...run, source_C: run.source_C + 0.3 })) }),
    ],
    [
      'power scale: the true load is 1 % above the metered',
      POWER_SCALE,
      0.01,
      (b: Bench): Bench => ({ ...b, runs: b.runs.map((run) => ({ ...run, power_W: run.power_W / 1.01 })) }),
    ],
  ])('%s agrees with a refit', (_, k, size, change) => {
    const after = meanAt(change(bench));
    const sensitivity = predicted(k);
    const apart = LOADS.map((_, l) =>
      after
        .map(
          (row, c) =>
            Math.abs((row[l] - before[c][l]) / size - sensitivity[c][l]) /
            Math.max(1, Math.abs(sensitivity[c][l])),
        )
        .sort((x, y) => x - y),
    );
    for (const l of [0, 1, 2]) expect(apart[l][apart[l].length - 1]).toBeLessThan(0.15);
    // A third beyond the runs the weights of the models move as well, which no sensitivity holds: half of the coolers.
    expect(apart[3][2]).toBeLessThan(0.35);
  });

  it('a batch of paste that all runs have is in the estimate as it is in the rise asked for', () => {
    const paste = 0.003;
    const after = meanAt({
      ...bench,
      runs: bench.runs.map((run) => ({ ...run, source_C: run.source_C + paste * run.power_W })),
    });
    predicted(PASTE).forEach((row, c) => {
      for (const l of [1, 2]) {
        // With the leak of 0.05 W/K about 0.98 of the load goes into the base.
        expect((after[c][l] - before[c][l]) / (paste * LOADS[l])).toBeCloseTo(1, 1);
        expect(Math.abs(row[l])).toBeLessThan(0.06 * LOADS[l]);
      }
    });
  });

  it('a leak nearly cancels inside the loads run and not far outside', () => {
    for (const row of predicted(LEAK)) {
      expect(Math.abs(row[1])).toBeLessThan(12);
    }
  });

  it('an offset cancels exactly in a difference of coolers that answer to it alike', () => {
    const doubled: Bench = {
      ...bench,
      instruments: { ...bench.instruments, source_temperature: { systematic_K: 50, resolution_K: 0.1 } },
    };
    const [a] = compare(bench, { power_W: [150] }).pairs;
    const [b] = compare(doubled, { power_W: [150] }).pairs;
    const width = (pair: typeof a) => pair.difference[0].high_K - pair.difference[0].low_K;
    expect(b.difference[0].rise_K).toBe(a.difference[0].rise_K);
    // A hundred times the offset uncertainty, and hardly wider.
    expect(width(b) / width(a)).toBeLessThan(2);
  });
});
