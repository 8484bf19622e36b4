import {
  type Block,
  type LogScalePrior,
  type RemlResult,
  remlFit,
  type SharedEffects,
} from '../numerics/reml.ts';
import {
  type Columns,
  type ComponentFactor,
  type Components,
  CovarianceLayout,
  type Groups,
  type SplitCovariance,
} from '../numerics/split-covariance.ts';
import type { CoolerRuns } from './cooler-runs.ts';

export interface ScatterComponent {
  value: number;
  low: number;
  high: number;
  /** True when the bench holds no repeats that could tell, so that a common-practice value stands in. */
  assumed: boolean;
}

/**
 * The scatters of a bench, in the order used throughout.
 *
 * - `sample`, `mount`, `session`: a resistance in series that differs from specimen to specimen, from fitting to
 *   fitting and from one paste batch to the next, K/W; in the rise it grows with the load.
 * - `reading`: run to run within one mount, K.
 * - `shape`: how far the true curve lies from the best curve of a formula, as a share of the cooler's resistance; it
 *   belongs to the cooler, not to the mount, and is smooth in load and speed. Formulas are approximations.
 * - `speed`: how far the air side's true curve over ln(speed) bends away from a formula's, as a share of the cooler's
 *   resistance; nothing at full speed, and more the farther from it.
 */
export const COMPONENTS = ['sample', 'mount', 'session', 'reading', 'shape', 'speed'] as const;
export type Component = (typeof COMPONENTS)[number];
export const SAMPLE = 0;
export const MOUNT = 1;
export const SESSION = 2;
export const READING = 3;
export const SHAPE = 4;
export const SPEED = 5;

/**
 * What is taken for granted before the bench speaks: log-normal, centred on common practice (no source), a factor of 1.8
 * either way. With repeats on the bench its own scatter takes over; without, these stand and are said to be assumed.
 */
export const ASSUMED: readonly LogScalePrior[] = [
  { mean: Math.log(0.004), standardDeviation: 0.6 },
  { mean: Math.log(0.005), standardDeviation: 0.6 },
  { mean: Math.log(0.003), standardDeviation: 0.6 },
  { mean: Math.log(0.15), standardDeviation: 0.6 },
  { mean: Math.log(0.005), standardDeviation: 0.5 },
  // At 40 % of full speed this is a fifth of the resistance, as stalls, flow regimes and bypass add to a power law (an assumption).
  { mean: Math.log(0.4), standardDeviation: 0.6 },
];

/** A component with less than this share of its information from the bench is reported as assumed. */
const ASSUMED_SHARE = 0.35;

/**
 * Range in ln(load) and in ln(speed) over which a curve's departure from its formula keeps its sign.
 * Chosen: a doubling.
 */
const SHAPE_RANGE_LOAD = 0.7;
const SHAPE_RANGE_SPEED = 0.7;

/** An operating point: heat into the base, fan and pump speed over the cooler's greatest. */
export interface OperatingPoint {
  readonly base_W: number;
  readonly speed: number;
  /** 1 where absent. */
  readonly pump?: number;
}

/**
 * Covariance of a cooler's departures from a formula at two operating points, for σ = 1 and a resistance of 1 K/W.
 *
 * `SHAPE` is a smooth process that comes back to the formula within about a factor of two in load or speed. `SPEED` is a
 * cubic smoothing spline over ln(speed), of the fan and of the pump, a curve whose bend is white noise (Wahba 1978, JRSS B 40, 364): with u the
 * smaller and v the greater distance from full speed, u²(3v − u)/6. Between speeds that were run it is next to nothing; away
 * from them it grows with the distance to the power of 3/2, as what nobody has measured does.
 */
export function departureCovariance(component: number, a: OperatingPoint, b: OperatingPoint): number {
  return departureBetween(component, logarithmsOf(a), logarithmsOf(b));
}

/** An operating point's logarithms, taken once where it is set against many others. */
export interface LogarithmicPoint {
  readonly load: number;
  readonly fan: number;
  readonly pump: number;
}

export function logarithmsOf({ base_W, speed, pump = 1 }: OperatingPoint): LogarithmicPoint {
  return { load: Math.log(base_W), fan: Math.log(speed), pump: Math.log(pump) };
}

