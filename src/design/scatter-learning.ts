import type { Run } from '../bench/bench.ts';
import { sourceOf } from '../bench/source.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { type CoolerRuns, coolerRuns, offsetOn, relativeSpeed } from '../fit/cooler-runs.ts';
import type { CurvePosterior } from '../fit/curve-posterior.ts';
import { curveValues } from '../fit/rise-curve.ts';
import { componentFactors, type ScatterPart, scatterBlock } from '../fit/scatter.ts';
import { diagonalMatrix, invertSpd } from '../numerics/matrix.ts';
import { remlInformation } from '../numerics/reml.ts';
import { curveAt } from '../predict/joint-rises.ts';
import type { PlannedRun } from './visits.ts';

/**
 * What planned runs will tell of the scatters themselves.
 *
 * Limits are wide not only because mounts and samples scatter but because it is not known by how much: with few degrees of freedom the critical
 * multiple is large. Fresh mounts of a sample that was mounted before separate the mount's scatter from the sample's, a second reading on a mount
 * that of readings from both. The expected information of restricted likelihood says how much of that a set of runs brings before they are done,
 * cooler by cooler, and adds up over the coolers since the scatters are the bench's.
 */

/**
 * Expected information on log σ_k² that planned runs bring to a cooler's own at the present scatters, K × K row-major; they are taken to be
 * done in the present session.
 */
export function scatterGain(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  planned: readonly PlannedRun[],
): Float64Array {
  const { bench, source } = posterior;
  const { data, curves, weights, typical_K_per_W, shapeScale, factors } = cooler;
  const best = curves[weights.indexOf(Math.max(...weights))];
  const session = posterior.sessions.at(-1);
  const ambient_C = bench.ambient.setpoint_C;
  const points = planned.map(({ power_W, fan_rpm }) => ({
    power_W,
    speed: relativeSpeed(data.cooler, fan_rpm),
  }));
  const { rise_K } = curveAt(posterior, cooler, best, points);
  const appended = planned.map(
    ({ sample, mount, power_W, fan_rpm }, k): Run => ({
      run: `planned-${k}`,
      cooler: data.cooler.cooler,
      sample,
      mount,
      source,
      power_W,
      fan_rpm,
      source_C: ambient_C + offsetOn(bench, source, session).value_K + rise_K[k],
      ambient_C,
      ...(session !== undefined && { session }),
      extra: {},
      line: 0,
    }),
  );
  const extended = coolerRuns(bench, data.cooler, source, [...data.runs, ...appended]);
  if (!extended) throw new RangeError('scatterGain: a cooler without runs has no posterior');
  const at = curveValues(extended.runs.length, best.eta.length);
  best.curve.evaluate(best.eta, extended, sourceOf(bench, source).leak_W_per_K.value, at);
  const standing = information(posterior, best, data, factors, best.at.jacobian);
  const all = componentFactors(extended, typical_K_per_W, shapeScale);
  return information(posterior, best, extended, all, at.jacobian).map((value, k) => value - standing[k]);
}

/**
 * Information that a cooler's runs hold about ln σ² of each scatter, from the expected second derivatives of
 * the restricted likelihood.
 */
function information(
  posterior: BenchPosterior,
  { prior, eta }: CurvePosterior,
  data: CoolerRuns,
  factors: CoolerPosterior['factors'],
  jacobian: Float64Array,
): Float64Array {
  const p = eta.length;
  const part: ScatterPart = {
    data,
    factors,
    residual_K: new Float64Array(data.runs.length),
    jacobian,
    columns: p,
    priorPrecision: diagonalMatrix(
      p,
      prior.deviation.map((s) => 1 / (s * s)),
    ),
  };
  return remlInformation([scatterBlock(part, posterior.active)], posterior.scatter.sigma);
}

/**
 * Covariance of log σ_k² once runs have been done that bring some further information.
 *
 * @param now  covariance as it is, K × K row-major
 * @param gains  information added, one for each cooler with planned runs
 */
export function covarianceAfter(now: Float64Array, gains: Iterable<Float64Array>): Float64Array {
  const size = Math.sqrt(now.length);
  const out = now.slice();
  if (!invertSpd(out, size)) return now;
  for (const gain of gains) for (let i = 0; i < out.length; i++) out[i] += gain[i];
  return invertSpd(out, size) ? out : now;
}

/** Degrees of freedom as the information has them: twice over the variance of the logarithm of a mean's variance. Limits never go below twelve. */
export function freedomOf(scatterShares: Float64Array, covariance: Float64Array): number {
  const size = scatterShares.length;
  let variance = 0;
  for (let k = 0; k < size; k++) {
    for (let l = 0; l < size; l++) variance += scatterShares[k] * covariance[k * size + l] * scatterShares[l];
  }
  return variance > 0 ? 2 / variance : Number.POSITIVE_INFINITY;
}
