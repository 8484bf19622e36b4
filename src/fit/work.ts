import type { Components, SplitCovariance } from '../numerics/split-covariance.ts';
import { SHAPE } from './components.ts';
import type { CoolerRuns } from './cooler-runs.ts';
import { type CurvePosterior, departureFromPrior, marginalCovariance } from './curve-posterior.ts';
import { type LimitPrior, limitPrior } from './pipe-limit.ts';
import type { RiseCurve } from './rise-curve.ts';
import {
  assumedScatter,
  type BenchScatter,
  componentFactors,
  runCovariance,
  type ScatterPart,
} from './scatter.ts';
import { shapeScale } from './shape-scale.ts';

/** Working state of one cooler while the passes go on. */
export interface Work {
  readonly data: CoolerRuns;
  /** Median of rise over heat at the runs, K/W. */
  readonly typical: number;
  /** How many times the bench's own departure from the formulas this cooler's is. */
  shapeScale: number;
  factors: Components;
  /** V of its runs. */
  covariance: SplitCovariance;
  /** One a formula that applies; of one with a limit, one for each place of it that counts. */
  curves: CurvePosterior[];
  /** Log density of all runs under each, and the weight of each; weights add to 1. */
  together: number[];
  weights: number[];
  /** What is believed of the limit of its pipes before its own runs. */
  limitPrior: LimitPrior | undefined;
}

/** A cooler before the first round. */
export function startWork(data: CoolerRuns): Work {
  const ratios = Array.from(data.rise_K, (rise, i) => rise / data.base_W[i]).sort((a, b) => a - b);
  const typical = Math.max(ratios[Math.floor(ratios.length / 2)], 1e-4);
  const factors = componentFactors(data, typical, 1);
  return {
    data,
    typical,
    shapeScale: 1,
    factors,
    covariance: runCovariance(data, factors, assumedScatter().sigma),
    curves: [],
    together: [],
    weights: [],
    limitPrior: limitPrior(data.cooler),
  };
}

/** Takes over the bench's scatters. */
export function useScatter(work: Work, scatter: BenchScatter, active: readonly boolean[]): void {
  const sigma = scatter.sigma.map((s, k) => (active[k] ? s : 0));
  work.covariance = runCovariance(work.data, work.factors, sigma);
}

/** A formula's curve of the greatest weight; `undefined` where the formula does not apply. */
export function curveOf({ curves, weights }: Work, curve: RiseCurve): CurvePosterior | undefined {
  let best = -1;
  curves.forEach((one, m) => {
    if (one.curve === curve && (best < 0 || weights[m] > weights[best])) best = m;
  });
  return curves[best];
}

/** The curve of the greatest weight of the formula with the greatest weight. */
export function bestCurve(work: Work): CurvePosterior {
  const ofFormula = new Map<RiseCurve, number>();
  work.curves.forEach(({ curve }, m) => {
    ofFormula.set(curve, (ofFormula.get(curve) ?? 0) + work.weights[m]);
  });
  const [[best]] = [...ofFormula].sort(([, a], [, b]) => b - a);
  return curveOf(work, best) as CurvePosterior;
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
  const best = bestCurve(work);
  const sigma = scatter.sigma.map((s, k) => (active[k] ? s : 0));
  const plain = componentFactors(work.data, work.typical, 1);
  const scale = shapeScale(departureFromPrior(best), (times) => {
    const scaled = sigma.map((s, k) => (k === SHAPE ? times * s : s));
    return marginalCovariance(best, runCovariance(work.data, plain, scaled));
  });
  if (scale === work.shapeScale) return;
  work.shapeScale = scale;
  work.factors = componentFactors(work.data, work.typical, scale);
}
