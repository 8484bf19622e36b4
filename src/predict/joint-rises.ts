import { isSame } from '../bench/run.ts';
import { sourceOf } from '../bench/source.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { COMPONENTS, MOUNT, READING, SAMPLE, SHAPE, SPEED } from '../fit/components.ts';
import { speedIsOutside } from '../fit/cooler-runs.ts';
import type { CurvePosterior } from '../fit/curve-posterior.ts';
import {
  departureBetween,
  growthAt,
  type LogarithmicPoint,
  logarithmsOf,
  startCovariance,
} from '../fit/departure.ts';
import { limitExcess, limitPrior } from '../fit/pipe-limit.ts';
import { type CurveValues, copyPoint, curveValues, type Operating } from '../fit/rise-curve.ts';
import { sharedErrorCount, sharedErrorSlopes } from '../fit/shared-error-order.ts';
import { smallest } from '../numerics/extremes.ts';
import { addProduct, addScaled, diagonalMatrix, product, transpose } from '../numerics/matrix.ts';
import { factorForm } from '../numerics/split-covariance.ts';
import type { RisePoint } from './rise-point.ts';

export interface JointRisesOptions {
  /**
   * `mean` costs a product with the residuals a point, `variance` one with V⁻¹ besides, `errors` also what shared errors and scatters
   * do, `covariance` all pairs of points too; absent: `errors`.
   */
  readonly want?: 'mean' | 'variance' | 'errors' | 'covariance';
  /** `none`: before any run, linearised about the fitted curve, for whoever conditions on runs of their own choice. */
  readonly given?: 'runs' | 'none';
}

/**
 * The rises of one cooler at T points under one formula: a Gaussian given the shared errors. Matrices are row-major.
 */
export interface FormulaRises {
  /** Weight of the formula; those of a cooler add to 1. */
  readonly weight: number;
  readonly fitted: CurvePosterior;
  /** The curve itself at the points: loading, slopes, heat into the base. */
  readonly at: CurveValues;
  /** T, limits of heat pipes that no run has shown apart. */
  readonly mean: Float64Array;
  /** T. */
  readonly variance: Float64Array;
  /** T × T where it was asked for, else empty; so the rest. */
  readonly covariance: Float64Array;
  /** What each shared error does to the estimate by way of the runs, T × shared errors. */
  readonly sensitivity: Float64Array;
  /** Part of the variance that the stated uncertainties of steady values bring, T. */
  readonly knownVariance: Float64Array;
  /** ∂variance/∂ln σ_k² of Σ contrast_t·(rise − estimate)_t, one a scatter; a contrast names points and their factors. */
  readonly scatterResponse: (contrast: readonly (readonly [point: number, factor: number])[]) => Float64Array;
}

/** A formula with less weight than this does not move any printed digit. */
export const LEAST_WEIGHT = 2e-3;

/** Student's t with four degrees of freedom over the normal quantile at 95 %: the spread of coolers has long tails (four degrees are an assumption). */
const BORROWED_STRETCH = 2.776 / 1.96;

/** Heats below this have no logarithm worth correlating, W. */
export const LEAST_HEAT_W = 1e-3;

/** Whether a cooler was run at a speed. */
export function isSpeedRun(cooler: CoolerPosterior, speed: number): boolean {
  const { speed: run } = (cooler.fittedIn?.cooler ?? cooler).data;
  return run.some((own) => isSame(own, speed));
}

/**
 * The formulas of a cooler that count, their weights adding to 1.
 *
 * @param points  where they are to answer: at a speed that was not run, only formulas that know the speed have anything to say
 */
