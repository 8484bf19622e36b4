import { describe, expect, it } from 'vitest';
import { readBench } from '../../src/bench/read-bench.ts';
import { sourceOf } from '../../src/bench/source.ts';
import { benchPosterior } from '../../src/fit/bench-posterior.ts';
import { SHAPE } from '../../src/fit/components.ts';
import { fitCurve } from '../../src/fit/curve-posterior.ts';
import { departureCovariance } from '../../src/fit/departure.ts';
import { curveValues } from '../../src/fit/rise-curve.ts';
import { shippedModel } from '../../src/formula/shipped-models.ts';
import { makeRandom } from '../../src/lab/random.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { cholesky } from '../../src/numerics/matrix.ts';
import { riseDistributions } from '../../src/predict/rise-distribution.ts';
import { denseCovariance } from '../dense-covariance.ts';

/**
 * JCGM 101:2008, clause 8: a result by the law of propagation is validated by propagating the distributions themselves, if
 * the ends of the two coverage intervals agree within δ, half a unit of the last significant digit of the standard uncertainty.
 * What is drawn here are the inputs, the runs with all their scatters and the means of the priors; each draw is fitted anew by the
 * nonlinear engine and the rise read off its curve, nothing linearised.
 */
describe('linearised interval against Monte Carlo propagation of distributions', () => {
  const { files } = makeVirtualBench({ seed: 12, coolers: 5, samples: 2, mounts: 2, noise_speeds: [] });
  const posterior = benchPosterior(readBench(files), [shippedModel('pipe_start')!]);
  const cooler = posterior.coolers[1];
  const fitted = cooler.curves[0];
  const p = fitted.eta.length;

  it.each([90, 150])('mean rise at %d W, inside the loads run', (power) => {
    const [linear] = riseDistributions(posterior, cooler, [{ power_W: power, speed: 1 }]);
    const { mean, deviation } = linear.mean;
    const u = deviation[0];
    const exponent = Math.floor(Math.log10(u));
    const delta = 0.5 * 10 ** exponent;

    const { data, covariance, typical_K_per_W } = cooler;
    const n = data.runs.length;
    const here = curveValues(1, p);
    const there = curveValues(n, p);
    const leak = sourceOf(posterior.bench, 'heater').leak_W_per_K.value;
    const at = { power_W: Float64Array.of(power), speed: Float64Array.of(1) };
    const random = makeRandom(2024);
    const values: number[] = [];
    const shape = (posterior.scatter.sigma[SHAPE] * typical_K_per_W) ** 2;
    fitted.curve.evaluate(fitted.eta, at, leak, here);
    const loading = here.loading_W[0];
    const k = Float64Array.from(
      { length: n },
      (_, i) =>
        shape *
        loading *
        data.base_W[i] *
        departureCovariance(
          SHAPE,
          { base_W: here.base_W[0], speed: 1 },
          { base_W: data.base_W[i], speed: data.speed[i] },
        ),
    );
    const krige = covariance.solve(k);
    let left = shape * loading * loading;
    for (let i = 0; i < n; i++) left -= krige[i] * k[i];
    const factor = denseCovariance(covariance);
    cholesky(factor, n);
    for (let trial = 0; trial < 4000; trial++) {
      const z = Float64Array.from({ length: n }, () => random.normal(0, 1));
      const rise_K = Float64Array.from(data.rise_K, (y, i) => {
        let sum = y;
        for (let j = 0; j <= i; j++) sum += factor[i * n + j] * z[j];
        return sum;
      });
      const prior = {
        ...fitted.prior,
        mean: fitted.prior.mean.map((m, j) => m + random.normal(0, fitted.prior.deviation[j])),
      };
      const { eta } = fitCurve(fitted.curve, { ...data, rise_K }, leak, covariance, prior, [fitted.eta]);
      fitted.curve.evaluate(eta, at, leak, here);
      fitted.curve.evaluate(eta, data, leak, there);
      let value = here.rise_K[0] + random.normal(0, Math.sqrt(left));
      for (let i = 0; i < n; i++) value += krige[i] * (data.rise_K[i] - there.rise_K[i]);
      values.push(value);
    }
    values.sort((a, b) => a - b);
    const low = values[Math.round(0.025 * values.length)];
    const high = values[Math.round(0.975 * values.length)];
    expect(Math.abs(low - (mean[0] - 1.96 * u))).toBeLessThan(delta);
    expect(Math.abs(high - (mean[0] + 1.96 * u))).toBeLessThan(delta);
  });
});
