import { normalCdf } from '../numerics/distributions.ts';
import { cholesky, solveLower } from '../numerics/matrix.ts';
import { type NormalMixture, reducedMixture } from '../numerics/mixture.ts';

/** How much a source's term differs from cooler to cooler. */
export interface SourceScatter {
  /** Root of the mean square over what is still plausible, K/W. */
  readonly value: number;
  readonly low: number;
  readonly high: number;
  /** True where the runs say little and common practice stands. */
  readonly assumed: boolean;
  /** Distribution of what the term of a cooler that was not run on the source differs by, K/W: mean 0, standard deviation `value`. */
  readonly own: { readonly weight: number[]; readonly mean: number[]; readonly deviation: number[] };
}

/**
 * Before any run the scatter is that of an even source or of an uneven one, each log-normal, a factor of 1.8 or 2.2 either way (common
 * practice, no source). Even: about 3 % of the term up to 0.1 K/W and 8 % of what is beyond, but no less than 2 mK/W; such a term under
 * a lid is mostly the chip's own joint, the same under every cooler, and the large term of a bare small die mostly paste, which
 * differs by a sixth from cooler to cooler. Uneven: a small hot spot or one off the middle meets each base and its pipes at
 * another place; of what the term has beyond a lid's joint somewhat under a half is then each cooler's own. A spot of 14 mm at the edge of a lid
 * has a term of 0.135 ± 0.018 K/W over bases of 2 to 6 mm, of copper or aluminium, with pipes that take the heat more or less evenly, by the series
 * for eccentric sources of `surfaces/plate`: a quarter of it, before it counts where the pipes lie.
 */
const JOINT_SHARE = 0.03;
const PASTE_SHARE = 0.08;
const JOINT_K_PER_W = 0.1;
const LEAST_K_PER_W = 0.002;
const LID_K_PER_W = 0.06;
const UNEVEN_SHARE = 0.45;
const LEAST_UNEVEN_K_PER_W = 0.005;
const UNEVEN_CHANCE = 0.3;
/** The same where a shape is stated: a larger term may then be a wrong statement as well. An assumption. */
export const STATED_UNEVEN_CHANCE = 0.25;
/** Terms of even sources scatter about a lid's joint; those of uneven ones are more by this, give or take as much, K/W. */
const EVEN_SPREAD_K_PER_W = 0.03;
const UNEVEN_TERM_K_PER_W = 0.07;
const SCATTER_LOG_SPREAD = 0.6;
const UNEVEN_LOG_SPREAD = 0.8;

/** The middle of what is expected of the scatter for a term of this size under an even source, K/W. */
export function likelyScatter(term_K_per_W: number): number {
  const size = Math.abs(term_K_per_W);
  const likely =
    JOINT_SHARE * Math.min(size, JOINT_K_PER_W) + PASTE_SHARE * Math.max(size - JOINT_K_PER_W, 0);
  return Math.max(LEAST_K_PER_W, likely);
}

/**
 * The same under an uneven one, for a term known as a normal distribution: of what it may have beyond a lid's joint, as the root of the
 * mean square.
 */
export function unevenScatter(term_K_per_W: number, deviation_K_per_W: number): number {
  const middle = Math.abs(term_K_per_W) - LID_K_PER_W;
  const z = middle / deviation_K_per_W;
  const square =
    (middle ** 2 + deviation_K_per_W ** 2) * normalCdf(z) +
    (middle * deviation_K_per_W * Math.exp((-z * z) / 2)) / Math.sqrt(2 * Math.PI);
  return LEAST_UNEVEN_K_PER_W + UNEVEN_SHARE * Math.sqrt(Math.max(square, 0));
}

/**
 * Chance that a source of which nothing is stated is uneven, by what its term comes to: more than a lid's joint speaks for it (Bayes' rule,
 * with the error of the term in both densities).
 */