export function formulasThatCount(
  cooler: CoolerPosterior,
  points: readonly Pick<RisePoint, 'speed'>[] = [],
): { readonly fitted: CurvePosterior; readonly index: number; readonly weight: number }[] {
  const all = cooler.curves.map((fitted, index) => ({ fitted, index, weight: cooler.weights[index] }));
  const isBeyond = points.some(({ speed }) => !isSpeedRun(cooler, speed));
  const knowing = all.filter(({ fitted }) => fitted.curve.model.inputs.includes('n'));
  const asked = isBeyond && knowing.some(({ weight }) => weight > 0) ? knowing : all;
  const whole = asked.reduce((sum, { weight }) => sum + weight, 0);
  const used = asked.filter(({ weight }) => weight > LEAST_WEIGHT * whole);
  const total = used.reduce((sum, { weight }) => sum + weight, 0);
  return used.map((one) => ({ ...one, weight: one.weight / total }));
}

/**
 * The joint distribution of a cooler's rises at any points, one Gaussian a formula. Every answer about rises is made of
 * this: a prediction is its diagonal, a difference of two points a contrast of it, a run left out or yet to come a point of it.
 *
 * For each formula it is kriging about the fitted curve (Rasmussen and Williams 2006, 2.7). The true rise is f(η) + d, with η the
 * parameters, normal about the mode with covariance C, and d what specimens, fittings and the departure of the
 * cooler from the formula add: a Gaussian process in load and speed with covariance K between points. With J the runs'
 * Jacobian, Jₓ the points', V the runs' covariance, r their residuals, k = K(runs, points) and H = Jₓ − kᵀV⁻¹J:
 *
 *   mean        f(x) + kᵀV⁻¹r
 *   covariance  K₀ − kᵀV⁻¹k + H·C·Hᵀ
 *
 * The mean is linear in the runs with weights A = V⁻¹k + V⁻¹J·C·Hᵀ. From these follow how the estimate answers to the errors
 * that all runs share (Aᵀ·∂y/∂error, and H·∂η/∂error for what comes by way of the other coolers' prior) and how the variance
 * of a contrast w of the points answers to a scatter with covariance V_k (σ_k²·(aᵀV_k a − 2aᵀV_k w + wᵀV_k w), a = A·w).
 *
 * A speed that the cooler was not run at is borrowed from the others, of which one is now and then the odd one, so there H
 * is stretched. On a chip the curve has the term in series and loses what the chip leaks; its heater's runs, in `fittedIn`, are
 * the runs of it. Before any run C is the prior's covariance, H is Jₓ, and there is no k.
 *
 * @param points  T; loads above 0 W
 * @returns the formulas that count, in the cooler's order
 */
export function jointRises(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  points: readonly RisePoint[],
  options: JointRisesOptions = {},
): FormulaRises[] {
  const { fittedIn } = cooler;
  return formulasThatCount(cooler, points).map(({ fitted, index, weight }) => {
    const at = curveAt(posterior, cooler, fitted, points);
    return {
      ...risesUnder(fittedIn?.posterior ?? posterior, fittedIn?.cooler ?? cooler, index, points, at, options),
      weight,
    };
  });
}

/** Points as columns for a curve; an input that a point lacks is 1. */
function operatingAt(points: readonly RisePoint[]): Operating {
  const names = new Set(points.flatMap(({ more }) => (more ? Object.keys(more) : [])));
  return {
    power_W: Float64Array.from(points, (point) => point.power_W),
    speed: Float64Array.from(points, (point) => point.speed),
    more: new Map(
      [...names].map((name) => [name, Float64Array.from(points, ({ more }) => more?.[name] ?? 1)]),
    ),
  };
}

/** Whether a cooler is answered for on a chip by its heater's curves and the chip's term. */
export function byHeaterCurves({ term, source }: BenchPosterior, { fittedIn }: CoolerPosterior): boolean {
  return term !== undefined && fittedIn?.posterior.source !== source;
}

