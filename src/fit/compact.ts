import type { Bench } from '../bench/bench.ts';
import { sourceOf } from '../bench/source.ts';
import type { Model } from '../formula/model.ts';
import type { BenchPosterior, CoolerPosterior } from './bench-posterior.ts';
import { type CoolerRuns, coolerRuns } from './cooler-runs.ts';
import { type CurvePosterior, posteriorAt } from './curve-posterior.ts';
import { RiseCurve } from './rise-curve.ts';
import { componentFactors, runCovariance } from './scatter.ts';
import { takeOff } from './session-effects.ts';

/**
 * A posterior as plain data of a few kilobytes a cooler, to be written into a file and opened elsewhere.
 *
 * Fitting takes a second; everything that follows from the fitted numbers takes milliseconds. So only what was fitted is
 * kept (modes, priors, weights, scatters, what the shared errors do by way of the pooled prior) and the matrices that
 * follow from it and from the runs are worked out again by the very functions that made them. Numbers are the bytes of
 * doubles in base64: nothing is lost, infinities included, in less room than decimal digits.
 */
export interface CompactPosterior {
  source: string;
  sigma: string;
  logVarianceCovariance: string;
  assumed: boolean[];
  converged: boolean;
  active: boolean[];
  /** `null`: runs without a session. */
  sessions: (string | null)[];
  /** Sensor and paste state of each session, and the root of what is unknown of them; absent with one session. */
  sessionEffects?: { offset_K: string; paste_K_per_W: string; root: string };
  warnings: string[];
  /** Without what is said of them in words. */
  models: Model[];
  coolers: CompactCooler[];
}

export interface CompactCooler {
  cooler: string;
  typical_K_per_W: number;
  shapeScale: number;
  weights: string;
  /** Weight, limit and slope of each limit node in turn. */
  limits: string;
  notes: string[];
  notRunOn?: string;
  curves: CompactCurve[];
}

export interface CompactCurve {
  /** Index into `models`. */
  model: number;
  eta: string;
  priorMean: string;
  priorDeviation: string;
  pooled?: boolean[];
  borrowedShift: string;
  converged: boolean;
  reason: string;
  warnings: string[];
}

/**
 * The doubles of a list as text.
 *
 * @example unpackNumbers(packNumbers([1, Infinity])) // Float64Array [1, Infinity]
 */
export function packNumbers(values: ArrayLike<number>): string {
  const view = new DataView(new ArrayBuffer(values.length * 8));
  for (let i = 0; i < values.length; i++) view.setFloat64(i * 8, values[i], true);
  let bytes = '';
  for (let i = 0; i < view.byteLength; i++) bytes += String.fromCharCode(view.getUint8(i));
  return btoa(bytes);
}

/** The inverse of `packNumbers`. */
export function unpackNumbers(text: string): Float64Array {
  const bytes = atob(text);
  const view = new DataView(new ArrayBuffer(bytes.length));
  for (let i = 0; i < bytes.length; i++) view.setUint8(i, bytes.charCodeAt(i));
  return Float64Array.from({ length: bytes.length / 8 }, (_, i) => view.getFloat64(i * 8, true));
}

/** The posterior as compact data, without the bench that it belongs to. */
export function compactPosterior(posterior: BenchPosterior): CompactPosterior {
  const models: Model[] = [];
  const numberOf = (model: Model): number => {
    const known = models.indexOf(model);
    return known >= 0 ? known : models.push(model) - 1;
  };
  const coolers = posterior.coolers.map((cooler) => compactCooler(cooler, numberOf));
  const { scatter, sessionEffects } = posterior;
  return {
    source: posterior.source,
    sigma: packNumbers(scatter.sigma),
    logVarianceCovariance: packNumbers(scatter.logVarianceCovariance),
    assumed: [...scatter.assumed],
    converged: scatter.converged,
    active: [...posterior.active],
    sessions: posterior.sessions.map((session) => session ?? null),
    ...(sessionEffects
      ? {
          sessionEffects: {
            offset_K: packNumbers(sessionEffects.offset_K),
            paste_K_per_W: packNumbers(sessionEffects.paste_K_per_W),
            root: packNumbers(sessionEffects.root),
          },
        }
      : {}),
    warnings: [...posterior.warnings],
    models: models.map(({ range: _, ...model }) => ({ ...model, source: '', resistanceText: '' })),
    coolers,
  };
}

