import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import type { SourceScatter } from '../fit/chip-scatter.ts';
import { MOUNT, READING, SAMPLE, SESSION } from '../fit/components.ts';
import { offsetOn } from '../fit/cooler-runs.ts';
import { effectOn } from '../fit/session-effects.ts';
import {
  FIRST_OFFSET,
  LEAK,
  OTHER_PASTE,
  PASTE,
  POWER_SCALE,
  sharedErrorCount,
} from '../fit/shared-error-order.ts';
import type { SourceTerm } from '../fit/source-term.ts';
import { satterthwaite } from '../numerics/degrees-of-freedom.ts';
import { dot, solveUpperT } from '../numerics/matrix.ts';
import { mixtureDifference, mixtureMean, type NormalMixture } from '../numerics/mixture.ts';
import { chipRises, errorCount } from './chip-rises.ts';
import { byHeaterCurves, curveAt, excessOver, type FormulaRises, jointRises } from './joint-rises.ts';
import type { RisePoint } from './rise-point.ts';
import { sensitivities } from './sensitivities.ts';

/**
 * What is known of one cooler's rise at one load and speed.
 *
 * `mean` is the distribution of the mean over samples and mounts given the shared errors; the shared errors come on top
 * through `meanSensitivity`. A fresh run adds `freshVariance_K2` and has sensitivities of its own.
 */