/** The curve of one formula at some points, on the source that the posterior answers for. */
export function curveAt(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  { curve, eta }: CurvePosterior,
  points: readonly RisePoint[],
): CurveValues {
  const { bench, source, term } = posterior;
  const series = term && byHeaterCurves(posterior, cooler) ? term.prior.value_K_per_W(cooler.data.cooler) : 0;
  const on = (where: string, series_K_per_W: number): CurveValues => {
    const at = curveValues(points.length, eta.length);
    const leak = sourceOf(bench, where).leak_W_per_K.value;
    curve.evaluate(eta, operatingAt(points), leak, at, series_K_per_W);
    return at;
  };
  const at = on(source, series);
  if (!points.some(({ onHeater }) => onHeater)) return at;
  const heater = on('heater', 0);
  points.forEach(({ onHeater }, t) => {
    if (onHeater) copyPoint(heater, at, t);
  });
  return at;
}

/** What decides how two rises hang together beside the formula. */
interface Place {
  readonly logarithms: LogarithmicPoint;
  /** ∂rise/∂(series resistance), W. */
  readonly loading_W: number;
  /** Resistance at its speed over the typical one. */
  readonly grown: number;
  readonly sample: string | undefined;
  readonly mount: string | null | undefined;
}

/** Scatters that two places may share; readings are each their own. */
const IN_COMMON = [SAMPLE, MOUNT, SHAPE, SPEED] as const;

/** The departure from the formula belongs to the cooler, whatever the specimen. */
const isDeparture = (component: number): boolean => component === SHAPE || component === SPEED;

/** Share of a scatter's variance per K/W of loading squared that two places have in common. */
function commonShare(component: number, a: Place, b: Place, cooler: CoolerPosterior): number {
  if (isDeparture(component)) {
    const scale = cooler.typical_K_per_W * (component === SHAPE ? cooler.shapeScale : 1);
    const grown = component === SPEED ? a.grown * b.grown : 1;
    return scale ** 2 * grown * departureBetween(component, a.logarithms, b.logarithms);
  }
  if (a.sample === undefined || a.sample !== b.sample) return 0;
  if (component === SAMPLE) return 1;
  if (a.mount === undefined || a.mount !== b.mount) return 0;
  // Fittings that nobody noted may be one or several: half of the variance is taken as common.
  return a.mount === null && a !== b ? 0.5 : 1;
}

/** The points of a cooler beside its runs under one formula: what they have in common, matrices row-major. */
interface Setting {
  readonly cooler: CoolerPosterior;
  readonly fitted: CurvePosterior;
  readonly points: readonly RisePoint[];
  readonly at: CurveValues;
  readonly places: readonly Place[];
  /** Runs that are taken as known. */
  readonly n: number;
  readonly sigma2: readonly number[];
  /** What points and runs have in common of each scatter, for σ = 1, T × n. */
  readonly withRuns: ReadonlyMap<number, Float64Array>;
  /** Covariance of points and runs, T × n. */
  readonly k: Float64Array;
}

/** What points and runs have in common, worked out once for all that is asked of them. */
function settingOf(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  fitted: CurvePosterior,
  points: readonly RisePoint[],
  at: CurveValues,
  n: number,
): Setting {
  const { data } = cooler;
  const count = points.length;
  const sigma2 = posterior.scatter.sigma.map((s, k) => (posterior.active[k] ? s * s : 0));
  const pumps = data.more.get('q');
  const runs = Array.from({ length: n }, (_, i): Place => {
    const { sample, mount = null } = data.runs[i];
    const base_W = data.base_W[i];
    const logarithms = logarithmsOf({ base_W, speed: data.speed[i], pump: pumps?.[i] });
    return { logarithms, loading_W: base_W, grown: growthAt(logarithms, data), sample, mount };
  });
  const places = points.map(({ speed, more, sample, mount }, t): Place => {
    const base_W = Math.max(at.base_W[t], LEAST_HEAT_W);
    const logarithms = logarithmsOf({ base_W, speed, pump: more?.q });
    return { logarithms, loading_W: at.loading_W[t], grown: growthAt(logarithms, data), sample, mount };
  });
  // Worked out once, since every answer asks for it twice.
  const isMounted = places.some(({ sample }) => sample !== undefined);
  const withRuns = new Map(
    IN_COMMON.filter((c) => sigma2[c] > 0 && (isMounted || isDeparture(c))).map((c) => {
      const one = new Float64Array(count * n);
      places.forEach((here, t) => {
        for (let i = 0; i < n; i++) {
          one[t * n + i] = commonShare(c, here, runs[i], cooler) * here.loading_W * runs[i].loading_W;
        }
      });
      return [c as number, one] as const;
    }),
  );
  const k = new Float64Array(count * n);
  for (const [c, one] of withRuns) addScaled(k, one, sigma2[c]);
  return { cooler, fitted, points, at, places, n, sigma2, withRuns, k };
}

