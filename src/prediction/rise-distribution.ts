import { sourceOf } from '../bench/source.ts';
import type { NormalMixture } from '../numerics/mixture.ts';
import type { ComponentFactor } from '../numerics/reml.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { speedIsOutside } from '../posterior/cooler-runs.ts';
import type { CurvePosterior } from '../posterior/curve-posterior.ts';
import { limitExcess } from '../posterior/pipe-limit.ts';
import { curveValues } from '../posterior/rise-curve.ts';
import { MOUNT, READING, SAMPLE, SESSION, SHAPE, shapeCorrelation } from '../posterior/scatter.ts';
import {
  addSessionSlopes,
  LEAK,
  PASTE,
  POWER_SCALE,
  sharedErrorSlopes,
} from '../posterior/shared-error-order.ts';

/**
 * What is known of one cooler's rise at one load and speed.
 *
 * `mean` is the distribution of the mean over samples and mounts given the shared errors; the shared errors come on top
 * through `meanSensitivity`. A fresh run adds `freshVariance_K2` and has sensitivities of its own.
 */
export interface RiseDistribution {
  readonly power_W: number;
  readonly mean: NormalMixture;
  /** Scatter of one reading of a fresh mount of a fresh sample about the mean, K². */
  readonly freshVariance_K2: number;
  /** Effective degrees of freedom of the mean's own variance and of a fresh run's. */
  readonly meanFreedom: number;
  readonly runFreedom: number;
  /** ∂ ln(variance of the mean)/∂ ln σ_k², the share of that variance which each scatter brings. */
  readonly scatterShares: Float64Array;
  /** Effect of each shared error on the predicted true rise, in the order of `shared-errors`. */
  readonly meanSensitivity: Float64Array;
  /** Effect of each shared error on the prediction of what the bench will read. */
  readonly runSensitivity: Float64Array;
  /** ∂rise/∂load, K/W, for turning an error in the load into one in the rise. */
  readonly slope_K_per_W: number;
  /** ∂rise/∂(relative speed), K. */
  readonly speedSlope_K: number;
  /** ∂rise/∂(series resistance), W. */
  readonly loading_W: number;
}

/** Share of the slope beyond a limit that is still to come for a curve whose own limit the runs have shown (an assumption). */
const SLOPE_LEFT = 0.4;

/**
 * Share of a limit node's excess that adds to a curve: one that has met its limit may meet it again, pipe by pipe, but has
 * part of the slope already.
 */
export function excessShare(curve: CurvePosterior): number {
  return curve.curve.model.limit === undefined ? 1 : SLOPE_LEFT;
}

/** Student's t with four degrees of freedom over the normal quantile at 95 %: the spread of coolers has long tails. */
const BORROWED_STRETCH = 2.776 / 1.96;

/** A model with less weight than this does not move any printed digit. */
export const LEAST_WEIGHT = 2e-3;

/** Fewest effective degrees of freedom: what is assumed rather than measured counts as eight. */
const LEAST_FREEDOM = 8;

/** What one curve contributes at one load. */
interface CurveAt {
  rise: number;
  variance: number;
  loading: number;
  base: number;
  slope: number;
  speedSlope: number;
  /** ∂variance/∂log σ_k². */
  varianceSlopes: Float64Array;
  mean: Float64Array;
  run: Float64Array;
}

/**
 * The rise of a cooler at several loads and one speed: an average over models and over where a heat-pipe limit may lie.
 *
 * For each model this is kriging about its fitted curve (Rasmussen and Williams 2006, 2.7): with C the covariance of the
 * parameters, k the covariance of the curve's departure here with that at the runs and h = g − JᵀV⁻¹k,
 * the value is f + kᵀV⁻¹r and the variance hᵀCh + k₀ − kᵀV⁻¹k. The value is linear in the runs, with weights
 * a = V⁻¹k + V⁻¹J·C·h: from them follow both how the variance answers to each scatter (aᵀV_k a, for the degrees of
 * freedom) and how the value answers to each error that the runs share (aᵀ·∂y/∂error).
 *
 * @param speed  fan speed over the cooler's greatest
 */
export function riseDistributions(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  power_W: readonly number[],
  speed: number,
): RiseDistribution[] {
  const used = cooler.curves
    .map((curve, index) => ({ curve, index, weight: cooler.weights[index] }))
    .filter(({ weight }) => weight > LEAST_WEIGHT);
  const total = used.reduce((sum, { weight }) => sum + weight, 0);
  const perModel = used.map(({ curve, index }) => curveAt(posterior, cooler, curve, index, power_W, speed));
  return power_W.map((power, l) =>
    combine(
      posterior,
      cooler,
      power,
      used.map(({ weight, curve }, m) => ({ weight: weight / total, curve, at: perModel[m][l] })),
    ),
  );
}

