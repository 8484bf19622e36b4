import { describe, expect, it } from 'vitest';
import type { Bench } from '../bench/bench.ts';
import { readBench } from '../bench/read-bench.ts';
import { shippedModels } from '../formula/shipped-models.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { benchPosterior } from './bench-posterior.ts';
import { estimateSessionEffects, priorSessionEffects } from './session-effects.ts';

/** Two sessions; every cooler in both, but those named only in one. */
function bench(seed: number, sensor_K: number, only: (cooler: string, session?: string) => boolean): Bench {
  const { files } = makeVirtualBench({
    seed,
    coolers: 4,
    mounts: 8,
    sessions: ['spring', 'autumn'],
    noise_speeds: [],
    scatter: { mount_K_per_W: 0.002, sample_K_per_W: 0.002, reading_K: 0.05 },
    instruments: { source_systematic_K: 0, ambient_systematic_K: 0, power_systematic_percent: 0 },
  });
  const read = readBench(files);
  const runs = read.runs
    .filter((run) => only(run.cooler, run.session))
    .map((run) => (run.session === 'autumn' ? { ...run, source_C: run.source_C + sensor_K } : run));
  const instruments = {
    ...read.instruments,
    source_temperature: { systematic_K: 0.5, resolution_K: 0.1 },
    ambient_temperature: { systematic_K: 0.3, resolution_K: 0.1 },
  };
  return { ...read, runs, instruments };
}

describe('sensor and paste state of sessions', () => {
  it('finds a sensor that reads 0.8 K higher in the second session from the coolers run in both', () => {
    const { sessionEffects } = benchPosterior(
      bench(5, 0.8, () => true),
      shippedModels,
    );
    const effects = sessionEffects!;
    // At a middle load what counts is offset and paste together.
    const state = (k: number) => effects.offset_K[k] + 100 * effects.paste_K_per_W[k];
    expect(state(1) - state(0)).toBeGreaterThan(0.5);
    expect(state(1) - state(0)).toBeLessThan(1.1);
    // What the two have in common is not learnt: the root still holds the calibration.
    const size = 4;
    const variance = (a: number, b: number) => {
      let sum = 0;
      for (let z = 0; z < size; z++) sum += effects.root[a * size + z] * effects.root[b * size + z];
      return sum;
    };
    const common = (variance(0, 0) + variance(1, 1) + 2 * variance(0, 1)) / 4;
    expect(Math.sqrt(common)).toBeCloseTo(Math.hypot(0.5, 0.3) / Math.SQRT2, 2);
    const apart = variance(0, 0) + variance(1, 1) - 2 * variance(0, 1);
    expect(Math.sqrt(apart)).toBeLessThan(0.4);
  });

  it('learns nothing where no cooler was run in both', () => {
    const alone = bench(
      5,
      0.8,
      (cooler, session) => (session === 'spring') === ['cooler-1', 'cooler-2'].includes(cooler),
    );
    const { sessionEffects } = benchPosterior(alone, shippedModels);
    expect(Math.abs(sessionEffects!.offset_K[0])).toBeLessThan(0.02);
    expect(Math.abs(sessionEffects!.offset_K[1])).toBeLessThan(0.02);
  });

  it('without any part is the prior', () => {
    const variances = [0.5 ** 2, 0.6 ** 2, 0.003 ** 2, 0.003 ** 2];
    const before = Float64Array.from({ length: 16 }, (_, k) => (k % 5 === 0 ? variances[k / 5] : 0));
    const prior = priorSessionEffects(before);
    const same = estimateSessionEffects([], before, before, prior);
    expect(Array.from(same.offset_K)).toEqual([0, 0]);
    Array.from(same.root).forEach((value, i) => {
      expect(value).toBeCloseTo(prior.root[i], 12);
    });
  });
});