/** Prior covariance of the rises at two points, K². */
function commonOf({ cooler, sigma2 }: Setting, least_W: number | undefined): (a: Place, b: Place) => number {
  const { typical_K_per_W } = cooler;
  return (a, b) => {
    let share =
      sigma2[SHAPE] * commonShare(SHAPE, a, b, cooler) + sigma2[SPEED] * commonShare(SPEED, a, b, cooler);
    if (a.sample !== undefined && a.sample === b.sample) {
      share += sigma2[SAMPLE] + sigma2[MOUNT] * commonShare(MOUNT, a, b, cooler);
    }
    if (least_W !== undefined) {
      share += typical_K_per_W ** 2 * startCovariance(a.logarithms, b.logarithms, least_W);
    }
    return share * a.loading_W * b.loading_W;
  };
}

/** f(x) + kᵀV⁻¹r; before any run, the curve at the prior's mean. */
function meanOf({ fitted, points, at, n, k }: Setting, isBefore: boolean): Float64Array {
  const p = fitted.eta.length;
  const mean = at.rise_K.slice();
  for (let t = 0; t < points.length; t++) {
    for (let i = 0; i < n; i++) mean[t] += k[t * n + i] * fitted.weightedResidual[i];
    if (!isBefore) continue;
    for (let j = 0; j < p; j++) {
      if (!isHeld(fitted, j)) mean[t] += at.jacobian[t * p + j] * (fitted.prior.mean[j] - fitted.eta[j]);
    }
  }
  return mean;
}

/** What the estimate takes from the runs: u = kᵀV⁻¹, T × n; H and H·C, T × p. */
interface Gain {
  readonly u: Float64Array;
  readonly h: Float64Array;
  readonly ch: Float64Array;
}

/** The gains of {@link jointRises}: u = kᵀV⁻¹, H, and H times the covariance of the parameters. */
function gainOf({ cooler, fitted, points, at, n, k }: Setting, isBefore: boolean): Gain {
  const [count, p] = [points.length, fitted.eta.length];
  const u =
    n > 0 ? transpose(cooler.covariance.solve(transpose(k, count, n), count), n, count) : new Float64Array(0);
  const h = addProduct(at.jacobian.slice(), k, fitted.weightedJacobian, count, n, p, -1);
  const prior = isBefore ? fitted.prior.deviation.map((s, j) => (isHeld(fitted, j) ? 0 : s * s)) : undefined;
  const ch = product(h, prior ? diagonalMatrix(p, prior) : fitted.covariance, count, p, p);
  return { u, h, ch };
}

