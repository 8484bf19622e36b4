import { describe, expect, it } from 'vitest';
import { normalFrom, seeded } from '../../test/reduction/make-logs.ts';
import { varianceOfMean, Whitening } from './noise.ts';

describe('noise with memory', () => {
  it('has means that scatter as the integral of its autocorrelation says', () => {
    const noise = { white: 0.5, parts: [{ variance: 2, memory_s: 30 }] };
    // ∫∫ exp(−|s−t|/τ) over T × T by the midpoint rule, not by the closed form.
    const n = 400;
    const span = 90;
    let sum = 0;
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) sum += Math.exp((-Math.abs(i - j) * span) / n / 30);
    expect(varianceOfMean(noise, span)).toBeCloseTo(0.5 / span + (2 * sum) / (n * n), 3);
  });

  it('is white after whitening, over blocks of any length and with gaps', () => {
    const normal = normalFrom(seeded(3));
    const lengths = [1, 1, 2, 3, 5, 8, 15, 15, 40, 40, 40];
    const gaps = [0, 0, 0, 0, 0, 4, 0, 30, 0, 0, 0];
    let t = 0;
    const time_s = lengths.map((length, k) => {
      const middle = t + 0.5 * length;
      t += length + gaps[k];
      return middle;
    });
    const blocks = {
      count: lengths.length,
      time_s: Float64Array.from(time_s),
      length_s: Float64Array.from(lengths),
    };
    const parts = [
      { variance: 1, memory_s: 12 },
      { variance: 0.5, memory_s: 90 },
    ];
    const white = new Whitening(blocks, { white: 0.3, parts });
    const n = lengths.length;
    const products = new Float64Array(n * n);
    const draws = 4000;
    const h = 0.25;
    for (let d = 0; d < draws; d++) {
      const states = parts.map(({ variance }) => Math.sqrt(variance) * normal());
      const sums = new Float64Array(n);
      for (let k = 0; k < n; k++) {
        for (let step = 0; step < (lengths[k] + gaps[k]) / h; step++) {
          parts.forEach(({ variance, memory_s }, p) => {
            if (step < lengths[k] / h) sums[k] += (states[p] * h) / lengths[k];
            const keep = Math.exp(-h / memory_s);
            states[p] = keep * states[p] + Math.sqrt(variance * (1 - keep * keep)) * normal();
          });
        }
        sums[k] += Math.sqrt(0.3 / lengths[k]) * normal();
      }
      const out = new Float64Array(n);
      white.apply(sums, out);
      for (let i = 0; i < n; i++)
        for (let j = 0; j <= i; j++) products[i * n + j] += (out[i] * out[j]) / draws;
    }
    for (let i = 0; i < n; i++)
      for (let j = 0; j <= i; j++)
        expect(Math.abs(products[i * n + j] - (i === j ? 1 : 0))).toBeLessThan(i === j ? 0.12 : 0.08);
  });
});
