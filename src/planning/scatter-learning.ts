import { invertSpd } from '../numerics/matrix.ts';
import { remlInformation } from '../numerics/reml.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { type ScatterPart, scatterBlock } from '../posterior/scatter.ts';

/**
 * What planned runs will tell of the scatters themselves.
 *
 * Limits are wide not only because mounts and samples scatter but because it is not known by how much: with few degrees of freedom the critical
 * multiple is large. Fresh mounts of a sample that was mounted before separate the mount's scatter from the sample's, a second reading on a mount
 * that of readings from both. The expected information of restricted likelihood says how much of that a set of runs brings before they are done,
 * cooler by cooler, and adds up over the coolers since the scatters are the bench's.
 */

/** Expected information of a cooler's runs on log σ_k² at the present scatters, K × K row-major. */
export function scatterInformation(posterior: BenchPosterior, cooler: CoolerPosterior): Float64Array {
  const { data, factors, curves, weights } = cooler;
  const { at, prior, eta } = curves[weights.indexOf(Math.max(...weights))];
  const p = eta.length;
  const priorPrecision = new Float64Array(p * p);
  for (let j = 0; j < p; j++) priorPrecision[j * p + j] = 1 / prior.deviation[j] ** 2;
  const part: ScatterPart = {
    data,
    factors,
    residual_K: new Float64Array(data.runs.length),
    jacobian: at.jacobian,
    columns: p,
    priorPrecision,
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

/** Degrees of freedom as the information has them: twice over the variance of the logarithm of a mean's variance. Limits never go below eight. */
export function freedomOf(scatterShares: Float64Array, covariance: Float64Array): number {
  const size = scatterShares.length;
  let variance = 0;
  for (let k = 0; k < size; k++) {
    for (let l = 0; l < size; l++) variance += scatterShares[k] * covariance[k * size + l] * scatterShares[l];
  }
  return variance > 0 ? 2 / variance : Number.POSITIVE_INFINITY;
}
