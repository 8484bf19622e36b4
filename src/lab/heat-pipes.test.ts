import { describe, expect, it } from 'vitest';
import type { PipeSpec } from './cooler-spec.ts';
import { PipeRow } from './heat-pipes.ts';

const spec: PipeSpec = {
  count: 5,
  diameter_mm: 6,
  evaporator_mm: 34,
  series_K_per_W: 0.28,
  edge_K_per_W: 0.04,
  wick_W_per_m2K: 11000,
  boiling: 7.5,
  start_K: 0.8,
  start_W: 5,
  limit_W: 38,
  limit_per_K: 0.004,
  dry_K_per_W: 1.1,
  dry_width: 0.05,
  wall_W_per_K: 0.8,
};

/** The drop that one pipe needs, written again from the physics. */
function need(q: number, series: number, limit: number): number {
  const area = Math.PI * 0.006 * 0.034;
  const h = 11000 + 7.5 * (q / area) ** 0.7;
  const w = 0.05;
  const dry = Math.log(1 + Math.exp((q / limit - 1) / w)) - Math.log(1 + Math.exp(-1 / w));
  return q * series + q / (h * area) + (0.8 * q) / (q + 5) + 1.1 * w * limit * dry;
}

/** Heat of one pipe at a drop, by halving. */
function heatAt(drop: number, series: number, limit: number): number {
  let low = 0;
  let high = 1000;
  for (let k = 0; k < 100; k++) {
    const middle = (low + high) / 2;
    if (need(middle, series, limit) < drop) low = middle;
    else high = middle;
  }
  return low;
}

describe('a row of heat pipes', () => {
  const row = new PipeRow(spec);

  it.each([1, 20, 120, 170, 190, 300])(
    'at %d W shares the heat so that all pipes need the same drop',
    (heat) => {
      const state = row.fresh();
      const drop = row.solve(heat, 45, state);
      const limit = row.limit_W(45);
      const series = [0.28, 0.28 + 0.04 / 4, 0.28 + 0.04];
      let total = 0.8 * drop;
      series.forEach((r, k) => {
        expect(state.heat_W[k]).toBeCloseTo(heatAt(drop, r, limit), 6);
        total += row.multiplicity[k] * state.heat_W[k];
      });
      expect(total).toBeCloseTo(heat, 6);
    },
  );

  it('starts, boils, and dries out: resistance first falls with heat, then rises', () => {
    const R = (heat: number) => row.solve(heat, 45, row.fresh()) / heat;
    expect(R(60)).toBeLessThan(R(10));
    expect(R(140)).toBeLessThan(R(60));
    expect(R(200)).toBeGreaterThan(1.1 * R(150));
    expect(R(300)).toBeGreaterThan(1.5 * R(150));
  });

  it('fills the middle pipe first', () => {
    const state = row.fresh();
    row.solve(100, 45, state);
    expect(state.heat_W[0]).toBeGreaterThan(state.heat_W[1]);
    expect(state.heat_W[1]).toBeGreaterThan(state.heat_W[2]);
  });

  it('carries more when warmer', () => {
    expect(row.limit_W(70)).toBeCloseTo(38 * 1.04, 9);
    expect(row.solve(190, 70, row.fresh())).toBeLessThan(row.solve(190, 40, row.fresh()));
  });

  it('needs no drop without heat', () => {
    expect(row.solve(0, 45, row.fresh())).toBe(0);
  });
});
