import { describe, expect, it } from 'vitest';
import { AirSeen } from './air-laws.ts';
import { ExponentialFit } from './exponential-fit.ts';
import { Whitening } from './noise.ts';
import { joined, type Response } from './response.ts';

/** 700 s of three elements, read without noise in steps of 5 s; values are means over the blocks. */
function response(rises_K: readonly number[], times_s: readonly number[]): Response {
  const count = 140;
  const at = (k: number) => 5 * k;
  const mean = (k: number) =>
    rises_K.reduce((sum, a, i) => {
      const t = times_s[i];
      return sum + a * (1 - (t / 5) * (Math.exp(-at(k) / t) - Math.exp(-at(k + 1) / t)));
    }, 22);
  const column = (value: (k: number) => number) => Float64Array.from({ length: count }, (_, k) => value(k));
  return {
    count,
    time_s: column((k) => at(k) + 2.5),
    length_s: column(() => 5),
    rows: column(() => 5),
    source_C: column(mean),
    air_C: column(() => 22),
    interval_s: 1,
    rounding: 0,
  };
}

describe('the fit of exponentials', () => {
  const rises_K = [13.7, 9.1, 36.4];
  const times_s = [9.3, 42.4, 287];
  const one = response(rises_K, times_s);
  const blocks = joined(one, 0, 1000);
  const fit = new ExponentialFit();
  const noise = { white: 0.002, parts: [] };
  fit.load(blocks, new Whitening(blocks, noise), one.source_C, new AirSeen(0, one, blocks), 1, 6000);

  it.each([
    [16, 204, 1400],
    [2, 5, 5000],
    [100, 200, 400],
    [1.2, 30, 60],
  ])('finds the constants from %d, %d and %d s', (...start_s) => {
    const mode = fit.refine(Float64Array.from(start_s, Math.log), 3, 0, 60)!;
    expect(mode.rise_K).toBeCloseTo(59.2, 1);
    times_s.forEach((time_s, i) => {
      expect(Math.abs(mode.logTaus[i] - Math.log(time_s))).toBeLessThan(0.02);
    });
  });
});
