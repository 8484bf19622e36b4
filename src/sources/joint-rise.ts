import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import type { CurvePosterior } from '../posterior/curve-posterior.ts';
import { limitExcess } from '../posterior/pipe-limit.ts';
import { curveValues } from '../posterior/rise-curve.ts';
import { SAMPLE, SHAPE, shapeCorrelation } from '../posterior/scatter.ts';
import { sharedErrorCount, sharedErrorSlopes } from '../posterior/shared-error-order.ts';
import { excessShare, LEAST_WEIGHT } from '../prediction/rise-distribution.ts';

/** Where a cooler's curve is asked for: at a heat into its base, for one specimen or for the mean over specimens. */
export interface HeatPoint {
  readonly base_W: number;
  /** Fan speed over the cooler's greatest. */
  readonly speed: number;
  /** A specimen that has heater runs; absent: the mean over the population. */
  readonly sample?: string;
}

/** What a cooler's runs say of its rise at several points together. T points, S shared errors; matrices row-major. */
export interface JointRise {
  readonly rise_K: Float64Array;
  /** Covariance of the true rises about `rise_K`, shared errors apart, T × T. */
  readonly covariance: Float64Array;
  /** ∂rise/∂(heat into the base), K/W. */
  readonly slope_K_per_W: Float64Array;
  /** Prediction less truth per unit of each shared error of the heater bench, T × S, at a given heat into the base. */
  readonly sensitivity: Float64Array;
}

/**
 * The rise at several heats into the base together, with how their errors hang together: an average over models and over
 * where a heat-pipe limit may lie.
 *
 * Runs of one cooler on a chip are judged beside what its heater runs predict for the same heats. Those predictions err
 * together: where the curve is too high at 100 W it is too high at 150 W. So one covariance is needed over all points, and
 * one over a specimen that was run on both sources, whose own resistance the heater runs have partly shown. Kriging as in
 * `riseDistributions`, for many points: with K the covariance of their departures with those of the runs,
 * H = Jₓ − KᵀV⁻¹J, the covariance is H·C·Hᵀ + K₀ − KᵀV⁻¹K.
 */
export function jointRise(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  points: readonly HeatPoint[],
): JointRise {
  const count = points.length;
  const shared = sharedErrorCount(posterior.sessions);
  const used = cooler.curves
    .map((curve, index) => ({ curve, index, weight: cooler.weights[index] }))
    .filter(({ weight }) => weight > LEAST_WEIGHT);
  const total = used.reduce((sum, { weight }) => sum + weight, 0);
  const rise_K = new Float64Array(count);
  const slope_K_per_W = new Float64Array(count);
  const covariance = new Float64Array(count * count);
  const sensitivity = new Float64Array(count * shared);
  const parts: { weight: number; value: Float64Array }[] = [];
  for (const { curve, index, weight: raw } of used) {
    const weight = raw / total;
    const one = oneModel(posterior, cooler, curve, index, points, shared);
    for (let k = 0; k < covariance.length; k++) covariance[k] += weight * one.covariance[k];
    for (let k = 0; k < sensitivity.length; k++) sensitivity[k] += weight * one.sensitivity[k];
    const share = excessShare(curve);
    const own = cooler.limits.length > 0 ? cooler.limits : [undefined];
    for (const node of own) {
      const w = weight * (node?.weight ?? 1);
      const value = one.value.slice();
      points.forEach(({ base_W }, t) => {
        if (node) value[t] += share * limitExcess(node, base_W);
        rise_K[t] += w * value[t];
      });
      parts.push({ weight: w, value });
    }
    for (let t = 0; t < count; t++) slope_K_per_W[t] += weight * one.slope[t];
  }
  for (const { weight, value } of parts) {
    for (let s = 0; s < count; s++) {
      const apart = weight * (value[s] - rise_K[s]);
      for (let t = 0; t < count; t++) covariance[s * count + t] += apart * (value[t] - rise_K[t]);
    }
  }
  return { rise_K, covariance, slope_K_per_W, sensitivity };
}

/** The mean curve alone: rise at heats into the base, without its uncertainty. */
export function meanRise(cooler: CoolerPosterior, points: readonly HeatPoint[]): Float64Array {
  const out = new Float64Array(points.length);
  const total = cooler.weights.reduce((sum, w) => sum + (w > LEAST_WEIGHT ? w : 0), 0);
  cooler.curves.forEach((fitted, m) => {
    if (!(cooler.weights[m] > LEAST_WEIGHT)) return;
    const at = evaluate(fitted, points);
    const share = excessShare(fitted);
    points.forEach(({ base_W }, t) => {
      const excess = cooler.limits.reduce((sum, node) => sum + node.weight * limitExcess(node, base_W), 0);
      out[t] += (cooler.weights[m] / total) * (at.rise_K[t] + share * excess);
    });
  });
  return out;
}

