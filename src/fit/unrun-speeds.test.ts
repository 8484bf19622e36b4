import { describe, expect, it } from 'vitest';
import { compare } from '../answers/compare.ts';
import { predict } from '../answers/predict.ts';
import { readBench } from '../bench/read-bench.ts';
import { curveCoolers } from '../lab/curve-coolers.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { SPEED } from './components.ts';
import { coolerRuns } from './cooler-runs.ts';
import { departureCovariance, departureFactor, growthAt, startCovariance } from './departure.ts';

/** Steep coolers, of which each rises 1.4 to 2.3 times as much at 45 % of full speed as at full. */
function steepBench(seed: number, speeds: readonly number[]) {
  const coolers = curveCoolers(6, seed, { kinds: ['bare'], atSlow: [1.4, 2.3], stall: 0 });
  const { files, truth } = makeVirtualBench({ seed, coolers, speeds, noise_speeds: [] });
  return { bench: readBench(files), truth };
}

describe('speeds that were not run', () => {
  it('departs from a formula as a cubic smoothing spline does', () => {
    // Rasmussen and Williams (2006), Gaussian Processes for Machine Learning, eq. 6.28: |x − x′|·v²/2 + v³/3, v = min(x, x′).
    const spline = (x: number, y: number) =>
      (Math.abs(x - y) * Math.min(x, y) ** 2) / 2 + Math.min(x, y) ** 3 / 3;
    for (const [x, y] of [
      [0.2, 0.9],
      [0.5, 0.5],
      [1.1, 0.3],
    ]) {
      const at = (log: number) => ({ base_W: 100, speed: Math.exp(-log) });
      expect(departureCovariance(SPEED, at(x), at(y))).toBeCloseTo(spline(x, y), 12);
    }
  });

  it('departs by a share of the resistance that there is at the speed', () => {
    const { bench } = steepBench(1, [0.5, 1]);
    const [cooler] = bench.coolers;
    // A resistance of 0.2 K/W over the square root of speed, alike at all loads.
    const runs = bench.runs
      .filter((run) => run.cooler === cooler.cooler)
      .map((run) => {
        const source_C = run.ambient_C + (0.2 * run.power_W) / Math.sqrt(run.fan_rpm / cooler.fan_max_rpm);
        return { ...run, source_C };
      });
    const heater = { ...bench.heater, leak_W_per_K: { value: 0, uncertainty: 0 } };
    const data = coolerRuns({ ...bench, runs, heater }, cooler, 'heater', runs)!;
    expect(data.growth).toBeCloseTo(0.5, 2);
    expect(growthAt({ fan: Math.log(0.25) }, data)).toBeCloseTo(Math.SQRT2, 1);
    const slow = data.speed.findIndex((speed) => speed < 0.6);
    const { z } = departureFactor(SPEED, data, 0.2 * Math.SQRT2, data.base_W);
    const at = { base_W: 100, speed: data.speed[slow] };
    const own = 0.2 * Math.SQRT2 * data.base_W[slow] * Math.sqrt(departureCovariance(SPEED, at, at));
    expect(Math.abs(z[slow]) / own).toBeCloseTo(1, 3);
    // At one speed nothing says how it grows.
    const one = coolerRuns(
      bench,
      cooler,
      'heater',
      runs.filter((run) => run.fan_rpm === cooler.fan_max_rpm),
    );
    expect(one && growthAt({ fan: Math.log(0.25) }, one)).toBe(1);
  });

  it('tells no pair apart the wrong way, and holds the truth, where all were run at one speed', () => {
    for (const [run, asked] of [
      [0.45, 100],
      [1, 45],
    ]) {
      let inside = 0;
      for (const seed of [1, 2, 3]) {
        const { bench, truth } = steepBench(seed, [run]);
        const rpm = (cooler: string) => (asked / 100) * truth.fan_max_rpm(cooler);
        const rise = (cooler: string) => truth.rise_K(cooler, 150, rpm(cooler));
        for (const p of predict(bench, { power_W: [150], fan_percent: asked }).predictions) {
          if (rise(p.cooler) >= p.mean_low_K && rise(p.cooler) <= p.mean_high_K) inside++;
        }
        for (const { a, b, resolved } of compare(bench, { power_W: [150], fan_percent: asked }).pairs) {
          if (resolved.length > 0) expect(resolved[0].better === a).toBe(rise(a) < rise(b));
        }
      }
      expect(inside).toBeGreaterThanOrEqual(16);
    }
  });

  it('is less sure the farther the speed lies from those run', () => {
    const { bench } = steepBench(1, [0.8, 1]);
    const width = (fan_percent: number) => {
      const [p] = predict(bench, { power_W: [120], fan_percent, coolers: ['curve-1'] }).predictions;
      return (p.mean_high_K - p.mean_low_K) / p.rise_K;
    };
    const widths = [90, 65, 50, 40].map(width);
    expect(widths).toEqual([...widths].sort((a, b) => a - b));
    expect(widths[3]).toBeGreaterThan(2 * widths[0]);
  });
});

it('below the least heat run the departure of pipes that start is 6 % at half of it, and nothing from there on', () => {
  const start = (a_W: number, b_W: number) =>
    startCovariance({ load: Math.log(a_W) }, { load: Math.log(b_W) }, 60);
  expect(Math.sqrt(start(30, 30))).toBeCloseTo(0.06, 12);
  expect(start(30, 60)).toBe(0);
  expect(start(90, 120)).toBe(0);
  // A spline: it grows with the distance in ln(heat) to the power of 3/2, and its two ends hang together.
  expect(Math.sqrt(start(15, 15))).toBeCloseTo(0.06 * 2 ** 1.5, 12);
  expect(start(15, 30) ** 2).toBeLessThan(start(15, 15) * start(30, 30));
});
