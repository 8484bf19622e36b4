import { describe, expect, it } from 'vitest';
import { addBow, bowOf, lagWeights, lagWith, type ResponseBlocks } from './response-blocks.ts';

function blocksAt(times: number[]): ResponseBlocks {
  const zero = new Float64Array(times.length);
  return {
    count: times.length,
    time_s: Float64Array.from(times),
    length_s: zero,
    rows: zero.map(() => 1),
    source_C: zero,
    ambient_C: zero,
  };
}

const uneven = [0, 1, 2, 3.5, 6, 9, 14, 21, 32, 50, 75, 120, 190, 260];

describe('a lag from block to block', () => {
  // τ·y′ + y = α + β·t + γ·t² has y = u − τ·u′ + τ²·u″ + C·exp(−t/τ), C so that it starts at rest.
  const [alpha, beta, gamma] = [22, 0.01, -3e-5];
  const air = (t: number) => alpha + beta * t + gamma * t * t;
  const answer = (t: number, tau: number) => {
    const settled = (at: number) => air(at) - tau * (beta + 2 * gamma * at) + tau * tau * 2 * gamma;
    return settled(t) + (air(0) - settled(0)) * Math.exp(-t / tau);
  };

  it('is exact for air that is a parabola, whatever the spacing', () => {
    const blocks = blocksAt(uneven);
    const n = uneven.length;
    const input = Float64Array.from(uneven, air);
    for (const tau of [0.5, 8, 75, 400]) {
      const weights = { keep: new Float64Array(n), mean: new Float64Array(n) };
      lagWeights(blocks, tau, weights.keep, weights.mean);
      const out = new Float64Array(n);
      lagWith(n, weights, input, out);
      addBow(n, weights, bowOf(blocks, input), out);
      for (let k = 0; k < n; k++) expect(Math.abs(out[k] - answer(uneven[k], tau))).toBeLessThan(1e-9);
    }
  });

  it('takes a straight line between blocks where no bow is given', () => {
    const blocks = blocksAt(uneven);
    const n = uneven.length;
    const line = Float64Array.from(uneven, (t) => 20 + 0.02 * t);
    const weights = { keep: new Float64Array(n), mean: new Float64Array(n) };
    lagWeights(blocks, 60, weights.keep, weights.mean);
    const out = new Float64Array(n);
    lagWith(n, weights, line, out);
    for (let k = 0; k < n; k++) {
      const t = uneven[k];
      expect(out[k]).toBeCloseTo(20 + 0.02 * (t - 60 * (1 - Math.exp(-t / 60))), 10);
    }
    for (const bow of bowOf(blocks, line)) expect(Math.abs(bow)).toBeLessThan(1e-12);
  });

  it('stays within the values where two blocks are at almost the same time', () => {
    for (const gap of [1e-3, 1e-9, 1e-15]) {
      const times = [0, 1, 2, 2 + gap, 3, 5, 8, 12];
      const input = Float64Array.of(22, 22.02, 22, 22.03, 22.01, 22, 22.02, 22);
      const blocks = blocksAt(times);
      for (const tau of [1, 60, 1500]) {
        const n = times.length;
        const weights = { keep: new Float64Array(n), mean: new Float64Array(n) };
        lagWeights(blocks, tau, weights.keep, weights.mean);
        const out = new Float64Array(n);
        lagWith(n, weights, input, out);
        addBow(n, weights, bowOf(blocks, input), out);
        for (const value of out) expect(Math.abs(value - 22.01)).toBeLessThan(0.03);
      }
    }
  });
});