/** Covariances of the rises, K₀ − kᵀV⁻¹k + H·C·Hᵀ: those of each point with itself, and, where they are wanted, of all pairs. */
function spreadOf(
  setting: Setting,
  { u, h, ch }: Gain,
  isBefore: boolean,
  areAllWanted: boolean,
): Pick<FormulaRises, 'variance' | 'covariance'> {
  const { cooler, fitted, points, places, n, sigma2, k } = setting;
  const { data } = cooler;
  const [count, p] = [points.length, fitted.eta.length];
  const hasPipes = limitPrior(data.cooler) !== undefined;
  const common = commonOf(setting, hasPipes ? smallest(data.base_W) : undefined);
  const stretch = points.map(({ speed }) =>
    isBefore || speedIsOutside(data, speed) === 0 ? 1 : BORROWED_STRETCH,
  );
  const between = (s: number, t: number): number => {
    let sum = common(places[s], places[t]);
    for (let i = 0; i < n; i++) sum -= k[s * n + i] * u[t * n + i];
    let ofCurve = 0;
    for (let j = 0; j < p; j++) ofCurve += h[s * p + j] * ch[t * p + j];
    return sum + stretch[s] * stretch[t] * ofCurve;
  };
  const variance = Float64Array.from(points, ({ reading_u_K }, t) => {
    const own = reading_u_K === undefined ? 0 : sigma2[READING] + reading_u_K ** 2;
    return Math.max(between(t, t) + own, 1e-12);
  });
  const covariance = new Float64Array(areAllWanted ? count * count : 0);
  for (let s = 0; s < covariance.length / count; s++) {
    for (let t = 0; t < s; t++) {
      covariance[s * count + t] = between(s, t);
      covariance[t * count + s] = covariance[s * count + t];
    }
    covariance[s * count + s] = variance[s];
  }
  return { variance, covariance };
}

/** How the variance of a contrast answers to the scatters; `a` are the weights of the runs in the mean, T × n. */
function responseOf(
  { cooler, points, places, n, sigma2, withRuns }: Setting,
  a: Float64Array,
): FormulaRises['scatterResponse'] {
  return (contrast) => {
    const weights = new Float64Array(n);
    for (const [t, w] of contrast) for (let i = 0; i < n; i++) weights[i] += w * a[t * n + i];
    const out = Float64Array.from(COMPONENTS, (_, c) =>
      sigma2[c] > 0 && n > 0 ? sigma2[c] * factorForm(cooler.factors[c], weights) : 0,
    );
    for (const [c, one] of withRuns) {
      let sum = 0;
      for (const [t, w] of contrast) {
        const here = places[t];
        for (let i = 0; i < n; i++) sum -= 2 * w * weights[i] * one[t * n + i];
        for (const [s, v] of contrast) {
          const share = commonShare(c, here, places[s], cooler);
          if (share !== 0) sum += w * v * share * here.loading_W * places[s].loading_W;
        }
      }
      out[c] += sigma2[c] * sum;
    }
    for (const [t, w] of contrast) {
      if (points[t].reading_u_K !== undefined) out[READING] += sigma2[READING] * w * w;
    }
    return out;
  };
}

const EMPTY = new Float64Array(0);
const NOT_WANTED = {
  variance: EMPTY,
  covariance: EMPTY,
  sensitivity: EMPTY,
  knownVariance: EMPTY,
  scatterResponse: () => EMPTY,
};

/** The rises under one formula; the mathematics is told at {@link jointRises}. */
function risesUnder(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  index: number,
  points: readonly RisePoint[],
  at: CurveValues,
  { want = 'errors', given = 'runs' }: JointRisesOptions,
): Omit<FormulaRises, 'weight'> {
  const fitted = cooler.curves[index];
  const { data } = cooler;
  const isBefore = given === 'none';
  const n = isBefore ? 0 : data.runs.length;
  const [count, p] = [points.length, fitted.eta.length];
  const setting = settingOf(posterior, cooler, fitted, points, at, n);
  const told = { ...NOT_WANTED, fitted, at, mean: meanOf(setting, isBefore) };
  if (want === 'mean') return told;
  const gain = gainOf(setting, isBefore);
  const spread = spreadOf(setting, gain, isBefore, want === 'covariance');
  if (want === 'variance') return { ...told, ...spread };

  const { u, h, ch } = gain;
  const a = addProduct(u.slice(), ch, transpose(fitted.weightedJacobian, n, p), count, p, n);
  const shared = sharedErrorCount(posterior.sessions);
  const sensitivity = new Float64Array(count * shared);
  if (!isBefore) {
    const slopes = sharedErrorSlopes(data, fitted, posterior.sessions, posterior.sessionEffects);
    addProduct(sensitivity, a, slopes, count, n, shared);
    addProduct(sensitivity, h, cooler.borrowedShift[index], count, p, shared);
  }
  const knownVariance = Float64Array.from(points, (_, t) => {
    let sum = 0;
    for (let i = 0; i < n; i++) sum += (a[t * n + i] * data.known_K[i]) ** 2;
    return sum;
  });
  return { ...told, ...spread, sensitivity, knownVariance, scatterResponse: responseOf(setting, a) };
}

