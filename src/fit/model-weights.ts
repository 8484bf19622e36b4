import { logSum, softmax } from '../numerics/log-weights.ts';
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

/**
 * Skill of a formula of which there are several, parted by where its limit lies.
 *
 * With shares s_k by what all runs say, the runs of a group g left out have the density 1/Σ s_k/p_k(g): leaving them out changes the shares by their
 * own density, p(g | rest) = Σ π_k p_k(all) / Σ π_k p_k(all)/p_k(g).
 */
export function skillOfPlaces(
  skills: readonly Skill[],
  logMass: readonly number[],
): Skill & { shares: number[] } {
  const logs = skills.map(({ together }, k) => together + logMass[k]);
  const shares = softmax(logs);
  const mixed = (of: (skill: Skill) => Float64Array): Float64Array =>
    of(skills[0]).map((_, g) => -logSum(skills.map((skill, k) => Math.log(shares[k]) - of(skill)[g])));
  return {
    leftOut: mixed((skill) => skill.leftOut),
    speedLeftOut: mixed((skill) => skill.speedLeftOut),
    together: logSum(logs),
    shares,
  };
}

/** Skill of every model on every cooler and the weights that follow. */
export function weighModels(works: readonly Work[], curves: readonly RiseCurve[]): void {
  const table: number[][] = [];
  const sharesOf = works.map((work) => {
    work.together = new Array(work.curves.length).fill(Number.NEGATIVE_INFINITY);
    const shares = new Array<number>(work.curves.length).fill(0);
    const judged = curves.map((curve) => {
      const own = [...work.curves.keys()].filter(
        (m) => work.curves[m].curve === curve && work.curves[m].covariance.every(Number.isFinite),
      );
      if (own.length === 0)
        return { leftOut: Number.NEGATIVE_INFINITY, together: Number.NEGATIVE_INFINITY, logOdds: 0 };
      const skills = own.map((m) => leaveOneOut(work.data, work.curves[m], work.covariance));
      const skill = skillOfPlaces(
        skills,
        own.map((m) => work.curves[m].prior.logMass ?? 0),
      );
      own.forEach((m, k) => {
        work.together[m] = skills[k].together;
        shares[m] = skill.shares[k];
      });
      const { together } = skill;
      const share = Math.min(
        1 - 1e-9,
        own.reduce((sum, m) => sum + Math.exp(work.curves[m].prior.logMass ?? 0), 0),
      );
      const logOdds = Math.log(share / (1 - share));
      const partitions = [skill.leftOut, skill.speedLeftOut].filter((densities) => densities.length > 1);
      if (partitions.length === 0) {
        const likeliest = own[skill.shares.indexOf(Math.max(...skill.shares))];
        return { leftOut: aiccSkill(work.curves[likeliest]), together, logOdds };
      }
      // Each partition holds every run once: their mean weighs as much as either.
      return {
        leftOut: partitions.flatMap((one) => [...one]).reduce((a, b) => a + b, 0) / partitions.length,
        together,
        logOdds,
      };
    });
    const likeliest = Math.max(...judged.map(({ together }) => together));
    const skill = judged.map(({ leftOut, together }) =>
      together < likeliest - OUT_OF_THE_QUESTION ? Number.NEGATIVE_INFINITY : leftOut,
    );
    const hasLimit = (m: number) => curves[m].model.limit !== undefined;
    const without = Math.max(...skill.filter((_, m) => !hasLimit(m)));
    // A model with a pipe limit counts only where the runs show one. Where they do not, its limit is only a prior, and that
    // prior is carried, whole, by the limit nodes that continue every other model.
    table.push(
      skill.map((value, m) => {
        if (!hasLimit(m)) return value;
        // Loads left out say nothing of how little a limit was expected there.
        const odds = value + Math.min(0, SEEN + judged[m].logOdds);
        return odds < without + SEEN ? Number.NEGATIVE_INFINITY : odds;
      }),
    );
    return shares;
  });
  const weights = modelWeights(table);
  works.forEach((work, c) => {
    work.weights = work.curves.map(({ curve }, m) => weights[c][curves.indexOf(curve)] * sharesOf[c][m]);
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