/** {@link departureCovariance} of points by their logarithms. */
export function departureBetween(component: number, a: LogarithmicPoint, b: LogarithmicPoint): number {
  if (component === SPEED) return spline(a.fan, b.fan) + spline(a.pump, b.pump);
  const load = (a.load - b.load) / SHAPE_RANGE_LOAD;
  const fan = (a.fan - b.fan) / SHAPE_RANGE_SPEED;
  return Math.exp(-(load * load + fan * fan) / 2);
}

/**
 * How far the resistance of a cooler with heat pipes may bend away from what its formulas say below the least heat run, as a share of its
 * resistance: standard deviation at half of that heat, where pipes that have hardly started carry less (an assumption).
 */
const START_SHARE = 0.06;

/**
 * Covariance of that departure at two heats, for a resistance of 1 K/W: that of `SPEED`'s spline over ln(heat) below the least heat run. It is nothing
 * from the least heat on, so that no run tells of it.
 *
 * @param least_W  least heat into the base that was run
 */
export function startCovariance(
  a: Pick<LogarithmicPoint, 'load'>,
  b: Pick<LogarithmicPoint, 'load'>,
  least_W: number,
): number {
  const least = Math.log(least_W);
  if (a.load >= least || b.load >= least) return 0;
  const half = Math.log(2) ** 3 / 3;
  return (START_SHARE ** 2 / half) * spline(a.load - least, b.load - least);
}

/** Covariance of a curve at x and y whose second derivative is white noise, and which is 0 and level at 0. */
function spline(x: number, y: number): number {
  if (x * y <= 0) return 0;
  const u = Math.min(Math.abs(x), Math.abs(y));
  const v = Math.max(Math.abs(x), Math.abs(y));
  return (u * u * (3 * v - u)) / 6;
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
 * Covariances of one cooler's runs as factors Z with V_k = Z·Zᵀ, one per component, each for σ = 1.
 *
 * Runs whose fitting is not known may share one or not: they are given half of the mount's variance in common, so that
 * neither their mean gets too sharp nor the reading scatter too small.
 *
 * @param typical_K_per_W  resistance that the departures from formulas are a share of
 * @param shapeScale  how many times the bench's own this cooler's departure over load is
 * @param loading_W  ∂rise/∂(a resistance in series) at each run; absent: the heat into the base
 */
export function componentFactors(
  data: CoolerRuns,
  typical_K_per_W: number,
  shapeScale: number,
  loading_W = data.base_W,
): Components {
  const { mount, sample } = data;
  const n = data.runs.length;
  const factors: (ComponentFactor | ComponentFactor[])[] = [];
  factors[SAMPLE] = grouped(sample, loading_W);
  const known = grouped(
    mount.map((m, i) => (m < 0 ? -1 - i : m)),
    loading_W.map((heat, i) => (mount[i] < 0 ? Math.SQRT1_2 * heat : heat)),
  );
  const isUnknown = mount.some((m) => m < 0);
  factors[MOUNT] = isUnknown
    ? [
        known,
        grouped(
          sample.map((s, i) => (mount[i] < 0 ? s : -1)),
          loading_W.map((heat, i) => (mount[i] < 0 ? Math.SQRT1_2 * heat : 0)),
        ),
      ]
    : known;
  factors[SESSION] = grouped(data.session, loading_W);
  factors[READING] = grouped(
    mount.map((_, i) => i),
    new Float64Array(n).fill(1),
  );
  factors[SHAPE] = departureFactor(SHAPE, data, shapeScale * typical_K_per_W, loading_W);
  factors[SPEED] = departureFactor(SPEED, data, typical_K_per_W, loading_W);
  return factors;
}

/** One column a group, in order of first appearance; rows of no weight are in none. */
export function grouped(label: Int32Array, weight: Float64Array): Groups {
  const numbers = new Map<number, number>();
  const group = label.map((one, i) => {
    if (weight[i] === 0) return -1;
    const number = numbers.get(one) ?? numbers.size;
    numbers.set(one, number);
    return number;
  });
  return { group, weight, columns: numbers.size };
}

/**
 * Factor of a departure's covariance by pivoted Cholesky, stopped where nothing is left: the kernels are so smooth that a
 * bench with four loads needs four or five columns, however many its runs.
 */
function departureFactor(
  component: number,
  data: CoolerRuns,
  typical_K_per_W: number,
  loading_W: Float64Array,
): Columns {
  const n = data.runs.length;
  const pumps = data.more.get('q');
  const points = data.runs.map((_, i) =>
    logarithmsOf({ base_W: data.base_W[i], speed: data.speed[i], pump: pumps?.[i] }),
  );
  const remaining = Float64Array.from(points, (point) => departureBetween(component, point, point));
  const columns: Float64Array[] = [];
  while (columns.length < n) {
    let pivot = 0;
    for (let i = 1; i < n; i++) if (remaining[i] > remaining[pivot]) pivot = i;
    if (remaining[pivot] < 1e-8) break;
    const root = Math.sqrt(remaining[pivot]);
    const column = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      let value = departureBetween(component, points[i], points[pivot]);
      for (const before of columns) value -= before[i] * before[pivot];
      column[i] = value / root;
      remaining[i] = Math.max(0, remaining[i] - column[i] * column[i]);
    }
    remaining[pivot] = 0;
    columns.push(column);
  }
  const z = new Float64Array(n * columns.length);
  columns.forEach((column, c) => {
    for (let i = 0; i < n; i++) z[i * columns.length + c] = typical_K_per_W * loading_W[i] * column[i];
  });
  return { z, columns: columns.length };
}

