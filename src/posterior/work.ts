import { addGram, invertSpd } from '../numerics/matrix.ts';
import type { ComponentFactor } from '../numerics/reml.ts';
import type { CoolerRuns } from './cooler-runs.ts';
import { type CurvePosterior, departureFromPrior, factorOf } from './curve-posterior.ts';
import { type BenchScatter, componentFactors, runCovariance, type ScatterPart, SHAPE } from './scatter.ts';
import { shapeScale } from './shape-scale.ts';

/** Working state of one cooler while the passes go on. */
export interface Work {
  readonly data: CoolerRuns;
  /** Median of rise over heat at the runs, K/W. */
  readonly typical: number;
  /** How many times the bench's own departure from the formulas this cooler's is. */
  shapeScale: number;
  factors: readonly ComponentFactor[];
  factor: Float64Array;
  inverse: Float64Array;
  curves: CurvePosterior[];
  skill: number[];
  weights: number[];
}

/** A cooler before the first round. */
export function startWork(data: CoolerRuns): Work {
  const ratios = Array.from(data.rise_K, (rise, i) => rise / data.base_W[i]).sort((a, b) => a - b);
  const typical = Math.max(ratios[Math.floor(ratios.length / 2)], 1e-4);
  return {
    data,
    typical,
    shapeScale: 1,
    factors: componentFactors(data, typical, 1),
    factor: new Float64Array(0),
    inverse: new Float64Array(0),
    curves: [],
    skill: [],
    weights: [],
  };
}

/** Takes over the bench's scatters: V of the cooler's runs, its factor and its inverse. */
export function useScatter(work: Work, scatter: BenchScatter, active: readonly boolean[]): void {
  const n = work.data.runs.length;
  const sigma = scatter.sigma.map((s, k) => (active[k] ? s : 0));
  const covariance = runCovariance(work.data, work.factors, sigma);
  work.factor = factorOf(covariance, n);
  work.inverse = covariance;
  if (!invertSpd(work.inverse, n)) throw new RangeError('the covariance of the runs cannot be inverted');
}

/** The curve with the greatest weight. */
export function bestCurve(work: Work): CurvePosterior {
  return work.curves[work.weights.indexOf(Math.max(...work.weights))];
}

/** What the cooler brings to the estimate of the scatters. */
export function scatterPart(work: Work): ScatterPart {
  const best = bestCurve(work);
  const p = best.eta.length;
  const precision = new Float64Array(p * p);
  for (let j = 0; j < p; j++) precision[j * p + j] = 1 / best.prior.deviation[j] ** 2;
  return {
    data: work.data,
    factors: work.factors,
    // About the prior mean, since the restricted likelihood integrates over the whole prior.
    residual_K: departureFromPrior(best),
    jacobian: best.at.jacobian,
    columns: p,
    priorPrecision: precision,
  };
}

/** Finds the cooler's own scale of shape and lays its factors out anew. */
export function rescaleShape(work: Work, scatter: BenchScatter, active: readonly boolean[]): void {
  const { residual_K, jacobian, columns, priorPrecision } = scatterPart(work);
  const n = residual_K.length;
  const plain = componentFactors(work.data, work.typical, 1);
  const only = (k: (component: number) => boolean) =>
    scatter.sigma.map((sigma, component) => (active[component] && k(component) ? sigma : 0));
  const covariance = runCovariance(
    work.data,
    plain,
    only((k) => k !== SHAPE),
  );
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      for (let q = 0; q < columns; q++) {
        const variance = 1 / priorPrecision[q * columns + q];
        covariance[i * n + j] += variance * jacobian[i * columns + q] * jacobian[j * columns + q];
      }
    }
  }
  const { z, columns: groups } = plain[SHAPE];
  const shape = addGram(new Float64Array(n * n), z, n, groups, scatter.sigma[SHAPE] ** 2);
  const scale = shapeScale(residual_K, covariance, shape);
  if (scale === work.shapeScale) return;
  work.shapeScale = scale;
  work.factors = componentFactors(work.data, work.typical, scale);
}