export interface RiseDistribution {
  readonly power_W: number;
  readonly mean: NormalMixture;
  /** Expected reading of a fresh run in the present session less the expected rise, K: what sensor and paste of that session add. */
  readonly runShift_K: number;
  /** Scatter of one reading of a fresh mount of a fresh sample about the mean, K². */
  readonly freshVariance_K2: number;
  /** Effective degrees of freedom of the mean's own variance and of a fresh run's. */
  readonly meanFreedom: number;
  readonly runFreedom: number;
  /** ∂ ln(variance of the mean)/∂ ln σ_k², the share of that variance which each scatter brings. */
  readonly scatterShares: Float64Array;
  /** Share of the same variance that the stated uncertainties of steady values bring. */
  readonly knownShare: number;
  /** Variance of the mean over where a limit of the pipes may lie, and over a chip's term between coolers, K²; both are in `mean`. */
  readonly pipesVariance_K2: number;
  readonly termVariance_K2: number;
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

/** Step in relative speed by which the rise's slope in it is found. */
const NUDGE = 1e-4;

/**
 * The rise of a cooler at several points, each on its own: the diagonal of {@link jointRises}, averaged over formulas and
 * over where a heat-pipe limit may lie; on a chip also given the runs there.
 *
 * @param points  of the mean over specimens and fittings
 */
export function riseDistributions(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  points: readonly RisePoint[],
): RiseDistribution[] {
  return risesGiven(posterior, cooler, points)(cooler.limits);
}

/** Where limits of the pipes may lie: those of the cooler, or none. */
export type Limits = CoolerPosterior['limits'];

/** The same for limits that are given afterwards: most of the work is the same whatever they are. */
export function risesGiven(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  points: readonly RisePoint[],
): (limits: Limits) => RiseDistribution[] {
  // A cooler of a chip has its curves from the heater's runs, or from its own on the chip alone.
  const own = cooler.fittedIn?.posterior ?? posterior;
  const nudged = points.map((point) => ({ ...point, speed: point.speed * (1 + NUDGE) }));
  const parts = jointRises(posterior, cooler, points).map((formula) => {
    const beside = curveAt(posterior, cooler, formula.fitted, nudged);
    return {
      ...formula,
      speedSlope_K: points.map(({ speed }, t) => (beside.rise_K[t] - formula.at.rise_K[t]) / (speed * NUDGE)),
      sensitivities: points.map((point, t) =>
        sensitivities(own, { ...formula.at, sensitivity: formula.sensitivity }, point, t),
      ),
      scatterSlopes: points.map((_, t) => formula.scatterResponse([[t, 1]])),
    };
  });
  const common = points.map(({ power_W }, t) => combine(own, power_W, parts, t));
  const { term } = posterior;
  return (limits) => {
    const onCurve = common.map((one, t) => ({ ...one, ...overLimits(limits, parts, t) }));
    if (!term) return onCurve;
    if (!byHeaterCurves(posterior, cooler)) return onCurve.map((one) => onChipErrors(one, term));
    return chipDistributions(posterior, term, { ...cooler, limits }, points, onCurve);
  };
}

/** One formula at the points, with what belongs to each point alone. */
type FormulaParts = FormulaRises & {
  readonly speedSlope_K: readonly number[];
  readonly sensitivities: readonly { readonly mean: Float64Array; readonly run: Float64Array }[];
  readonly scatterSlopes: readonly Float64Array[];
};

/**
 * The rise of a cooler on a chip at some points.
 *
 * @param onCurve  the same by the heater's curves with the term in series, before the chip's runs: their mixture keeps its shape
 */
function chipDistributions(
  posterior: BenchPosterior,
  term: SourceTerm,
  cooler: CoolerPosterior,
  points: readonly RisePoint[],
  onCurve: readonly RiseDistribution[],
): RiseDistribution[] {
  const between = term.coolerVariance.get(cooler.data.cooler.cooler) ?? 0;
  const { rises } = chipRises(posterior, term, cooler, points);
  return rises.map(({ mean_K, reading_K, errors, readingErrors, own, before_K2 }, t) => {
    const left = Math.sqrt(Math.min(1, Math.max(1 - dot(own, own) / before_K2, 1e-6)));
    const one = onCurve[t];
    const isRunThere = own.some((value) => value !== 0);
    const ofOne = isRunThere
      ? normalOf(between)
      : besides(term.scatter.own, between - term.scatter.value ** 2);
    return {
      ...one,
      mean: spreadMixture(shiftedMixture(one.mean, mean_K, left), ofOne, left * one.loading_W),
      pipesVariance_K2: left ** 2 * one.pipesVariance_K2,
      termVariance_K2: left ** 2 * between * one.loading_W ** 2,
      runShift_K: reading_K - mean_K,
      // Estimate less truth, as everywhere.
      meanSensitivity: padded(
        errors.map((e) => -e),
        errorCount(term),
      ),
      runSensitivity: padded(
        readingErrors.map((e) => -e),
        errorCount(term),
      ),
    };
  });
}

/** The values followed by zeros. */
function padded(values: Float64Array, size: number): Float64Array {
  const out = new Float64Array(size);
  out.set(values);
  return out;
}

/** A mixture about another middle, its shape scaled. */
function shiftedMixture(mixture: NormalMixture, middle: number, scale: number): NormalMixture {
  const mean = mixtureMean(mixture);
  return {
    weight: mixture.weight,
    mean: mixture.mean.map((m) => middle + scale * (m - mean)),
    deviation: mixture.deviation.map((d) => scale * d),
  };
}

/** A normal distribution about 0. */
function normalOf(variance: number): NormalMixture {
  return {
    weight: Float64Array.of(1),
    mean: Float64Array.of(0),
    deviation: Float64Array.of(Math.sqrt(variance)),
  };
}

/** A cooler's own part of the term with what is not known of its base. */
function besides({ weight, mean, deviation }: SourceScatter['own'], variance: number): NormalMixture {
  return {
    weight: Float64Array.from(weight),
    mean: Float64Array.from(mean),
    deviation: Float64Array.from(deviation, (d) => Math.sqrt(d * d + Math.max(variance, 0))),
  };
}

/** The distribution of a + factor·b for independent a and b. */
function spreadMixture(a: NormalMixture, b: NormalMixture, factor: number): NormalMixture {
  const flipped = {
    ...b,
    mean: b.mean.map((m) => -factor * m),
    deviation: b.deviation.map((d) => factor * d),
  };
  return mixtureDifference(a, flipped, 0);
}

/**
 * A distribution of a cooler that was run on the chip alone, its sensitivities put in the columns of the term's errors; those to the states
 * of the sessions stand after them all.
 */
function onChipErrors(one: RiseDistribution, term: SourceTerm): RiseDistribution {
  const { columns, uncertainty, states, runs, presentSession } = term;
  const place = (from: Float64Array): Float64Array => {
    const to = new Float64Array(errorCount(term));
    to[columns.power] = from[POWER_SCALE] * uncertainty[columns.power];
    to[columns.leak] = from[LEAK] * uncertainty[columns.leak];
    to[OTHER_PASTE] = from[OTHER_PASTE] * uncertainty[OTHER_PASTE];
    const paste = columns.pasteOf.get(presentSession) ?? PASTE;
    if (!states) {
      to[paste] += from[PASTE] * uncertainty[paste];
      to[columns.sensor] += from[FIRST_OFFSET] * uncertainty[columns.sensor];
      return to;
    }
    // What a kelvin and a K/W of each session do, from what the independent parts do of which they are made.
    const each = from.slice(FIRST_OFFSET);
    const size = each.length;
    solveUpperT(states.root, size, each);
    for (let k = 0; k < size / 2; k++) to[columns.sensor] += each[k] * uncertainty[columns.sensor];
    const rest = to.subarray(columns.count + runs.length);
    for (let k = 0; k < size; k++)
      for (let z = 0; z <= k; z++) rest[z] += each[k] * states.rest[k * size + z];
    return to;
  };
  return { ...one, meanSensitivity: place(one.meanSensitivity), runSensitivity: place(one.runSensitivity) };
}

/**
 * The distributions alone, without what belongs to a comparison or a fresh run: for points that are only looked at beside another.
 */
export function mixturesGiven(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  points: readonly RisePoint[],
): (limits: Limits) => NormalMixture[] {
  if (byHeaterCurves(posterior, cooler)) {
    const given = risesGiven(posterior, cooler, points);
    return (limits) => given(limits).map(({ mean }) => mean);
  }
  const formulas = jointRises(posterior, cooler, points, { want: 'variance' });
  return (limits) => points.map((_, t) => overLimits(limits, formulas, t).mean);
}

/** The formulas at one point, each spread over the limit nodes where those make a difference; and the variance that the nodes bring. */
function overLimits(
  nodes: Limits,
  formulas: readonly FormulaRises[],
  t: number,
): Pick<RiseDistribution, 'mean' | 'pipesVariance_K2'> {
  let pipesVariance_K2 = 0;
  const weight: number[] = [];
  const mean: number[] = [];
  const deviation: number[] = [];
  for (const { weight: w, fitted, at, ...part } of formulas) {
    const excess = nodes.map((node) => excessOver(fitted, node, at.base_W[t]));
    const own = Math.sqrt(part.variance[t]);
    if (nodes.length > 0 && Math.max(...excess) > 1e-3) {
      const middle = nodes.reduce((sum, node, k) => sum + node.weight * excess[k], 0);
      nodes.forEach((node, k) => {
        pipesVariance_K2 += w * node.weight * (excess[k] - middle) ** 2;
        weight.push(w * node.weight);
        mean.push(part.mean[t] + excess[k]);
        deviation.push(own);
      });
    } else {
      weight.push(w);
      mean.push(part.mean[t]);
      deviation.push(own);
    }
  }
  const mixture = {
    weight: Float64Array.from(weight),
    mean: Float64Array.from(mean),
    deviation: Float64Array.from(deviation),
  };
  return { mean: mixture, pipesVariance_K2 };
}

/** Averages the formulas at one point, where limits of the pipes may lie left out. */
function combine(
  posterior: BenchPosterior,
  power_W: number,
  parts: readonly FormulaParts[],
  t: number,
): Omit<RiseDistribution, 'mean' | 'pipesVariance_K2'> {
  const { sigma, logVarianceCovariance } = posterior.scatter;
  const size = sharedErrorCount(posterior.sessions);
  const meanSensitivity = new Float64Array(size);
  const runSensitivity = new Float64Array(size);
  const slopes = new Float64Array(sigma.length);
  let loading = 0;
  let slope = 0;
  let speedSlope = 0;
  let variance = 0;
  let known = 0;
  for (const { weight: w, at, ...part } of parts) {
    const here = part.sensitivities[t];
    for (let k = 0; k < size; k++) {
      meanSensitivity[k] += w * here.mean[k];
      runSensitivity[k] += w * here.run[k];
    }
    for (let k = 0; k < slopes.length; k++) slopes[k] += w * part.scatterSlopes[t][k];
    loading += w * at.loading_W[t];
    slope += w * at.slope_K_per_W[t];
    speedSlope += w * part.speedSlope_K[t];
    variance += w * part.variance[t];
    known += w * part.knownVariance[t];
  }
  const fresh = Float64Array.from(sigma, () => 0);
  fresh[SAMPLE] = (sigma[SAMPLE] * loading) ** 2;
  fresh[MOUNT] = (sigma[MOUNT] * loading) ** 2;
  fresh[READING] = sigma[READING] ** 2;
  if (posterior.active[SESSION]) fresh[SESSION] = 0;
  const freshVariance_K2 = fresh.reduce((a, b) => a + b, 0);
  return {
    power_W,
    freshVariance_K2,
    meanFreedom: satterthwaite(variance, slopes, logVarianceCovariance),
    runFreedom: satterthwaite(
      variance + freshVariance_K2,
      slopes.map((s, k) => s + fresh[k]),
      logVarianceCovariance,
    ),
    scatterShares: slopes.map((s) => s / variance),
    knownShare: known / variance,
    termVariance_K2: 0,
    meanSensitivity,
    runSensitivity,
    slope_K_per_W: slope,
    speedSlope_K: speedSlope,
    loading_W: loading,
    runShift_K: presentShift(posterior, loading),
  };
}

/** What the present session, the last that the runs name, adds to a reading as far as the runs have told, K. */
function presentShift(
  { bench, source, sessions, sessionEffects }: BenchPosterior,
  loading_W: number,
): number {
  const last = sessions.length - 1;
  const ofSensor = offsetOn(bench, source, sessions[last]).value_K;
  return ofSensor + (sessionEffects ? effectOn(sessionEffects, last, loading_W) : 0);
}