/**
 * Σ_k σ_k²·V_k plus the known variances of steady values from logs; where it is singular to rounding, with a jitter of that size.
 *
 * @param sigma  0 where a component has no part
 * @throws RangeError where it is not positive definite
 */
export function runCovariance(
  data: CoolerRuns,
  factors: Components,
  sigma: readonly number[],
): SplitCovariance {
  const used = factors.map((factor, k) => (sigma[k] > 0 ? factor : undefined));
  const layout = new CovarianceLayout(data.runs.length, used, { noise: knownVariance(data) });
  const variances = sigma.map((s) => s * s);
  for (let jitter = 0; jitter < 12; jitter++) {
    const covariance = layout.at(variances, undefined, jitter > 0 ? 10 ** (jitter - 14) : 0);
    if (covariance) return covariance;
  }
  throw new RangeError('the covariance of the runs is not positive definite');
}

/** Variance that the stated uncertainties of steady values bring, K². */
function knownVariance({ known_K }: CoolerRuns): Float64Array {
  return known_K.map((u) => u * u);
}

/** One cooler's part in the estimate: residuals about its fitted curve and that curve's directions. */
export interface ScatterPart {
  readonly data: CoolerRuns;
  readonly factors: Components;
  readonly residual_K: Float64Array;
  readonly jacobian: Float64Array;
  readonly columns: number;
  readonly priorPrecision: Float64Array;
  /** Factor of the covariance that the state of its session gives the runs of a cooler of one session. */
  readonly sessionState?: Columns;
}

/** One cooler's part as a block of the restricted likelihood. */
export function scatterBlock(part: ScatterPart, active: readonly boolean[]): Block {
  return {
    y: part.residual_K,
    design: part.jacobian,
    columns: part.columns,
    priorPrecision: part.priorPrecision,
    components: part.factors.map((factor, k) => (active[k] ? factor : undefined)),
    noise: knownVariance(part.data),
    ...(part.sessionState && { known: part.sessionState }),
  };
}

/**
 * The bench's scatters by restricted maximum likelihood over all coolers together.
 *
 * @param shared  states of the sessions, which coolers run in several have in common
 */
export function estimateScatter(
  parts: readonly ScatterPart[],
  start: BenchScatter,
  active: readonly boolean[],
  tolerance = 1e-6,
  shared?: SharedEffects,
): BenchScatter {
  const fit: RemlResult = remlFit(
    parts.map((part) => scatterBlock(part, active)),
    {
      start: start.sigma,
      priors: ASSUMED,
      maxIterations: 60,
      tolerance,
      shared,
    },
  );
  return {
    sigma: fit.sigma,
    logVarianceCovariance: fit.logVarianceCovariance,
    assumed: fit.dataShare.map((share) => share < ASSUMED_SHARE),
    converged: fit.converged,
  };
}
