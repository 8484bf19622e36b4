import { describe, expect, it } from 'vitest';
import { fit as fitBench } from '../answers/fit.ts';
import { predict } from '../answers/predict.ts';
import { readBench } from '../bench/read-bench.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';

/** Every cooler at two speeds but the first, which was run at full speed only. */
function oneSpeedOnly(seed: number, coolers: number) {
  const { files, truth } = makeVirtualBench({
    seed,
    coolers,
    mounts: 3,
    speeds: [0.55, 1],
    noise_speeds: [],
    scatter: { mount_K_per_W: 0.002, sample_K_per_W: 0.001, reading_K: 0.05 },
  });
  const bench = readBench(files);
  const first = bench.coolers[0].cooler;
  const runs = bench.runs.filter(
    (run) => run.cooler !== first || run.fan_rpm > 0.9 * truth.fan_max_rpm(first),
  );
  return { bench: { ...bench, runs }, truth, first };
}

describe('what a cooler with few runs borrows from the bench', () => {
  it('says so', () => {
    const { bench, first } = oneSpeedOnly(4, 8);
    const own = fitBench(bench).coolers.find((cooler) => cooler.cooler === first)!;
    expect(own.notes.join(' ')).toContain('one fan speed only');
    expect(own.notes.join(' ')).toContain('borrowed');
  });

  it('answers at a speed that it was never run at, nearer with more coolers to borrow from', () => {
    const halfWidth = (coolers: number) => {
      const { bench, truth, first } = oneSpeedOnly(4, coolers);
      const rpm = 0.55 * truth.fan_max_rpm(first);
      const [p] = predict(bench, { power_W: [120], fan_rpm: rpm, coolers: [first] }).predictions;
      expect(p.extrapolated).toBe(true);
      const rise = truth.rise_K(first, 120, rpm);
      expect(rise).toBeGreaterThan(p.mean_low_K);
      expect(rise).toBeLessThan(p.mean_high_K);
      return (p.mean_high_K - p.mean_low_K) / 2;
    };
    expect(halfWidth(10)).toBeLessThan(halfWidth(1));
  });
});