export function unevenChance(term_K_per_W: number, deviation_K_per_W: number): number {
  const over = Math.abs(term_K_per_W) - LID_K_PER_W;
  const density = (mean: number, spread: number) => {
    const deviation = Math.hypot(spread, deviation_K_per_W);
    return Math.exp(-0.5 * ((over - mean) / deviation) ** 2) / deviation;
  };
  const even = (1 - UNEVEN_CHANCE) * density(0, EVEN_SPREAD_K_PER_W);
  const uneven = UNEVEN_CHANCE * density(UNEVEN_TERM_K_PER_W, UNEVEN_TERM_K_PER_W);
  return uneven / (even + uneven);
}

/**
 * Spread of ln(resistance) of an uneven source's spreading from cooler to cooler: thickness and conductivity of the base and the place of its pipes
 * each multiply it, so it is log-normal, and a cooler with a thin base gets much more than the usual one (an assumption).
 */
const SPREADING_LOG_SPREAD = 0.5;

/**
 * A log-normal variable less its mean, over its standard deviation, as normals on a lattice.
 *
 * @param spread  standard deviation of its logarithm, up to about 1
 */
export function standardLogNormal(spread: number): NormalMixture {
  const [width, step] = [0.25, 0.4];
  const z = Array.from({ length: 19 }, (_, k) => step * (k - 9));
  const raw = z.map((one) => Math.exp((-0.5 * one * one) / (1 - width ** 2)));
  const total = raw.reduce((a, b) => a + b, 0);
  const parts = z.map((one, k) => ({
    weight: raw[k] / total,
    at: Math.exp(spread * one),
    own: width * spread * Math.exp(spread * one),
  }));
  const mean = parts.reduce((sum, { weight, at }) => sum + weight * at, 0);
  const whole = Math.sqrt(
    parts.reduce((sum, { weight, at, own }) => sum + weight * ((at - mean) ** 2 + own ** 2), 0),
  );
  return {
    weight: Float64Array.from(parts, ({ weight }) => weight),
    mean: Float64Array.from(parts, ({ at }) => (at - mean) / whole),
    deviation: Float64Array.from(parts, ({ own }) => own / whole),
  };
}

/** Normals that stand for a cooler's own part of the term, and the loss by which one fewer would show; see `reducedMixture`. */
const NORMALS = 6;
const LOSS = 1e-4;

/** The distribution of a cooler's own part over the scatters that are plausible: normal under an even source, skewed under an uneven one. */
function ownTerm(
  scatters: readonly { sigma: number; uneven: number; weight: number }[],
): SourceScatter['own'] {
  const skewed = standardLogNormal(SPREADING_LOG_SPREAD);
  const parts = scatters
    .filter(({ weight }) => weight > 1e-6)
    .flatMap(({ sigma, uneven, weight }) => [
      { weight: weight * (1 - uneven), mean: 0, deviation: sigma },
      ...Array.from(skewed.weight, (share, k) => ({
        weight: weight * uneven * share,
        mean: sigma * skewed.mean[k],
        deviation: sigma * skewed.deviation[k],
      })),
    ]);
  const { weight, mean, deviation } = reducedMixture(
    {
      weight: Float64Array.from(parts, (part) => part.weight),
      mean: Float64Array.from(parts, (part) => part.mean),
      deviation: Float64Array.from(parts, (part) => part.deviation),
    },
    NORMALS,
    LOSS,
  );
  return { weight: [...weight], mean: [...mean], deviation: [...deviation] };
}

/** Share of information from the runs below which the scatter is called assumed. */
const ASSUMED_SHARE = 0.35;
const NODES = 91;
const REACH = 3;