function evaluate(fitted: CurvePosterior, points: readonly HeatPoint[]) {
  const at = curveValues(points.length, fitted.eta.length);
  const operating = {
    power_W: Float64Array.from(points, (point) => point.base_W),
    speed: Float64Array.from(points, (point) => point.speed),
  };
  // The load is the heat into the base already: nothing leaks on the way.
  fitted.curve.evaluate(fitted.eta, operating, 0, at);
  return at;
}

function oneModel(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  fitted: CurvePosterior,
  index: number,
  points: readonly HeatPoint[],
  shared: number,
): { value: Float64Array; slope: Float64Array; covariance: Float64Array; sensitivity: Float64Array } {
  const { data, inverse, typical_K_per_W } = cooler;
  const { sigma } = posterior.scatter;
  const n = data.runs.length;
  const p = fitted.eta.length;
  const count = points.length;
  const at = evaluate(fitted, points);
  const shapeVariance = (sigma[SHAPE] * typical_K_per_W) ** 2;
  const sampleVariance = sigma[SAMPLE] ** 2;
  const k = new Float64Array(n * count);
  const u = new Float64Array(n * count);
  const h = new Float64Array(count * p);
  points.forEach(({ base_W, speed, sample }, t) => {
    for (let i = 0; i < n; i++) {
      const alike = shapeCorrelation(base_W, speed, data.base_W[i], data.speed[i]);
      const same = sample !== undefined && data.runs[i].sample === sample ? sampleVariance : 0;
      k[i * count + t] = (shapeVariance * alike + same) * base_W * data.base_W[i];
    }
  });
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      const v = inverse[i * n + j];
      for (let t = 0; t < count; t++) u[i * count + t] += v * k[j * count + t];
    }
  }
  const value = at.rise_K.slice();
  for (let t = 0; t < count; t++) {
    for (let i = 0; i < n; i++) value[t] += u[i * count + t] * fitted.residual_K[i];
    for (let j = 0; j < p; j++) {
      let sum = at.jacobian[t * p + j];
      for (let i = 0; i < n; i++) sum -= fitted.weightedJacobian[i * p + j] * k[i * count + t];
      h[t * p + j] = sum;
    }
  }
  const ch = new Float64Array(count * p);
  for (let t = 0; t < count; t++) {
    for (let j = 0; j < p; j++) {
      let sum = 0;
      for (let q = 0; q < p; q++) sum += fitted.covariance[j * p + q] * h[t * p + q];
      ch[t * p + j] = sum;
    }
  }
  const covariance = new Float64Array(count * count);
  for (let s = 0; s < count; s++) {
    const a = points[s];
    for (let t = 0; t <= s; t++) {
      const b = points[t];
      const same = a.sample !== undefined && a.sample === b.sample ? sampleVariance : 0;
      const alike = shapeCorrelation(a.base_W, a.speed, b.base_W, b.speed);
      let sum = (shapeVariance * alike + same) * a.base_W * b.base_W;
      for (let i = 0; i < n; i++) sum -= k[i * count + s] * u[i * count + t];
      for (let j = 0; j < p; j++) sum += h[s * p + j] * ch[t * p + j];
      covariance[s * count + t] = sum;
      covariance[t * count + s] = sum;
    }
  }
  const sensitivity = new Float64Array(count * shared);
  const slopes = sharedErrorSlopes(data, fitted, posterior.sessions, posterior.sessionEffects);
  const borrowed = cooler.borrowedShift[index];
  for (let t = 0; t < count; t++) {
    const row = t * shared;
    for (let i = 0; i < n; i++) {
      let a = u[i * count + t];
      for (let j = 0; j < p; j++) a += fitted.weightedJacobian[i * p + j] * ch[t * p + j];
      for (let e = 0; e < shared; e++) sensitivity[row + e] += a * slopes[i * shared + e];
    }
    for (let j = 0; j < p; j++) {
      for (let e = 0; e < shared; e++) sensitivity[row + e] += h[t * p + j] * borrowed[j * shared + e];
    }
  }
  return { value, slope: at.slope_K_per_W, covariance, sensitivity };
}
