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
import { COMPONENTS, MOUNT, READING, SAMPLE, SESSION, SHAPE, SPEED } from './components.ts';
import type { CoolerRuns } from './cooler-runs.ts';
import { departureFactor } from './departure.ts';

export interface ScatterComponent {
  value: number;
  low: number;
  high: number;
  /** True when the bench holds no repeats that could tell, so that a common-practice value stands in. */
  assumed: boolean;
}

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