function curveAt(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  fitted: CurvePosterior,
  index: number,
  power_W: readonly number[],
  speed: number,
): CurveAt[] {
  const { data, factors, inverse, typical_K_per_W } = cooler;
  const { sigma } = posterior.scatter;
  const leak = sourceOf(posterior.bench, posterior.source).leak_W_per_K.value;
  const n = data.runs.length;
  const p = fitted.eta.length;
  const loads = power_W.length;
  const at = curveValues(loads, p);
  fitted.curve.evaluate(fitted.eta, operating(power_W, speed), leak, at);
  const nudged = curveValues(loads, p);
  fitted.curve.evaluate(fitted.eta, operating(power_W, speed * (1 + NUDGE)), leak, nudged);
  const shapeVariance = (sigma[SHAPE] * typical_K_per_W) ** 2;
  const slopes = sharedErrorSlopes(data, fitted, posterior.sessions, posterior.sessionEffects);
  const borrowed = cooler.borrowedShift[index];
  // How a cooler answers to a speed that it was not run at is the others' word: now and then it is the odd one.
  const borrowing = speedIsOutside(data, speed) === 0 ? 1 : BORROWED_STRETCH ** 2;
  const out: CurveAt[] = [];
  const k = new Float64Array(n);
  const u = new Float64Array(n);
  const h = new Float64Array(p);
  const ch = new Float64Array(p);
  for (let l = 0; l < loads; l++) {
    const loading = at.loading_W[l];
    let value = at.rise_K[l];
    let variance = shapeVariance * loading * loading;
    for (let i = 0; i < n; i++) {
      k[i] =
        shapeVariance *
        loading *
        data.base_W[i] *
        shapeCorrelation(Math.max(at.base_W[l], 1e-3), speed, data.base_W[i], data.speed[i]);
    }
    for (let i = 0; i < n; i++) {
      let sum = 0;
      for (let j = 0; j < n; j++) sum += inverse[i * n + j] * k[j];
      u[i] = sum;
      value += sum * fitted.residual_K[i];
      variance -= sum * k[i];
    }
    for (let j = 0; j < p; j++) {
      let sum = at.jacobian[l * p + j];
      for (let i = 0; i < n; i++) sum -= fitted.weightedJacobian[i * p + j] * k[i];
      h[j] = sum;
    }
    for (let j = 0; j < p; j++) {
      let sum = 0;
      for (let q = 0; q < p; q++) sum += fitted.covariance[j * p + q] * h[q];
      ch[j] = sum;
      variance += borrowing * sum * h[j];
    }
    const a = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      let sum = u[i];
      for (let j = 0; j < p; j++) sum += fitted.weightedJacobian[i * p + j] * ch[j];
      a[i] = sum;
    }
    const varianceSlopes = sigma.map((s, c) =>
      posterior.active[c] ? s * s * sumOfSquares(factors[c], a, n) : 0,
    );
    let cross = 0;
    for (let i = 0; i < n; i++) cross += a[i] * k[i];
    varianceSlopes[SHAPE] += shapeVariance * loading * loading - 2 * cross;
    const { mean, run } = sensitivities(posterior, a, slopes, h, borrowed, {
      power_W: power_W[l],
      slope: at.slope_K_per_W[l],
      leakSlope: at.leakSlope[l],
      loading,
    });
    out.push({
      rise: value,
      variance: Math.max(variance, 1e-12),
      loading,
      base: at.base_W[l],
      slope: at.slope_K_per_W[l],
      speedSlope: (nudged.rise_K[l] - at.rise_K[l]) / (speed * NUDGE),
      varianceSlopes: Float64Array.from(varianceSlopes),
      mean,
      run,
    });
  }
  return out;
}

const NUDGE = 1e-4;

function operating(power_W: readonly number[], speed: number) {
  return {
    power_W: Float64Array.from(power_W),
    speed: new Float64Array(power_W.length).fill(speed),
  };
}

/**
 * What each shared error does to the predicted true rise and to the prediction of a reading: through the runs (aᵀ·∂y/∂error), by
 * way of the other coolers (hᵀ·borrowed shift), and directly.
 */
