import { cholesky, solveLower } from '../numerics/matrix.ts';

/** How much a source's term differs from cooler to cooler. */
export interface SourceScatter {
  /** Root of the mean square over what is still plausible, K/W. */
  readonly value: number;
  readonly low: number;
  readonly high: number;
  /** True where the runs say little and common practice stands. */
  readonly assumed: boolean;
}

/**
 * Before any run: log-normal, a factor of 1.8 either way, about 3 % of the term up to 0.1 K/W and 8 % of what is beyond, but no
 * less than 2 mK/W (common practice, no source). A term of that size under a lid is mostly the chip's own joint, the same under
 * every cooler; the large term of a bare small die is mostly paste, which differs by a sixth from cooler to cooler.
 */
const JOINT_SHARE = 0.03;
const PASTE_SHARE = 0.08;
const JOINT_K_PER_W = 0.1;
const LEAST_K_PER_W = 0.002;
const SCATTER_LOG_SPREAD = 0.6;

/** The middle of what is expected of the scatter for a term of this size, K/W. */
export function likelyScatter(term_K_per_W: number): number {
  const size = Math.abs(term_K_per_W);
  const likely =
    JOINT_SHARE * Math.min(size, JOINT_K_PER_W) + PASTE_SHARE * Math.max(size - JOINT_K_PER_W, 0);
  return Math.max(LEAST_K_PER_W, likely);
}

/** Share of information from the runs below which the scatter is called assumed. */
const ASSUMED_SHARE = 0.35;
const NODES = 61;
const REACH = 3;

/**
 * The scatter's distribution given the residuals, on a grid in its logarithm: prior times the normal density of the residuals.
 *
 * A handful of coolers on a chip cannot settle a standard deviation, so that its whole distribution is used: what goes into
 * predictions is the mean of the variance, not that of the likeliest value.
 *
 * @param covarianceAt  covariance of the residuals at a scatter in K/W, n × n, a fresh array each time
 * @param likely_K_per_W  middle of the prior
 */
export function sourceScatter(
  residual_K: Float64Array,
  covarianceAt: (scatter_K_per_W: number) => Float64Array,
  likely_K_per_W: number,
): SourceScatter {
  const n = residual_K.length;
  const at: { sigma: number; log: number }[] = [];
  for (let k = 0; k < NODES; k++) {
    const z = REACH * ((2 * k) / (NODES - 1) - 1);
    const sigma = likely_K_per_W * Math.exp(SCATTER_LOG_SPREAD * z);
    at.push({ sigma, log: -0.5 * z * z + (n > 0 ? logDensity(residual_K, covarianceAt(sigma)) : 0) });
  }
  const top = Math.max(...at.map(({ log }) => log));
  // Trapezoids: the ends of the grid count half.
  const weights = at.map(({ log }, k) => (k === 0 || k === NODES - 1 ? 0.5 : 1) * Math.exp(log - top));
  const total = weights.reduce((a, b) => a + b, 0);
  const mean = (f: (sigma: number) => number) =>
    at.reduce((sum, { sigma }, k) => sum + (weights[k] / total) * f(sigma), 0);
  const middle = mean(Math.log);
  const variance = mean((sigma) => (Math.log(sigma) - middle) ** 2);
  return {
    value: Math.sqrt(mean((sigma) => sigma * sigma)),
    low: quantile(at, weights, 0.025 * total),
    high: quantile(at, weights, 0.975 * total),
    assumed: 1 - variance / SCATTER_LOG_SPREAD ** 2 < ASSUMED_SHARE,
  };
}

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

function logDensity(residual_K: Float64Array, covariance: Float64Array): number {
  const n = residual_K.length;
  if (!cholesky(covariance, n)) return Number.NEGATIVE_INFINITY;
  const white = residual_K.slice();
  solveLower(covariance, n, white);
  let sum = 0;
  for (let i = 0; i < n; i++) sum -= Math.log(covariance[i * n + i]) + 0.5 * white[i] * white[i];
  return sum;
}
