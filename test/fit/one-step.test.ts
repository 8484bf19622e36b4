import { inverse, Matrix } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import { readBench } from '../../src/bench/read-bench.ts';
import { type BenchPosterior, benchPosterior } from '../../src/fit/bench-posterior.ts';
import { onChip, sourceTerm } from '../../src/fit/chip-term.ts';
import { MOUNT, READING, SAMPLE, SESSION, SHAPE } from '../../src/fit/components.ts';
import { departureCovariance } from '../../src/fit/departure.ts';
import type { SourceTerm } from '../../src/fit/source-term.ts';
import { shippedModel } from '../../src/formula/shipped-models.ts';
import { mixtureDeviation, mixtureMean } from '../../src/numerics/mixture.ts';
import { riseDistributions } from '../../src/predict/rise-distribution.ts';
import { sharedUncertainties, sharedVariance } from '../../src/predict/shared-errors.ts';

/** No instrument errs on this bench, so that what is left is the scatters and the term. */
const yaml = `
ambient: {setpoint_C: 20, tolerance_K: 1}
instruments:
  source_temperature: {systematic_K: 0}
  ambient_temperature: {systematic_K: 0}
  power: {systematic_percent: 0}
heater: {leak_W_per_K: {value: 0, uncertainty: 0}}
chips:
  - {chip: small, sensor_systematic_K: 0, power_systematic_percent: 0, leak_W_per_K: {value: 0, uncertainty: 0}}
`;
const runs = `cooler,sample,mount,source,power_W,fan_rpm,source_C,ambient_C
Heron,1,1,heater,100,1500,38.1,20
Heron,1,1,heater,180,1500,52.9,20
Heron,1,2,heater,100,1500,39.0,20
Heron,1,2,heater,180,1500,54.2,20
Heron,2,1,heater,140,1500,45.1,20
Reed,1,1,heater,100,1500,41.0,20
Reed,1,1,heater,180,1500,58.1,20
Reed,1,2,heater,150,1500,51.7,20
Heron,1,1,small,90,1500,44.1,20
Heron,1,1,small,130,1500,54.9,20
Heron,2,1,small,130,1500,53.6,20
`;
const bench = readBench(
  new Map(
    Object.entries({
      'bench.yaml': yaml,
      'runs.csv': runs,
      'coolers.csv': 'cooler,kind,fan_max_rpm\nHeron,liquid,1500\nReed,liquid,1500\n',
    }).map(([name, text]) => [name, new TextEncoder().encode(text)]),
  ),
);

interface Reading {
  cooler: string;
  sample?: string;
  mount?: string;
  source: string;
  heat: number;
}

/** Everything at once: readings on both sources and the target in one normal distribution, conditioned by a matrix library. */
function oneStep(heater: BenchPosterior, term: SourceTerm, target: Reading) {
  const { sigma } = heater.scatter;
  const curveOf = (name: string) => heater.coolers.find((one) => one.data.cooler.cooler === name)!;
  const readings: Reading[] = bench.runs.map((run) => ({
    cooler: run.cooler,
    sample: run.sample,
    mount: run.mount,
    source: run.source,
    heat: run.power_W,
  }));
  const all = [...readings, target];
  const prior = { mean: 0.05, deviation: 0.08 };
  const betweenCoolers = term.coolerVariance.get('Heron') as number;
  // ln R of each cooler is linear about its mode R̂: rise ≈ Q·R̂·(1 + ln R − ln R̂).
  const resistance = (r: Reading) => Math.exp(curveOf(r.cooler).curves[0].eta[0]);
  const expected = all.map((r) => {
    const { eta, prior: own } = curveOf(r.cooler).curves[0];
    return r.heat * (resistance(r) * (1 + own.mean[0] - eta[0]) + (r.source === 'small' ? prior.mean : 0));
  });
  const covariance = Matrix.zeros(all.length, all.length);
  all.forEach((a, i) => {
    all.forEach((b, j) => {
      const both = a.source === 'small' && b.source === 'small';
      let perHeat = both ? prior.deviation ** 2 : 0;
      if (a.cooler === b.cooler) {
        const { curves, typical_K_per_W } = curveOf(a.cooler);
        perHeat += (resistance(a) * curves[0].prior.deviation[0]) ** 2;
        perHeat +=
          (sigma[SHAPE] * typical_K_per_W) ** 2 *
          departureCovariance(SHAPE, { base_W: a.heat, speed: 1 }, { base_W: b.heat, speed: 1 });
        if (both) perHeat += betweenCoolers;
        if (a.sample !== undefined && a.sample === b.sample) {
          perHeat += sigma[SAMPLE] ** 2;
          if (a.source === b.source && a.mount === b.mount) perHeat += sigma[MOUNT] ** 2;
        }
      }
      covariance.set(i, j, perHeat * a.heat * b.heat + (i === j && a !== target ? sigma[READING] ** 2 : 0));
    });
  });
  const n = readings.length;
  const read = Matrix.columnVector(bench.runs.map((run, i) => run.source_C - run.ambient_C - expected[i]));
  const k = covariance.subMatrix(0, n - 1, n, n);
  const weights = inverse(covariance.subMatrix(0, n - 1, 0, n - 1)).mmul(k);
  return {
    rise_K: expected[n] + weights.transpose().mmul(read).get(0, 0),
    variance: covariance.get(n, n) - weights.transpose().mmul(k).get(0, 0),
  };
}

describe('heater first, chip second', () => {
  const fitted = benchPosterior(bench, [shippedModel('constant')!]);
  // A paste state that all runs share is an instrument's error in kind: none of those here.
  const sigma = fitted.scatter.sigma.map((s, k) => (k === SESSION ? 0 : s));
  const heater: BenchPosterior = { ...fitted, scatter: { ...fitted.scatter, sigma } };
  const term = sourceTerm(heater, 'small');

  it.each([
    ['Heron', 60],
    ['Heron', 130],
    ['Heron', 220],
    ['Reed', 60],
    ['Reed', 130],
    ['Reed', 220],
  ])('is the same as all runs at once: %s at %d W', (cooler, heat) => {
    const one = heater.coolers.find(({ data }) => data.cooler.cooler === cooler)!;
    const posterior = { ...heater, source: 'small', term };
    const [found] = riseDistributions(posterior, onChip(heater, one), [{ power_W: heat, speed: 1 }]);
    const variance =
      mixtureDeviation(found.mean) ** 2 +
      sharedVariance(found.meanSensitivity, sharedUncertainties(posterior));
    const expected = oneStep(heater, term, { cooler, source: 'small', heat });
    expect(mixtureMean(found.mean)).toBeCloseTo(expected.rise_K, 4);
    expect(Math.sqrt(variance)).toBeCloseTo(Math.sqrt(expected.variance), 4);
    expect(found.runShift_K).toBeCloseTo(0, 9);
  });
});
