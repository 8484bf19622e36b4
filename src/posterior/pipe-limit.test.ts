import { describe, expect, it } from 'vitest';
import type { Cooler } from '../bench/bench.ts';
import { limitExcess, limitNodes, limitPrior } from './pipe-limit.ts';

const cooler = (more: Partial<Cooler>): Cooler => ({
  cooler: 'Ash',
  kind: 'air',
  fan_max_rpm: 1500,
  extra: {},
  ...more,
});

describe('what is known of a heat-pipe limit', () => {
  it('holds the common practice of 30 to 60 W a pipe of 6 mm and 50 to 90 W of 8 mm', () => {
    const six = limitPrior(cooler({ heat_pipes: 6, heat_pipe_diameter_mm: 6 }))!;
    expect(six.limit_W).toBeCloseTo(6 * Math.sqrt(30 * 60), 9);
    expect(six.limit_W * Math.exp(1.5 * six.spread)).toBeCloseTo(6 * 60, 6);
    expect(six.limit_W * Math.exp(-1.5 * six.spread)).toBeCloseTo(6 * 30, 6);
    const eight = limitPrior(cooler({ heat_pipes: 4, heat_pipe_diameter_mm: 8 }))!;
    expect(eight.limit_W).toBeCloseTo(4 * Math.sqrt(50 * 90), 9);
  });

  it('is nothing for a cooler without pipes and for a liquid one', () => {
    expect(limitNodes(cooler({ heat_pipes: 0 }), 180, 0.2)).toEqual([]);
    expect(limitNodes(cooler({ kind: 'liquid' }), 180, 0.2)).toEqual([]);
  });

  it('lies above what was run without it, and its weights add to one', () => {
    for (const seen of [60, 180, 300, 900]) {
      const nodes = limitNodes(cooler({ heat_pipes: 6, heat_pipe_diameter_mm: 6 }), seen, 0.2);
      expect(Math.min(...nodes.map((node) => node.limit_W))).toBeGreaterThanOrEqual(seen * 0.999);
      expect(nodes.reduce((sum, node) => sum + node.weight, 0)).toBeCloseTo(1, 12);
    }
  });

  it('adds nothing well below a limit and its slope well above', () => {
    const node = { weight: 1, limit_W: 200, slope_K_per_W: 0.15 };
    expect(limitExcess(node, 100)).toBeLessThan(1e-3);
    expect(limitExcess(node, 300)).toBeCloseTo(0.15 * 100, 3);
    expect(limitExcess(node, 5000)).toBeCloseTo(0.15 * 4800, 6);
  });
});
