import { logDensityGivenRest } from '../numerics/rows-of-covariance.ts';
import type { SplitCovariance } from '../numerics/split-covariance.ts';
import type { CoolerRuns } from './cooler-runs.ts';
import { type CurvePosterior, departureFromPrior, marginalCovariance } from './curve-posterior.ts';
import type { RiseCurve } from './rise-curve.ts';
import type { Work } from './work.ts';

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

/** Skill of every model on every cooler and the weights that follow. */
export function weighModels(works: readonly Work[], curves: readonly RiseCurve[]): void {
  for (const work of works) {
    const judged = work.curves.map((posterior) => {
      if (!posterior.covariance.every(Number.isFinite))
        return { leftOut: Number.NEGATIVE_INFINITY, together: Number.NEGATIVE_INFINITY };
      const { leftOut, speedLeftOut, together } = leaveOneOut(work.data, posterior, work.covariance);
      const partitions = [leftOut, speedLeftOut].filter((densities) => densities.length > 1);
      if (partitions.length === 0) return { leftOut: aiccSkill(posterior), together };
      // Each partition holds every run once: their mean weighs as much as either.
      return {
        leftOut: partitions.flatMap((one) => [...one]).reduce((a, b) => a + b, 0) / partitions.length,
        together,
      };
    });
    const likeliest = Math.max(...judged.map(({ together }) => together));
    const skill = judged.map(({ leftOut, together }) =>
      together < likeliest - OUT_OF_THE_QUESTION ? Number.NEGATIVE_INFINITY : leftOut,
    );
    const hasLimit = (m: number) => work.curves[m].curve.model.limit !== undefined;
    const without = Math.max(...skill.filter((_, m) => !hasLimit(m)));
    // A model with a pipe limit counts only where the runs show one. Where they do not, its limit is only a prior, and that
    // prior is carried, whole, by the limit nodes that continue every other model.
    work.skill = skill.map((value, m) =>
      hasLimit(m) && value < without + SEEN ? Number.NEGATIVE_INFINITY : value,
    );
  }
  const table = works.map((work) =>
    curves.map((curve) => {
      const m = work.curves.findIndex((posterior) => posterior.curve === curve);
      return m < 0 ? Number.NEGATIVE_INFINITY : work.skill[m];
    }),
  );
  const weights = modelWeights(table);
  works.forEach((work, c) => {
    work.weights = work.curves.map((posterior) => weights[c][curves.indexOf(posterior.curve)]);
    const total = work.weights.reduce((a, b) => a + b, 0);
    work.weights = work.weights.map((w) => w / total);
  });
}

/**
 * A model under which a cooler's runs as a whole are e¹⁰ times less likely than under another is out of the question there. Left-out
 * loads alone would not see it: what a wrong curve misses at every load alike passes for the mounts' own resistance.
 */
const OUT_OF_THE_QUESTION = 10;

/**
 * Log predictive density by which a model with a limit has to beat the others for the limit to count as
 * seen. Chosen: odds of 7 to 1.
 */
const SEEN = 2;
