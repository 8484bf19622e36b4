import { describe, expect, it } from 'vitest';
import { screen } from '../answers/screen.ts';
import { readBench } from '../bench/read-bench.ts';
import { isSame } from '../bench/run.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';

describe('mounts of one cooler beside each other', () => {
  const bench = (interface_K_per_W: number) =>
    readBench(
      makeVirtualBench({
        seed: 3,
        coolers: 4,
        samples: 1,
        mounts: 2,
        loads_W: [60, 110, 160],
        noise_speeds: [],
        heaterLeak: { value: 0, uncertainty: 0 },
        faults:
          interface_K_per_W === 0 ? [] : [{ cooler: 'cooler-2', sample: '1', mount: '1', interface_K_per_W }],
      }).files,
    );

  it('are half of the slope of their difference over the load away from their mean, by a line through the origin', () => {
    const { runs } = bench(0);
    const { mounts } = screen(bench(0));
    for (const one of mounts) {
      // Without a leak the heat is the load, and what two mounts have in common cancels: ordinary least squares of Δrise = d·P.
      const rise = (mount: string) =>
        runs
          .filter((run) => run.cooler === one.cooler && run.mount === mount && run.power_W > 0)
          .map(({ power_W, source_C, ambient_C }) => ({ power_W, rise_K: source_C - ambient_C }));
      const own = rise(one.mount);
      const other = rise(one.mount === '1' ? '2' : '1');
      const pairs = own.map((a) => ({
        ...a,
        apart_K: a.rise_K - other.find((b) => isSame(a.power_W, b.power_W))!.rise_K,
      }));
      const squares = pairs.reduce((sum, { power_W }) => sum + power_W ** 2, 0);
      const slope = pairs.reduce((sum, { power_W, apart_K }) => sum + power_W * apart_K, 0) / squares;
      expect(one.off_K_per_W).toBeCloseTo(slope / 2, 3);
      // Readings scatter by about 0.1 K (the lab's 0.08 K and rounding, as the bench estimates them).
      expect(one.u_K_per_W! / (0.1 / Math.sqrt(2 * squares))).toBeGreaterThan(0.4);
      expect(one.u_K_per_W! / (0.1 / Math.sqrt(2 * squares))).toBeLessThan(2.5);
    }
  });

  it('show a film where it is, whatever the verdict', () => {
    const off = (film: number) =>
      screen(bench(film)).mounts.find((one) => one.cooler === 'cooler-2' && one.mount === '1')!.off_K_per_W!;
    expect(off(0.03) - off(0)).toBeCloseTo(0.015, 3);
  });
});
