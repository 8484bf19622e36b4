import { describe, expect, it } from 'vitest';
import { readBench } from '../../src/bench/read-bench.ts';
import { posteriorFor } from '../../src/fit/posterior-for.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { riseDistributions } from '../../src/predict/rise-distribution.ts';
import { sharedUncertainties, sharedVariance } from '../../src/predict/shared-errors.ts';

describe('a cooler that was run on the chip only', () => {
  /** What its mean rise answers to the sensor on the die, and all that shared errors leave open of it, K. */
  function answers(sessions: readonly string[]): { sensor: number; shared_K: number } {
    const read = readBench(
      makeVirtualBench({ seed: 6, coolers: 4, mounts: 4, sessions, noise_speeds: [] }).files,
    );
    const last = read.coolers[3].cooler;
    const chip = {
      chip: 'Merle',
      sensor_systematic_K: 2,
      power_systematic_percent: 0.01,
      leak_W_per_K: { value: 0, uncertainty: 0.0001 },
      extra: {},
    };
    const runs = read.runs.flatMap((run) => {
      const there = { ...run, source: 'Merle', run: `${run.run}-there` };
      return run.cooler === last ? [there] : [run, there];
    });
    const bench = { ...read, chips: [chip], runs };
    const posterior = posteriorFor(bench, 'Merle');
    const { columns, uncertainty } = posterior.term!;
    const one = posterior.coolers.find(({ data }) => data.cooler.cooler === last);
    if (!one) throw new Error('no such cooler');
    const [{ meanSensitivity }] = riseDistributions(posterior, one, [{ power_W: 150, speed: 1 }]);
    return {
      sensor: meanSensitivity[columns.sensor] / uncertainty[columns.sensor],
      shared_K: Math.sqrt(sharedVariance(meanSensitivity, sharedUncertainties(posterior))),
    };
  }

  it('answers to the sensor on the die alike, however many sessions it was run in', () => {
    const one = answers(['a']);
    const two = answers(['a', 'b']);
    expect(Math.abs(one.sensor)).toBeGreaterThan(0.7);
    expect(two.sensor / one.sensor).toBeGreaterThan(0.8);
    expect(two.sensor / one.sensor).toBeLessThan(1.2);
    // A sensor known to 2 K, the ambient's and the paste's states beside it.
    expect(two.shared_K / one.shared_K).toBeGreaterThan(0.8);
    expect(two.shared_K / one.shared_K).toBeLessThan(1.2);
  });
});
