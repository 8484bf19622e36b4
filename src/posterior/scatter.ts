import { type Block, type LogScalePrior, type RemlResult, remlFit } from '../statistics/reml.ts';
import type { CoolerRuns } from './cooler-runs.ts';

/**
 * The scatters of a bench, in the order used throughout.
 *
 * - `sample`, `mount`, `session`: a resistance in series that differs from specimen to specimen, from fitting to
 *   fitting and from one paste batch to the next, K/W; in the rise it grows with the load.
 * - `reading`: run to run within one mount, K.
 * - `shape`: how far the true curve lies from the best curve of a formula, as a share of the cooler's resistance; it
 *   belongs to the cooler, not to the mount, and is smooth in load and speed. Formulas are approximations.
 */
export const COMPONENTS = ['sample', 'mount', 'session', 'reading', 'shape'] as const;
export type Component = (typeof COMPONENTS)[number];
export const SAMPLE = 0;
export const MOUNT = 1;
export const SESSION = 2;
export const READING = 3;
export const SHAPE = 4;

/**
 * What is taken for granted before the bench speaks: log-normal, centred on common practice (no source), a factor of two
 * either way. With repeats on the bench its own scatter takes over; without, these stand and are said to be assumed.
 */
export const ASSUMED: readonly LogScalePrior[] = [
  { mean: Math.log(0.004), standardDeviation: 0.7 },
  { mean: Math.log(0.005), standardDeviation: 0.7 },
  { mean: Math.log(0.003), standardDeviation: 0.7 },
  { mean: Math.log(0.15), standardDeviation: 0.7 },
  { mean: Math.log(0.005), standardDeviation: 0.7 },
];

/** A component with less than this share of its information from the bench is reported as assumed. */
const ASSUMED_SHARE = 0.35;

/** Range in ln(load) and in ln(speed) over which a curve's departure from its formula keeps its sign. */
const SHAPE_RANGE_LOAD = 0.7;
const SHAPE_RANGE_SPEED = 0.7;

/** Correlation of the departures at two operating points. */
export function shapeCorrelation(base1_W: number, speed1: number, base2_W: number, speed2: number): number {
  const load = Math.log(base1_W / base2_W) / SHAPE_RANGE_LOAD;
  const fan = Math.log(speed1 / speed2) / SHAPE_RANGE_SPEED;
  return Math.exp(-(load * load + fan * fan) / 2);
}

export interface BenchScatter {
  /** σ of each component in the order of COMPONENTS. */
  readonly sigma: readonly number[];
  /** Covariance of log σ², row-major. */
  readonly logVarianceCovariance: Float64Array;
  readonly assumed: readonly boolean[];
  readonly converged: boolean;
}

/** Scatter before any run has been read. */
export function assumedScatter(): BenchScatter {
  const count = COMPONENTS.length;
  const covariance = new Float64Array(count * count);
  ASSUMED.forEach((prior, k) => {
    covariance[k * count + k] = 4 * prior.standardDeviation ** 2;
  });
  return {
    sigma: ASSUMED.map((prior) => Math.exp(prior.mean)),
    logVarianceCovariance: covariance,
    assumed: ASSUMED.map(() => true),
    converged: true,
  };
}

/**
 * Covariance matrices of one cooler's runs, one per component, each for σ = 1.
 *
 * Runs whose fitting is not known may share one or not: they are given half of the mount's variance in common, so that
 * neither their mean gets too sharp nor the reading scatter too small.
 *
 * @param typical_K_per_W  resistance that the shape component is a share of
 */
export function componentMatrices(data: CoolerRuns, typical_K_per_W: number): Float64Array[] {
  const n = data.runs.length;
  const matrices = COMPONENTS.map(() => new Float64Array(n * n));
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      const heat = data.base_W[i] * data.base_W[j];
      const sameSample = data.sample[i] === data.sample[j];
      const at = [i * n + j, j * n + i];
      const bothUnknown = data.mount[i] < 0 && data.mount[j] < 0 && sameSample;
      const mount = data.mount[i] === data.mount[j] ? 1 : bothUnknown ? 0.5 : 0;
      const shape =
        typical_K_per_W ** 2 * shapeCorrelation(data.base_W[i], data.speed[i], data.base_W[j], data.speed[j]);
      for (const k of at) {
        matrices[SAMPLE][k] = sameSample ? heat : 0;
        matrices[MOUNT][k] = mount * heat;
        matrices[SESSION][k] = data.session[i] === data.session[j] ? heat : 0;
        matrices[READING][k] = i === j ? 1 : 0;
        matrices[SHAPE][k] = shape * heat;
      }
    }
  }
  return matrices;
}

/** Σ_k σ_k²·V_k plus the known variances of steady values from logs, n × n. */
export function runCovariance(
  data: CoolerRuns,
  matrices: readonly Float64Array[],
  sigma: readonly number[],
): Float64Array {
  const n = data.runs.length;
  const out = new Float64Array(n * n);
  for (let k = 0; k < matrices.length; k++) {
    const variance = sigma[k] ** 2;
    for (let i = 0; i < n * n; i++) out[i] += variance * matrices[k][i];
  }
  for (let i = 0; i < n; i++) out[i * n + i] += data.known_K[i] ** 2;
  return out;
}

/** One cooler's part in the estimate: residuals about its fitted curve and that curve's directions. */
export interface ScatterPart {
  readonly data: CoolerRuns;
  readonly matrices: readonly Float64Array[];
  readonly residual_K: Float64Array;
  readonly jacobian: Float64Array;
  readonly columns: number;
  readonly priorPrecision: Float64Array;
}

/** The bench's scatters by restricted maximum likelihood over all coolers together. */
export function estimateScatter(
  parts: readonly ScatterPart[],
  start: BenchScatter,
  active: readonly boolean[],
): BenchScatter {
  const blocks = parts.map((part): Block => {
    const n = part.residual_K.length;
    const known = new Float64Array(n * n);
    for (let i = 0; i < n; i++) known[i * n + i] = part.data.known_K[i] ** 2;
    return {
      y: part.residual_K,
      design: part.jacobian,
      columns: part.columns,
      priorPrecision: part.priorPrecision,
      components: part.matrices.map((matrix, k) => (active[k] ? matrix : undefined)),
      known,
    };
  });
  const fit: RemlResult = remlFit(blocks, { start: start.sigma, priors: ASSUMED, maxIterations: 60 });
  return {
    sigma: fit.sigma,
    logVarianceCovariance: fit.logVarianceCovariance,
    assumed: fit.dataShare.map((share) => share < ASSUMED_SHARE),
    converged: fit.converged,
  };
}