/** A cooler's posterior as numbers for the page, without what its runs give again. */
function compactCooler(cooler: CoolerPosterior, numberOf: (model: Model) => number): CompactCooler {
  return {
    cooler: cooler.data.cooler.cooler,
    typical_K_per_W: cooler.typical_K_per_W,
    shapeScale: cooler.shapeScale,
    weights: packNumbers(cooler.weights),
    limits: packNumbers(cooler.limits.flatMap((n) => [n.weight, n.limit_W, n.slope_K_per_W, n.step_K])),
    notes: [...cooler.notes],
    ...(cooler.notRunOn === undefined ? {} : { notRunOn: cooler.notRunOn }),
    curves: cooler.curves.map((curve, m): CompactCurve => {
      const { prior } = curve;
      return {
        model: numberOf(curve.curve.model),
        eta: packNumbers(curve.eta),
        priorMean: packNumbers(prior.mean),
        priorDeviation: packNumbers(prior.deviation),
        ...(prior.pooled ? { pooled: [...prior.pooled] } : {}),
        borrowedShift: packNumbers(cooler.borrowedShift[m]),
        converged: curve.converged,
        reason: curve.reason,
        warnings: [...curve.warnings],
      };
    }),
  };
}

/**
 * The posterior again, from its compact data and its bench.
 *
 * @param bench  the bench that was fitted: its runs, coolers and instruments
 * @throws Error where the data names a cooler that is not there
 */
export function restorePosterior(compact: CompactPosterior, bench: Bench): BenchPosterior {
  const sigma = [...unpackNumbers(compact.sigma)];
  const curves = compact.models.map((model) => new RiseCurve(model));
  const used = sigma.map((s, k) => (compact.active[k] ? s : 0));
  const sessions = compact.sessions.map((session) => session ?? undefined);
  const packed = compact.sessionEffects;
  const sessionEffects = packed && {
    offset_K: unpackNumbers(packed.offset_K),
    paste_K_per_W: unpackNumbers(packed.paste_K_per_W),
    root: unpackNumbers(packed.root),
  };
  return {
    bench,
    source: compact.source,
    scatter: {
      sigma,
      logVarianceCovariance: unpackNumbers(compact.logVarianceCovariance),
      assumed: compact.assumed,
      converged: compact.converged,
    },
    active: compact.active,
    coolers: compact.coolers.map((cooler) =>
      restoreCooler(cooler, compact.source, bench, curves, used, (data) => {
        if (!sessionEffects) return;
        const session = data.runs.map((run) => sessions.indexOf(run.session));
        takeOff(data, data.rise_K.slice(), session, sessionEffects);
      }),
    ),
    ...(sessionEffects ? { sessionEffects } : {}),
    sessions,
    warnings: compact.warnings,
  };
}

/** The inverse: data from the bench's runs, the rest from the numbers. */
function restoreCooler(
  compact: CompactCooler,
  source: string,
  bench: Bench,
  curves: readonly RiseCurve[],
  sigma: readonly number[],
  correct: (data: CoolerRuns) => void,
): CoolerPosterior {
  const described = bench.coolers.find((one) => one.cooler === compact.cooler);
  const own = bench.runs.filter((run) => run.source === source && run.cooler === compact.cooler);
  const data = described && coolerRuns(bench, described, source, own);
  if (!data) throw new Error(`restorePosterior: the bench has no runs of "${compact.cooler}" on ${source}`);
  correct(data);
  const factors = componentFactors(data, compact.typical_K_per_W, compact.shapeScale);
  const covariance = runCovariance(data, factors, sigma);
  const leak = sourceOf(bench, source).leak_W_per_K.value;
  const limits = unpackNumbers(compact.limits);
  return {
    data,
    typical_K_per_W: compact.typical_K_per_W,
    shapeScale: compact.shapeScale,
    factors,
    covariance,
    curves: compact.curves.map((one): CurvePosterior => {
      const prior = {
        mean: unpackNumbers(one.priorMean),
        deviation: unpackNumbers(one.priorDeviation),
        ...(one.pooled ? { pooled: one.pooled } : {}),
      };
      return posteriorAt(curves[one.model], data, leak, covariance, prior, unpackNumbers(one.eta), one);
    }),
    borrowedShift: compact.curves.map((one) => unpackNumbers(one.borrowedShift)),
    weights: [...unpackNumbers(compact.weights)],
    limits: Array.from({ length: limits.length / 4 }, (_, k) => ({
      weight: limits[4 * k],
      limit_W: limits[4 * k + 1],
      slope_K_per_W: limits[4 * k + 2],
      step_K: limits[4 * k + 3],
    })),
    notes: compact.notes,
    ...(compact.notRunOn === undefined ? {} : { notRunOn: compact.notRunOn }),
  };
}
