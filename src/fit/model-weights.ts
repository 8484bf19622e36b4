import { logDensityGivenRest } from '../numerics/rows-of-covariance.ts';
import type { SplitCovariance } from '../numerics/split-covariance.ts';
import type { CoolerRuns } from './cooler-runs.ts';
import { type CurvePosterior, departureFromPrior, marginalCovariance } from './curve-posterior.ts';

/** How well one fitted curve foretells the runs of its cooler. */
export interface Skill {
  /** Log predictive density of each load group, had it been left out. */
  readonly leftOut: Float64Array;
  /** The same of each group of fan speeds; empty where all runs are at one speed. */
  readonly speedLeftOut: Float64Array;
  /** Log density of all runs together under the curve's prior and the scatters. */
  readonly together: number;
}

/**
 * Log predictive density of each load and of each fan speed of a cooler when it is left out, for one fitted curve.
 *
 * With a proper prior everything is jointly Gaussian about the mode: the runs have covariance M = V + J·T·Jᵀ about the
 * prior mean, and with Ω = M⁻¹ the left-out block B given the rest has precision Ω_BB and residual Ω_BB⁻¹(Ω·d)_B, so that
 * no refit is needed. That includes what the other loads on the same mount say about the mount.
 *
 * Source: Rasmussen and Williams (2006), Gaussian Processes for Machine Learning, 5.4.2; Sundararajan and Keerthi (2001).
 *
 * @param covariance  V
 */
export function leaveOneOut(data: CoolerRuns, posterior: CurvePosterior, covariance: SplitCovariance): Skill {
  const marginal = marginalCovariance(posterior, covariance);
  const departure = departureFromPrior(posterior);
  const pulled = marginal.solve(departure);
  const groups = (group: Int32Array, count: number): Float64Array => {
    const rows = Array.from({ length: count }, (): number[] => []);
    group.forEach((g, i) => {
      rows[g].push(i);
    });
    return Float64Array.from(rows, (own) => logDensityGivenRest(marginal, own, pulled));
  };
  return {
    leftOut: groups(data.loadGroup, data.loadGroups),
    speedLeftOut: data.speedGroups > 1 ? groups(data.speedGroup, data.speedGroups) : new Float64Array(0),
    together: marginal.logDensity(departure),
  };
}

/** Weight, in coolers, of the assumption that every model is as good as another. */
const EVEN_WEIGHT = 1;

/**
 * Weights of the models for every cooler: pseudo-BMA of the left-out skill, with shares learnt over the bench.
 *
 * A cooler's few loads cannot tell the formulas apart on their own, but the coolers of a bench are alike in kind: the
 * share of coolers for which a model is the right one is estimated by EM over all of them and is each cooler's prior.
 *
 * Source: Yao et al. (2018), Bayesian Analysis 13, 917 (pseudo-BMA); the EM for shares is that of any finite mixture.
 *
 * @param skill  coolers × models, sums of log predictive densities; −∞ excludes a model
 * @returns coolers × models, each row adding to 1
 */
export function modelWeights(skill: readonly (readonly number[])[]): number[][] {
  const models = skill[0]?.length ?? 0;
  let share = new Array<number>(models).fill(1 / models);
  let weights: number[][] = [];
  for (let iteration = 0; iteration < 50; iteration++) {
    weights = skill.map((row) => {
      const best = Math.max(...row);
      if (!Number.isFinite(best)) return row.map(() => 1 / models);
      const raw = row.map((value, m) => share[m] * Math.exp(value - best));
      const total = raw.reduce((a, b) => a + b, 0);
      return raw.map((value) => value / total);
    });
    const next = share.map((_, m) => {
      const sum = weights.reduce((total, row) => total + row[m], 0);
      return (sum + EVEN_WEIGHT) / (skill.length + EVEN_WEIGHT * models);
    });
    const change = Math.max(...next.map((value, m) => Math.abs(value - share[m])));
    share = next;
    if (change < 1e-9) break;
  }
  return weights;
}

/**
 * Corrected Akaike information criterion as a stand-in for left-out skill where a cooler was run at one load only.
 *
 * Source: Hurvich and Tsai (1989) Biometrika 76, 297.
 *
 * @returns −AICc/2, so that it adds up like a log predictive density; the correction is capped where runs are fewer
 *   than parameters + 2
 */
export function aiccSkill(posterior: CurvePosterior): number {
  const n = posterior.residual_K.length;
  const p = posterior.eta.length;
  let quadratic = 0;
  for (let i = 0; i < n; i++) quadratic += posterior.residual_K[i] * posterior.weightedResidual[i];
  return -quadratic / 2 - p - (p * (p + 1)) / Math.max(n - p - 1, 1);
}