/** A parameter on its bound takes no part in the spread. */
export function isHeld({ covariance, eta }: CurvePosterior, j: number): boolean {
  return covariance[j * eta.length + j] === 0;
}

/** Share of the slope beyond a limit that is still to come for a curve whose own limit the runs have shown (an assumption). */
const SLOPE_LEFT = 0.4;

/**
 * What a limit node adds to a formula's rise at a heat into the base, K: a curve that has met its limit may meet it again, pipe by pipe,
 * but has part of the slope already.
 */
export function excessOver(
  fitted: CurvePosterior,
  node: CoolerPosterior['limits'][number],
  base_W: number,
): number {
  return (fitted.curve.model.limit === undefined ? 1 : SLOPE_LEFT) * limitExcess(node, base_W);
}

/** The rises at T points as one Gaussian, over formulas and over where a limit of the pipes may lie. */
export interface RiseMoments {
  readonly mean: Float64Array;
  /** T × T. */
  readonly covariance: Float64Array;
  /** T × shared errors. */
  readonly sensitivity: Float64Array;
  /** ∂rise/∂load, K/W; ∂rise/∂(series resistance), W; ∂rise/∂leak, K per W/K. */
  readonly slope_K_per_W: Float64Array;
  readonly loading_W: Float64Array;
  readonly leakSlope: Float64Array;
}

/**
 * First two moments of the rises over formulas and limit nodes: the mean of the covariances plus the covariance of the means.
 *
 * @param formulas  with covariances
 */
export function riseMoments(cooler: CoolerPosterior, formulas: readonly FormulaRises[]): RiseMoments {
  const average = (of: (one: FormulaRises) => Float64Array): Float64Array => {
    const out = new Float64Array(of(formulas[0]).length);
    for (const one of formulas)
      of(one).forEach((value, k) => {
        out[k] += one.weight * value;
      });
    return out;
  };
  const covariance = average((one) => one.covariance);
  const count = formulas[0].mean.length;
  const parts = formulas.flatMap(({ weight, fitted, at, mean }) =>
    (cooler.limits.length > 0 ? cooler.limits : [undefined]).map((node) => ({
      weight: weight * (node?.weight ?? 1),
      value: node ? mean.map((rise, t) => rise + excessOver(fitted, node, at.base_W[t])) : mean,
    })),
  );
  const mean = new Float64Array(count);
  for (const { weight, value } of parts) for (let t = 0; t < count; t++) mean[t] += weight * value[t];
  for (const { weight, value } of parts) {
    for (let s = 0; s < count; s++) {
      const apart = weight * (value[s] - mean[s]);
      for (let t = 0; t < count; t++) covariance[s * count + t] += apart * (value[t] - mean[t]);
    }
  }
  return {
    mean,
    covariance,
    sensitivity: average((one) => one.sensitivity),
    slope_K_per_W: average((one) => one.at.slope_K_per_W),
    loading_W: average((one) => one.at.loading_W),
    leakSlope: average((one) => one.at.leakSlope),
  };
}
