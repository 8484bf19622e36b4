import { describe, expect, it } from 'vitest';
import type { Cooler } from '../bench/bench.ts';
import { normalCdf } from '../numerics/distributions.ts';
import {
  capillaryLimit,
  limitChance,
  limitExcess,
  limitNodes,
  limitPrior,
  waterMerit,
} from './pipe-limit.ts';

const cooler = (more: Partial<Cooler>): Cooler => ({
  cooler: 'Ash',
  kind: 'air',
  fan_max_rpm: 1500,
  extra: {},
  ...more,
});

describe('what is known of a heat-pipe limit', () => {
  it('is the capillary limit of a level pipe, worked by hand', () => {
    // Merit number of water at 100 °C about 4.5e11 W/m² (Reay, Kew and McGlen, Heat Pipes; from memory).
    expect(waterMerit(100) / 4.5e11).toBeCloseTo(1, 1);
    // At 60 °C: 983·0.0662·2.358e6/466e-6 = 3.293e11 W/m². Wick of a 6 mm pipe, 2.70 to 2.01 mm radius: 10.21 mm².
    // 3.293e11·5e-11·10.21e-6·2/50e-6/0.15 = 44.8 W.
    expect(capillaryLimit(6)).toBeCloseTo(44.8, 1);
    // Wall and wick are as thick at 8 mm, 3.70 to 3.01 mm radius: 14.55 mm², 63.9 W; and as one over the length.
    expect(capillaryLimit(8)).toBeCloseTo(63.9, 1);
    // Thinner ones keep the shares of 6 mm, so that the limit goes as the square of the diameter.
    expect(capillaryLimit(3)).toBeCloseTo(capillaryLimit(6) / 4, 9);
    expect(capillaryLimit(6, 60, 0.3)).toBeCloseTo(capillaryLimit(6) / 2, 9);
  });

  it('is wide enough for pipes a third weaker and 60 % stronger than 30 to 60 and 50 to 90 W', () => {
    for (const [diameter, low, high] of [
      [6, 30, 60],
      [8, 50, 90],
    ]) {
      const { limit_W, spread } = limitPrior(cooler({ heat_pipes: 6, heat_pipe_diameter_mm: diameter }))!;
      const far = (each: number) => Math.abs(Math.log((6 * each) / limit_W)) / spread;
      expect(far((low + high) / 3)).toBeLessThan(1.96);
      expect(far(0.67 * Math.sqrt(low * high))).toBeLessThan(1.96);
      expect(far(1.6 * high)).toBeLessThan(1.96);
    }
  });

  it('has a chance that grows from zero at the greatest load run, and to what the runs leave of it', () => {
    const nodes = limitNodes(limitPrior(cooler({ heat_pipes: 6, heat_pipe_diameter_mm: 6 })), 180, 0.2);
    const chances = [150, 180, 220, 300, 450, 900].map((W) => limitChance(nodes, 180, W));
    expect(chances.slice(0, 2)).toEqual([0, 0]);
    for (let k = 2; k < chances.length; k++) expect(chances[k]).toBeGreaterThan(chances[k - 1]);
    // The log-normal cut at 180 W, at 300 W.
    const { limit_W, spread } = limitPrior(cooler({ heat_pipes: 6, heat_pipe_diameter_mm: 6 }))!;
    const below = (W: number) => normalCdf(Math.log(W / limit_W) / spread);
    expect(chances[3]).toBeCloseTo((below(300) - below(180)) / (1 - below(180)), 1);
    const met = limitNodes(limitPrior(cooler({ heat_pipes: 6, heat_pipe_diameter_mm: 6 })), 180, 0.2, 1);
    expect(met.reduce((sum, node) => sum + node.weight, 0)).toBeCloseTo(1, 12);
    expect(limitChance(met, 180, 5000)).toBeLessThan(0.3);
  });

  it('is nothing for a cooler without pipes and for a liquid one', () => {
    expect(limitNodes(limitPrior(cooler({ heat_pipes: 0 })), 180, 0.2)).toEqual([]);
    expect(limitNodes(limitPrior(cooler({ kind: 'liquid' })), 180, 0.2)).toEqual([]);
  });

  it('lies above what was run without it, and its weights add to one', () => {
    for (const seen of [60, 180, 300, 900]) {
      const nodes = limitNodes(limitPrior(cooler({ heat_pipes: 6, heat_pipe_diameter_mm: 6 })), seen, 0.2);
      expect(Math.min(...nodes.map((node) => node.limit_W))).toBeGreaterThanOrEqual(seen * 0.999);
      expect(nodes.reduce((sum, node) => sum + node.weight, 0)).toBeCloseTo(1, 12);
    }
  });

  it('adds nothing up to a limit, and its step and slope beyond the knee', () => {
    const node = { weight: 1, limit_W: 200, slope_K_per_W: 0.15, step_K: 2 };
    expect(limitExcess(node, 100)).toBe(0);
    expect(limitExcess(node, 200)).toBe(0);
    // A knee of a sixtieth of the limit: the slope begins so much later.
    expect(limitExcess(node, 300)).toBeCloseTo(2 + 0.15 * (100 - 200 / 60), 6);
    expect(limitExcess(node, 5000)).toBeCloseTo(2 + 0.15 * (4800 - 200 / 60), 6);
  });
});
