import { describe, expect, it } from 'vitest';
import { readBench } from '../../src/bench/read-bench.ts';
import { READING } from '../../src/fit/components.ts';
import { coolerRuns } from '../../src/fit/cooler-runs.ts';
import { statedPrior } from '../../src/fit/curve-posterior.ts';
import { fitLimitPlaces, overSlopes } from '../../src/fit/limit-places.ts';
import { leaveOneOut, skillOfPlaces } from '../../src/fit/model-weights.ts';
import { curveValues, RiseCurve } from '../../src/fit/rise-curve.ts';
import { assumedScatter, componentFactors, runCovariance } from '../../src/fit/scatter.ts';
import { readModel } from '../../src/formula/read-model.ts';
import { mixtureDeviation, mixtureMean, mixtureQuantile } from '../../src/numerics/mixture.ts';

/** A resistance and a limit, so that all three parameters can be gone through on a grid. */
const MODEL = `name: bare_limit
title: A resistance and a limit
source: our own
range: any load
kind: air
limit: L
inputs: {P: W}
parameters:
  R: {unit: K/W, start: 0.2, low: 0.001, high: 5, prior: {mean: 0.2, standard_deviation: 0.1}}
  S: {unit: K/W, start: 0.3, low: 0.001, high: 5, own: true, prior: {mean: 0.4, standard_deviation: 0.3}}
  L: {unit: W, start: 190, low: 20, high: 3000, prior: {mean: 190, standard_deviation: 90}}
resistance: >-
  R + S*((60*(P/L - 1) + abs(60*(P/L - 1)))/2 + log(1 + exp(-abs(60*(P/L - 1)))))/60/sqrt((P/L)^2 + 1/144)
`;

const encode = (text: string) => new TextEncoder().encode(text);
const bench = readBench(
  new Map([
    ['bench.yaml', encode('name: Three loads\nheater: {leak_W_per_K: {value: 0, uncertainty: 0}}\n')],
    ['coolers.csv', encode('cooler,kind,fan_max_rpm,heat_pipes\nAsh,air,1500,5\n')],
    [
      'runs.csv',
      encode(
        `run,cooler,sample,mount,source,power_W,fan_rpm,source_C,ambient_C\n${[
          [60, 12.1],
          [120, 23.9],
          [180, 43],
        ]
          .map(([W, rise], k) => `r${k},Ash,1,1,heater,${W},1500,${22 + rise},22`)
          .join('\n')}\n`,
      ),
    ],
  ]),
);

describe('a limit between two loads, by summing over a grid of all parameters with numpy', () => {
  // test/published/scripts/limit-places.py
  const data = coolerRuns(bench, bench.coolers[0], 'heater', bench.runs)!;
  const curve = new RiseCurve(readModel(MODEL, 'm.yaml'));
  const sigma = assumedScatter().sigma.map((_, k) => (k === READING ? 0.3 : 0));
  const covariance = runCovariance(
    { ...data, known_K: data.known_K.map(() => 0) },
    componentFactors(data, 0.2, 1),
    sigma,
  );
  const prior = statedPrior(curve);
  [prior.mean[2], prior.deviation[2]] = [Math.log(190), 0.45];
  const places = fitLimitPlaces(curve, data, 0, covariance, prior, [prior.mean], [], { enough: 1e-9 });
  const settled = fitLimitPlaces(curve, data, 0, covariance, prior, [], places, { enough: 1e-9 });
  const again = settled.flatMap((one) => overSlopes(one, data, 0, covariance, { enough: 1e-9 }));
  const skill = skillOfPlaces(
    again.map((one) => leaveOneOut(data, one, covariance)),
    again.map((one) => one.prior.logMass!),
  );

  it('has the place of the limit and the rise in the gap', () => {
    const below = (W: number) =>
      again.reduce((sum, one, k) => {
        const half = (Math.sqrt(12) * one.prior.deviation[2]) / 2;
        const part = (Math.log(W) - one.prior.mean[2] + half) / (2 * half);
        return sum + skill.shares[k] * Math.min(1, Math.max(0, part));
      }, 0);
    for (const [W, share] of [
      [130, 0.1268],
      [145, 0.3686],
      [160, 0.742],
      [175, 0.9954],
    ])
      expect(Math.abs(below(W) - share)).toBeLessThan(0.04);
    const at = curveValues(1, 3);
    const asked = { power_W: Float64Array.of(150), speed: Float64Array.of(1) };
    const parts = again.map((one) => {
      curve.evaluate(one.eta, asked, 0, at);
      let variance = 0;
      for (let j = 0; j < 3; j++)
        for (let k = 0; k < 3; k++) variance += at.jacobian[j] * one.covariance[3 * j + k] * at.jacobian[k];
      return { mean: at.rise_K[0], deviation: Math.sqrt(variance) };
    });
    const mixture = {
      weight: Float64Array.from(skill.shares),
      mean: Float64Array.from(parts, ({ mean }) => mean),
      deviation: Float64Array.from(parts, ({ deviation }) => deviation),
    };
    expect(Math.abs(mixtureMean(mixture) - 30.958)).toBeLessThan(0.1);
    expect(Math.abs(mixtureDeviation(mixture) / 1.2096 - 1)).toBeLessThan(0.06);
    expect(Math.abs(mixtureQuantile(mixture, 0.025) - 29.471)).toBeLessThan(0.15);
    expect(Math.abs(mixtureQuantile(mixture, 0.975) - 33.491)).toBeLessThan(0.15);
  });

  it('keeps the mass, the mean and the variance of a slope that is parted', () => {
    // As if the runs had told next to nothing of it.
    const [told] = settled;
    expect(overSlopes(told, data, 0, covariance, {})).toEqual([told]);
    const top = { ...told, covariance: told.covariance.map((value, k) => (k === 4 ? 1 : value)) };
    const parts = overSlopes(top, data, 0, covariance, { enough: 1e-9 });
    expect(parts).toHaveLength(5);
    const mass = parts.map((one) => Math.exp(one.prior.logMass! - top.prior.logMass!));
    const of = (value: (k: number) => number) => mass.reduce((sum, m, k) => sum + m * value(k), 0);
    const [mean, deviation] = [top.prior.mean[1], top.prior.deviation[1]];
    expect(of(() => 1)).toBeCloseTo(1, 12);
    expect(of((k) => parts[k].prior.mean[1])).toBeCloseTo(mean, 12);
    const square = of((k) => parts[k].prior.deviation[1] ** 2 + (parts[k].prior.mean[1] - mean) ** 2);
    expect(square / deviation ** 2).toBeCloseTo(1, 3);
  });

  it('foretells the greatest load from the others', () => {
    expect(Math.abs(skill.leftOut[2] - -3.2708)).toBeLessThan(0.25);
  });
});
