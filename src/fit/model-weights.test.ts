import { describe, expect, it } from 'vitest';
import { denseCovariance, denseLogDensity } from '../../test/dense-covariance.ts';
import { readBench } from '../bench/read-bench.ts';
import { shippedModel } from '../formula/shipped-models.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { coolerRuns } from './cooler-runs.ts';
import { fitCurve, statedPrior } from './curve-posterior.ts';
import { leaveOneOut, modelWeights } from './model-weights.ts';
import { RiseCurve } from './rise-curve.ts';
import { assumedScatter, componentFactors, runCovariance } from './scatter.ts';

describe('models weighed by the loads left out', () => {
  it('closed form agrees with conditioning on the rest, load by load', () => {
    const { files } = makeVirtualBench({ seed: 9, coolers: 1, mounts: 3, noise_speeds: [] });
    const bench = readBench(files);
    const data = coolerRuns(bench, bench.coolers[0], 'heater', bench.runs)!;
    const n = data.runs.length;
    const curve = new RiseCurve(shippedModel('fan_power_law')!);
    const covariance = runCovariance(data, componentFactors(data, 0.2, 1), assumedScatter().sigma);
    const prior = statedPrior(curve);
    const fitted = fitCurve(curve, data, 0, covariance, prior, [prior.mean]);
    const { leftOut, together } = leaveOneOut(data, fitted, covariance);

    // Joint covariance M = V + J·T·Jᵀ about the prior mean, conditioned by brute force.
    const p = fitted.eta.length;
    const joint = denseCovariance(covariance);
    const departure = fitted.residual_K.slice();
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < p; j++) {
        departure[i] += fitted.at.jacobian[i * p + j] * (fitted.eta[j] - prior.mean[j]);
        for (let k = 0; k < n; k++) {
          joint[i * n + k] +=
            fitted.at.jacobian[i * p + j] * fitted.at.jacobian[k * p + j] * prior.deviation[j] ** 2;
        }
      }
    }
    expect(together).toBeCloseTo(denseLogDensity(joint, departure), 6);
    for (let group = 0; group < data.loadGroups; group++) {
      const rest = Array.from(departure.keys()).filter((i) => data.loadGroup[i] !== group);
      // p(block | rest) = p(all) / p(rest).
      const given = together - denseLogDensity(joint, departure, rest);
      expect(leftOut[group]).toBeCloseTo(given, 6);
    }
  });

  it('learns over the coolers which formula is the right kind', () => {
    const clear = Array.from({ length: 6 }, () => [0, -3]);
    const weights = modelWeights([...clear, [0, 0]]);
    for (const row of weights) expect(row[0] + row[1]).toBeCloseTo(1, 12);
    // The last cooler cannot tell; the others can.
    expect(weights[6][0]).toBeGreaterThan(0.7);
    expect(modelWeights([[0, 0]])[0]).toEqual([0.5, 0.5]);
    expect(modelWeights([[0, Number.NEGATIVE_INFINITY]])[0]).toEqual([1, 0]);
  });
});
