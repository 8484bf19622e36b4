import { largest, smallest } from '../numerics/extremes.ts';
import { dot } from '../numerics/matrix.ts';
import type { SplitCovariance } from '../numerics/split-covariance.ts';
import type { CoolerRuns } from './cooler-runs.ts';
import {
  type CurvePosterior,
  type CurvePrior,
  departureFromPrior,
  type FitEnds,
  fitCurve,
  marginalCovariance,
} from './curve-posterior.ts';
import { limitParameter, type RiseCurve } from './rise-curve.ts';

/** How far apart the places of a limit stand in ln(heat). Chosen: a tenth, less than the loads of a bench are apart. */
const STEP = 0.1;

/** How far beyond the heats run a limit may lie that the runs show, in ln(heat). Chosen: a place and a half. */
const REACH = 0.15;

/** Places that are less likely than the likeliest by this, in ln, are left out. Chosen: they add less than a hundredth. */
const OUT = 5;

/** Places below two that are so much less likely than the likeliest are not tried. Chosen: twice as much, since they are fitted roughly. */
const FAR_OUT = 10;

/** Evaluations with which a place is looked at. Chosen: enough to see that it is out of the question. */
const ROUGHLY = 20;

/** One slice of a prior: parameter k at a mean and with a deviation of its own, the others as they are. */
function sliceOf(prior: CurvePrior, k: number, at: number, within: number, logMass: number): CurvePrior {
  const [mean, deviation] = [prior.mean.slice(), prior.deviation.slice()];
  mean[k] = at;
  deviation[k] = within;
  return { ...prior, mean, deviation, logMass };
}

/**
 * A formula with a limit as several posteriors, between which the place of the limit is parted.
 *
 * Two loads with the limit between them tell that it is there and not where: one just above the lower load that is gentle and one just below the
 * upper that is steep give the same at both and part in between, which no normal distribution about the likeliest place can say. The place has
 * its prior in slices of ln(heat), each a normal distribution as wide as the slice and of its mass; the other parameters are fitted in each. What a
 * slice weighs is found with the weights of the formulas.
 *
 * @param prior  of all parameters
 * @param starts  where to begin, without places; the place is put in
 * @param before  those that were kept the last time; where there are some, no others are tried
 * @returns the places that count, at least one
 */
export function fitLimitPlaces(
  curve: RiseCurve,
  data: CoolerRuns,
  leak_W_per_K: number,
  covariance: SplitCovariance,
  prior: CurvePrior,
  starts: readonly ArrayLike<number>[],
  before: readonly CurvePosterior[],
  { enough }: FitEnds,
): CurvePosterior[] {
  const j = limitParameter(curve);
  const low = Math.log(smallest(data.base_W)) - REACH;
  const range = Math.log(largest(data.base_W)) + REACH - low;
  const count = Math.round(range / STEP);
  const width = range / count;
  const fitAt = (place: number, eta: ArrayLike<number>, ends: FitEnds) => {
    const z = (place - prior.mean[j]) / prior.deviation[j];
    const logMass = Math.log(width / prior.deviation[j]) - (z * z + Math.log(2 * Math.PI)) / 2;
    const own = sliceOf(prior, j, place, width / Math.sqrt(12), logMass);
    return fitCurve(curve, data, leak_W_per_K, covariance, own, [eta], { enough, ...ends });
  };
  if (before.length > 0) {
    const again = before.map((one) => fitAt(one.prior.mean[j], one.eta, { isNear: one.converged }));
    return likeliest(
      again,
      again.map((one) => logOf(one, covariance)),
    );
  }
  // With the limit held at a place the formula has no kink in its parameters; each begins where the one above it ended.
  const ends = { fixed: curve.scales.map((_, k) => k === j), maxEvaluations: ROUGHLY };
  const held: CurvePosterior[] = [];
  const logs: number[] = [];
  let [most, previous, out] = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY, FAR_OUT];
  for (let k = count - 1; k >= 0; k--) {
    const place = low + (k + 0.5) * width;
    // What only this cooler's limit tells begins anew: a step that has grown at one place hides the slope of the next.
    const eta = Float64Array.from(held.at(-1)?.eta ?? starts[0], (value, i) =>
      curve.model.parameters[i].own ? prior.mean[i] : value,
    );
    eta[j] = place;
    const one = fitAt(place, eta, ends);
    const log = logOf(one, covariance);
    held.push(one);
    logs.push(log);
    if (log > most) [most, out] = [log, FAR_OUT * misfit(one)];
    if (log < previous && previous < most - out) break;
    previous = log;
  }
  return likeliest(held, logs);
}

/** Parts of a normal distribution, in its standard deviations, that have its mean and variance together. */
const PARTS = [
  { weight: 0.084, at: -1.6 },
  { weight: 0.25, at: -0.8 },
  { weight: 0.332, at: 0 },
  { weight: 0.25, at: 0.8 },
  { weight: 0.084, at: 1.6 },
];
const PART_WIDTH = 0.5;

/** Standard deviation of a slope's logarithm from which a normal distribution of the rise would have it fall with the load. Chosen: half. */
const UNTOLD = 0.5;

/**
 * One place of a limit, parted once more by the slope beyond it where the runs hardly tell that: a slope known to a factor of two is not
 * known to as many K/W either way, and a rise does not fall beyond a limit.
 *
 * @returns the place itself where its slope is told
 */
export function overSlopes(
  place: CurvePosterior,
  data: CoolerRuns,
  leak_W_per_K: number,
  covariance: SplitCovariance,
  { enough }: FitEnds,
): CurvePosterior[] {
  const { curve, prior, eta } = place;
  const k = curve.model.parameters.findIndex(({ own, unit }) => own && unit === 'K/W');
  const spread = k < 0 ? 0 : Math.sqrt(place.covariance[k * eta.length + k]);
  if (prior.logMass === undefined || !curve.scales[k]?.logarithmic || !(spread > UNTOLD)) return [place];
  return PARTS.map(({ weight, at }) => {
    const [mean, deviation] = [prior.mean[k], prior.deviation[k]];
    const logMass = (prior.logMass ?? 0) + Math.log(weight);
    const own = sliceOf(prior, k, mean + at * deviation, PART_WIDTH * deviation, logMass);
    const start = eta.slice();
    start[k] += at * spread;
    return fitCurve(curve, data, leak_W_per_K, covariance, own, [start], { enough });
  });
}

/** Log density of the runs under a place and of its mass; −∞ where it has none. */
function logOf(one: CurvePosterior, covariance: SplitCovariance): number {
  if (!one.covariance.every(Number.isFinite)) return Number.NEGATIVE_INFINITY;
  return marginalCovariance(one, covariance).logDensity(departureFromPrior(one)) + (one.prior.logMass ?? 0);
}

/**
 * How many times as far as the scatters assume the runs lie about a curve, in the mean square; at least 1. Where scatters are not known yet,
 * places differ by as much less than their densities say.
 */
function misfit({ residual_K, weightedResidual }: CurvePosterior): number {
  return Math.max(1, dot(residual_K, weightedResidual) / residual_K.length);
}

/** Those that count. @param logs  {@link logOf} each */
function likeliest(places: readonly CurvePosterior[], logs: readonly number[]): CurvePosterior[] {
  const most = largest(logs);
  const out = OUT * misfit(places[logs.indexOf(most)] ?? places[0]);
  const kept = places.filter((_, k) => logs[k] > most - out);
  return kept.length > 0 ? kept : places.slice(0, 1);
}
