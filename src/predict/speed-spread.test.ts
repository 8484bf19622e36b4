import { beforeAll, describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { normalQuantile } from '../numerics/distributions.ts';
import { mixtureQuantile, type NormalMixture } from '../numerics/mixture.ts';
import { riseDistributions } from './rise-distribution.ts';
import { distributionsAt, type SpeedSpread, speedWorth, withSpeedShifts } from './speed-spread.ts';

let posterior: BenchPosterior;
let cooler: CoolerPosterior;
beforeAll(() => {
  const { files } = makeVirtualBench({
    seed: 2,
    coolers: 3,
    samples: 2,
    loads_W: [80, 160],
    speeds: [0.3, 0.6, 1],
    noise_speeds: [],
    scatter: { mount_K_per_W: 0.001, sample_K_per_W: 0.001 },
  });
  posterior = posteriorOf(readBench(files));
  cooler = posterior.coolers[0];
});

/** The same by brute force: 400 speeds of equal probability, each with the rise's own distribution there. */
function bruteForce(load: number, spread: SpeedSpread): NormalMixture {
  const [weight, mean, deviation]: number[][] = [[], [], []];
  const count = 400;
  for (let i = 0; i < count; i++) {
    const z = normalQuantile((i + 0.5) / count);
    const free = spread.middle * Math.exp(z * (z < 0 ? spread.logDown : spread.logUp));
    const speed = Math.min(Math.max(free, spread.least), spread.greatest);
    const { mean: at } = riseDistributions(posterior, cooler, [{ power_W: load, speed }])[0];
    at.weight.forEach((w, k) => {
      weight.push(w / count);
      mean.push(at.mean[k]);
      deviation.push(at.deviation[k]);
    });
  }
  return {
    weight: Float64Array.from(weight),
    mean: Float64Array.from(mean),
    deviation: Float64Array.from(deviation),
  };
}

const SPREADS: [string, SpeedSpread][] = [
  ['narrow', { middle: 0.6, logDown: 0.02, logUp: 0.02, least: 0.2, greatest: 1 }],
  ['wide', { middle: 0.5, logDown: 0.25, logUp: 0.25, least: 0.1, greatest: 1 }],
  ['lopsided', { middle: 0.6, logDown: 0.1, logUp: 0.3, least: 0.2, greatest: 1 }],
  ['below the least stable speed', { middle: 0.28, logDown: 0.15, logUp: 0.15, least: 0.3, greatest: 1 }],
  ['above the greatest speed', { middle: 1.05, logDown: 0.12, logUp: 0.12, least: 0.3, greatest: 1 }],
];

describe('a rise at a fan speed that is itself uncertain', () => {
  it.each(SPREADS)('%s: quantiles as brute force finds them', (_, spread) => {
    const speed = Math.min(Math.max(spread.middle, spread.least), spread.greatest);
    const at = distributionsAt(posterior, cooler, [160], { speed, spread })[0];
    const mixture = withSpeedShifts(at.mean, at.speedShifts);
    const reference = bruteForce(160, spread);
    const width = mixtureQuantile(reference, 0.975) - mixtureQuantile(reference, 0.025);
    for (const p of [0.025, 0.5, 0.975]) {
      const off = mixtureQuantile(mixture, p) - mixtureQuantile(reference, p);
      console.log(_, p, off / width, mixtureQuantile(mixture, p), mixtureQuantile(reference, p));
      expect(Math.abs(off) / width).toBeLessThan(0.06);
    }
  });
  it('adds nothing at a speed that is known, or held firmly by an end', () => {
    expect(distributionsAt(posterior, cooler, [160], { speed: 0.6 })[0].speedShifts).toBeUndefined();
    const held = { middle: 0.1, logDown: 0.05, logUp: 0.05, least: 0.3, greatest: 1 };
    const at = distributionsAt(posterior, cooler, [160], { speed: 0.3, spread: held })[0];
    expect(speedWorth(at.speedShifts)).toBe(0);
  });
  it('is one-sided at the least stable speed: the fan can only be faster, so the rise only less', () => {
    const spread = SPREADS[3][1];
    const at = distributionsAt(posterior, cooler, [160], { speed: 0.3, spread })[0];
    for (const part of at.speedShifts!) expect(part.shift_K).toBeLessThanOrEqual(0);
    expect(at.speedShifts!.some((part) => part.shift_K < -1)).toBe(true);
  });
});
