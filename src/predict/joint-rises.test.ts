import { beforeAll, describe, expect, it } from 'vitest';
import { denseCovariance } from '../../test/dense-covariance.ts';
import { readBench } from '../bench/read-bench.ts';
import { type BenchPosterior, benchPosterior } from '../fit/bench-posterior.ts';
import { SHAPE } from '../fit/components.ts';
import { runCovariance } from '../fit/scatter.ts';
import { shippedModels } from '../formula/shipped-models.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { given } from '../numerics/gaussian.ts';
import { jointRises } from './joint-rises.ts';
import { type RisePoint, readingPoint } from './rise-point.ts';

let posterior: BenchPosterior;
beforeAll(() => {
  const { files } = makeVirtualBench({ seed: 3, coolers: 3, samples: 2, mounts: 2, noise_speeds: [] });
  posterior = benchPosterior(readBench(files), shippedModels);
});

const TARGETS: RisePoint[] = [
  { power_W: 60, speed: 1 },
  { power_W: 140, speed: 0.99 },
  { power_W: 140, speed: 1, sample: '1' },
  { power_W: 320, speed: 1, sample: '1', mount: 'new', reading_u_K: 0 },
  { power_W: 320, speed: 1, sample: '1', mount: 'new', reading_u_K: 0.2 },
];

describe('jointRises', () => {
  it('has the runs as the scatter model has them, as points before any run', () => {
    for (const cooler of posterior.coolers) {
      const { data, factors } = cooler;
      const n = data.runs.length;
      const readings = data.runs.map((_, i) => readingPoint(data, i));
      const [one] = jointRises(posterior, cooler, readings, { given: 'none', want: 'covariance' });
      const { fitted, at } = one;
      const p = fitted.eta.length;
      const sigma = posterior.scatter.sigma.map((s, k) => (posterior.active[k] ? s : 0));
      const scatter = denseCovariance(runCovariance(data, factors, sigma));
      for (let i = 0; i < n; i++) {
        // Runs scatter with the heat into the base, points with the derivative of the rise: the leak is between the two.
        const damping = at.loading_W[i] / data.base_W[i];
        expect(damping).toBeCloseTo(1, 1);
        let curve = 0;
        for (let j = 0; j < p; j++) curve += (at.jacobian[i * p + j] * fitted.prior.deviation[j]) ** 2;
        const [variance, plain] = [one.variance[i] - curve, scatter[i * n + i]];
        expect(variance / plain).toBeGreaterThan(damping ** 2 - 1e-6);
        expect(variance / plain).toBeLessThan(1 + 1e-6);
      }
    }
  });

  it('given the runs is the Gaussian before any run, conditioned on them', () => {
    for (const cooler of posterior.coolers) {
      const { data } = cooler;
      // Without a leak the runs as points are the runs as fitted, to rounding.
      const bench = { ...posterior.bench, heater: { leak_W_per_K: { value: 0, uncertainty: 0 } } };
      const dry = benchPosterior(bench, shippedModels);
      const own = dry.coolers.find((one) => one.data.cooler === data.cooler) ?? dry.coolers[0];
      const n = own.data.runs.length;
      const all = [...own.data.runs.map((_, i) => readingPoint(own.data, i)), ...TARGETS];
      const before = jointRises(dry, own, all, { given: 'none', want: 'covariance' });
      const after = jointRises(dry, own, TARGETS, { want: 'covariance' });
      after.forEach((one, m) => {
        const { mean, covariance } = given(
          before[m],
          Array.from({ length: n }, (_, i) => i),
          own.data.rise_K,
        );
        mean.forEach((rise, t) => {
          expect(one.mean[t]).toBeCloseTo(rise, 3);
        });
        covariance.forEach((value, k) => {
          const [s, t] = [Math.floor(k / TARGETS.length), k % TARGETS.length];
          expect(one.covariance[k]).toBeCloseTo(value, s === t ? 4 : 5);
        });
      });
    }
  });

  it('answers to a scatter as its variance does when that scatter is a little larger', () => {
    const [cooler] = posterior.coolers;
    const { data } = cooler;
    const n = data.runs.length;
    const all = [...data.runs.map((_, i) => readingPoint(data, i)), ...TARGETS];
    const rows = Array.from({ length: n }, (_, i) => i);
    // With the weights of the estimate kept, the variance of its error moves by what the scatter adds to the contrast.
    const contrast = (b: BenchPosterior) => {
      const [one] = jointRises(b, cooler, all, { given: 'none', want: 'covariance' });
      return one;
    };
    const now = contrast(posterior);
    const { weights } = given(now, rows, data.rise_K, { of: [n] });
    const error: (readonly [number, number])[] = [[n, 1], ...rows.map((i) => [i, -weights[i]] as const)];
    const response = now.scatterResponse(error);
    const variance = (one: typeof now) =>
      error.reduce(
        (sum, [s, v]) =>
          error.reduce((inner, [t, w]) => inner + v * w * one.covariance[s * all.length + t], sum),
        0,
      );
    for (const k of [0, 1, 3, SHAPE]) {
      const sigma = posterior.scatter.sigma.map((s, c) => (c === k ? s * Math.sqrt(1.01) : s));
      const more = contrast({ ...posterior, scatter: { ...posterior.scatter, sigma } });
      expect((variance(more) - variance(now)) / 0.01).toBeCloseTo(response[k], 6);
    }
  });

  it('gives the mean alone as it gives it with the rest', () => {
    const [cooler] = posterior.coolers;
    const whole = jointRises(posterior, cooler, TARGETS);
    jointRises(posterior, cooler, TARGETS, { want: 'mean' }).forEach((one, m) => {
      expect([...one.mean]).toEqual([...whole[m].mean]);
    });
  });
});
