import { describe, expect, it } from 'vitest';
import { normalFrom, seeded } from '../../test/logs/make-logs.ts';
import { filtered, varianceOfMean, Whitening, walk } from './noise.ts';

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

  it('is as smooth behind a sensor with a lag as the lag makes it, in the mean and whitened', () => {
    const noise = filtered(0, 2, 40, 15, 0.5);
    // Autocovariance by the convolution of the lag with exp(−|t|/m), integrated numerically, and that of the noise ahead of it.
    const h = 0.5;
    const half = 800;
    const kernel = Array.from({ length: half }, (_, i) => (Math.exp((-(i + 0.5) * h) / 15) * h) / 15);
    const driven = (t: number) => {
      let sum = 0;
      for (let i = 0; i < half; i += 4)
        for (let j = 0; j < half; j += 4)
          sum += 16 * kernel[i] * kernel[j] * Math.exp(-Math.abs(t + (i - j) * h) / 40);
      return sum;
    };
    const unit = driven(0);
    const covariance = (t: number) => (2 * driven(t)) / unit + 0.5 * Math.exp(-t / 15);
    const span = 60;
    const n = 60;
    let mean = 0;
    for (let k = -n; k <= n; k++) mean += (n + 1 - Math.abs(k)) * covariance((Math.abs(k) * span) / (n + 1));
    expect(varianceOfMean(noise, span) / (mean / (n + 1) ** 2)).toBeCloseTo(1, 2);

    // Short blocks read the noise itself: their covariance after whitening is the unit matrix.
    const count = 8;
    const every = 6;
    const blocks = {
      count,
      time_s: Float64Array.from({ length: count }, (_, k) => k * every),
      length_s: new Float64Array(count).fill(0.01),
    };
    const white = new Whitening(blocks, noise);
    const rows = Array.from({ length: count }, (_, k) => {
      const out = new Float64Array(count);
      white.apply(
        Float64Array.from({ length: count }, (_, i) => (i === k ? 1 : 0)),
        out,
      );
      return out;
    });
    const at = Array.from({ length: count }, (_, k) => covariance(k * every));
    for (let i = 0; i < count; i++)
      for (let j = 0; j <= i; j++) {
        let sum = 0;
        for (let k = 0; k < count; k++)
          for (let l = 0; l < count; l++) sum += rows[k][i] * rows[l][j] * at[Math.abs(k - l)];
        expect(Math.abs(sum - (i === j ? 1 : 0))).toBeLessThan(0.02);
      }
  });

  it('may be a random walk from the step on: the covariance of its means is that of the Wiener process', () => {
    const slope = 0.02;
    // The mean over T of a process of covariance slope · min(s, t) has variance slope · T/3.
    expect(varianceOfMean({ white: 0, parts: [walk(slope)] }, 90) / ((slope * 90) / 3)).toBeCloseTo(1, 2);
    const length_s = Float64Array.of(3, 5, 20, 40);
    const time_s = Float64Array.of(1.5, 5.5, 18, 58);
    const white = 0.3;
    const covariance = Array.from({ length: 4 }, (_, i) =>
      Array.from({ length: 4 }, (_, j) =>
        i === j
          ? slope * (time_s[i] - length_s[i] / 6) + white / length_s[i]
          : slope * Math.min(time_s[i], time_s[j]),
      ),
    );
    const determinant = (rows: number[][]): number =>
      rows.length === 0
        ? 1
        : rows[0].reduce(
            (sum, value, k) =>
              sum +
              (-1) ** k * value * determinant(rows.slice(1).map((row) => row.filter((_, j) => j !== k))),
            0,
          );
    const whitening = new Whitening({ count: 4, time_s, length_s }, { white, parts: [walk(slope)] });
    expect(whitening.logDeterminant).toBeCloseTo(Math.log(determinant(covariance)), 2);
  });
});