function sensitivities(
  posterior: BenchPosterior,
  a: Float64Array,
  slopes: Float64Array,
  h: Float64Array,
  borrowed: Float64Array,
  here: { power_W: number; slope: number; leakSlope: number; loading: number },
): { mean: Float64Array; run: Float64Array } {
  const size = slopes.length / a.length;
  const mean = new Float64Array(size);
  for (let i = 0; i < a.length; i++) {
    for (let e = 0; e < size; e++) mean[e] += a[i] * slopes[i * size + e];
  }
  for (let j = 0; j < h.length; j++) {
    for (let e = 0; e < size; e++) mean[e] += h[j] * borrowed[j * size + e];
  }
  mean[LEAK] -= here.leakSlope;
  const run = mean.slice();
  run[POWER_SCALE] -= here.power_W * here.slope;
  run[PASTE] -= here.loading;
  // The present session is the last that the runs name.
  addSessionSlopes(run, posterior.sessions.length - 1, here.loading, -1, posterior.sessionEffects);
  return { mean, run };
}

/** aᵀ·Z·Zᵀ·a. */
function sumOfSquares({ z, columns }: ComponentFactor, a: Float64Array, n: number): number {
  let sum = 0;
  for (let c = 0; c < columns; c++) {
    let projected = 0;
    for (let i = 0; i < n; i++) projected += z[i * columns + c] * a[i];
    sum += projected * projected;
  }
  return sum;
}

/** Averages the models and spreads each over the limit nodes where those make a difference. */
function combine(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  power_W: number,
  parts: readonly { weight: number; curve: CurvePosterior; at: CurveAt }[],
): RiseDistribution {
  const { sigma, logVarianceCovariance } = posterior.scatter;
  const size = parts[0].at.mean.length;
  const meanSensitivity = new Float64Array(size);
  const runSensitivity = new Float64Array(size);
  const slopes = new Float64Array(sigma.length);
  let loading = 0;
  let slope = 0;
  let speedSlope = 0;
  let variance = 0;
  const weight: number[] = [];
  const mean: number[] = [];
  const deviation: number[] = [];
  for (const { weight: w, curve, at } of parts) {
    for (let k = 0; k < size; k++) {
      meanSensitivity[k] += w * at.mean[k];
      runSensitivity[k] += w * at.run[k];
    }
    for (let k = 0; k < slopes.length; k++) slopes[k] += w * at.varianceSlopes[k];
    loading += w * at.loading;
    slope += w * at.slope;
    speedSlope += w * at.speedSlope;
    variance += w * at.variance;
    const nodes = cooler.limits;
    const share = excessShare(curve);
    const excess = nodes.map((node) => share * limitExcess(node, at.base));
    if (nodes.length > 0 && Math.max(...excess) > 1e-3) {
      nodes.forEach((node, k) => {
        weight.push(w * node.weight);
        mean.push(at.rise + excess[k]);
        deviation.push(Math.sqrt(at.variance));
      });
    } else {
      weight.push(w);
      mean.push(at.rise);
      deviation.push(Math.sqrt(at.variance));
    }
  }
  const fresh = Float64Array.from(sigma, () => 0);
  fresh[SAMPLE] = (sigma[SAMPLE] * loading) ** 2;
  fresh[MOUNT] = (sigma[MOUNT] * loading) ** 2;
  fresh[READING] = sigma[READING] ** 2;
  if (posterior.active[SESSION]) fresh[SESSION] = 0;
  const freshVariance_K2 = fresh.reduce((a, b) => a + b, 0);
  return {
    power_W,
    mean: {
      weight: Float64Array.from(weight),
      mean: Float64Array.from(mean),
      deviation: Float64Array.from(deviation),
    },
    freshVariance_K2,
    meanFreedom: satterthwaite(variance, slopes, logVarianceCovariance),
    runFreedom: satterthwaite(
      variance + freshVariance_K2,
      slopes.map((s, k) => s + fresh[k]),
      logVarianceCovariance,
    ),
    scatterShares: slopes.map((s) => s / variance),
    meanSensitivity,
    runSensitivity,
    slope_K_per_W: slope,
    speedSlope_K: speedSlope,
    loading_W: loading,
  };
}

/**
 * Effective degrees of freedom of a variance built from estimated scatters: 2·V²/Var(V), with Var(V) by the delta method.
 *
 * Source: Satterthwaite (1946) Biometrics Bulletin 2, 110; JCGM 100:2008 G.4.
 *
 * @param slopes  ∂V/∂log σ_k²
 * @param covariance  covariance of log σ_k², row-major
 */
export function satterthwaite(variance: number, slopes: Float64Array, covariance: Float64Array): number {
  const count = slopes.length;
  let spread = 0;
  for (let k = 0; k < count; k++) {
    for (let l = 0; l < count; l++) spread += slopes[k] * covariance[k * count + l] * slopes[l];
  }
  return spread > 0 ? heldFreedom((2 * variance * variance) / spread) : Number.POSITIVE_INFINITY;
}

/** Degrees of freedom that limits are taken with. */
export function heldFreedom(freedom: number): number {
  return Math.max(freedom, LEAST_FREEDOM);
}