/**
 * The scatter's distribution given the residuals, on a grid in its logarithm: prior times the normal density of the residuals.
 *
 * A handful of coolers on a chip cannot settle a standard deviation, so that its whole distribution is used: what goes into
 * predictions is the mean of the variance, not that of the likeliest value.
 *
 * @param covarianceAt  covariance of the residuals at a scatter in K/W, n × n, a fresh array each time
 * @param even_K_per_W  middle of the prior under an even source
 * @param uneven_K_per_W  and under an uneven one
 * @param chance  of an uneven one
 */
export function sourceScatter(
  residual_K: Float64Array,
  covarianceAt: (scatter_K_per_W: number) => Float64Array,
  even_K_per_W: number,
  uneven_K_per_W: number,
  chance: number,
): SourceScatter {
  const n = residual_K.length;
  const from = Math.log(Math.min(even_K_per_W, uneven_K_per_W)) - REACH * SCATTER_LOG_SPREAD;
  const to = Math.log(Math.max(even_K_per_W, uneven_K_per_W)) + REACH * UNEVEN_LOG_SPREAD;
  const density = (logSigma: number, middle: number, spread: number) =>
    Math.exp(-0.5 * ((logSigma - Math.log(middle)) / spread) ** 2) / spread;
  const at = Array.from({ length: NODES }, (_, k) => {
    const logSigma = from + ((to - from) * k) / (NODES - 1);
    const sigma = Math.exp(logSigma);
    // Trapezoids: the ends of the grid count half.
    const step = k === 0 || k === NODES - 1 ? 0.5 : 1;
    const even = step * (1 - chance) * density(logSigma, even_K_per_W, SCATTER_LOG_SPREAD);
    const uneven = step * chance * density(logSigma, uneven_K_per_W, UNEVEN_LOG_SPREAD);
    const log = n > 0 ? logDensity(residual_K, covarianceAt(sigma)) : 0;
    return { sigma, before: even + uneven, uneven: uneven / (even + uneven), log };
  });
  const top = Math.max(...at.map(({ log }) => log));
  const weights = at.map(({ log, before }) => before * Math.exp(log - top));
  const total = weights.reduce((a, b) => a + b, 0);
  const mean = (f: (sigma: number) => number, of: readonly number[] = weights) =>
    at.reduce((sum, { sigma }, k) => sum + of[k] * f(sigma), 0) / of.reduce((a, b) => a + b, 0);
  const spread = (of: readonly number[]) => {
    const middle = mean(Math.log, of);
    return mean((sigma) => (Math.log(sigma) - middle) ** 2, of);
  };
  return {
    own: ownTerm(at.map(({ sigma, uneven }, k) => ({ sigma, uneven, weight: weights[k] / total }))),
    value: Math.sqrt(mean((sigma) => sigma * sigma)),
    low: quantile(at, weights, 0.025 * total),
    high: quantile(at, weights, 0.975 * total),
    assumed: 1 - spread(weights) / spread(at.map(({ before }) => before)) < ASSUMED_SHARE,
  };
}

/** Quantile of a distribution on a grid even in ln σ, between its points by the grid's ratio. */
function quantile(at: readonly { sigma: number }[], weights: readonly number[], target: number): number {
  let before = 0;
  for (let k = 0; k < at.length; k++) {
    const after = before + weights[k];
    if (after >= target) {
      const inside = weights[k] > 0 ? (target - before) / weights[k] - 0.5 : 0;
      return at[k].sigma * (at[1].sigma / at[0].sigma) ** inside;
    }
    before = after;
  }
  return at[at.length - 1].sigma;
}

/** Log density of a Gaussian at a residual, a constant apart; the covariance is overwritten by its factor. */
function logDensity(residual_K: Float64Array, covariance: Float64Array): number {
  const n = residual_K.length;
  if (!cholesky(covariance, n)) return Number.NEGATIVE_INFINITY;
  const white = residual_K.slice();
  solveLower(covariance, n, white);
  let sum = 0;
  for (let i = 0; i < n; i++) sum -= Math.log(covariance[i * n + i]) + 0.5 * white[i] * white[i];
  return sum;
}
