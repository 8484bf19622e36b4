import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { MOUNT, READING, SAMPLE } from '../fit/components.ts';
import { stretchesAt } from '../numerics/degrees-of-freedom.ts';
import { normalCdf, normalQuantile } from '../numerics/distributions.ts';
import {
  type MixtureSpace,
  mixtureCdf,
  mixtureDifference,
  mixtureMean,
  mixtureQuantile,
  type NormalMixture,
  reducedMixture,
} from '../numerics/mixture.ts';
import type { SpeedCondition } from '../predict/at-conditions.ts';
import type { Conditions } from '../predict/conditions.ts';
import { isExtrapolated, leastRise, meanMixture } from '../predict/predict.ts';
import { sharedUncertainties, sharedVariance } from '../predict/shared-errors.ts';
import { type DistributionAtSpeed, distributionsAt, withSpeedShifts } from '../predict/speed-spread.ts';
import { criticalOf } from './critical-value.ts';

/**
 * One cooler's mean rise at one load, as a comparison needs it. The errors that all coolers share are kept apart, as
 * sensitivities.
 */
export interface RiseLimits {
  readonly power_W: number;
  /** The mean of the distribution, the same as `predict` gives. */
  readonly middle_K: number;
  /** What is known of it without the shared errors: few parts, each already stretched for its degrees of freedom. */
  readonly own: NormalMixture;
  /** Distance down and up from the mean to the limits that `own` has at the family's multiple, K. */
  readonly down_K: number;
  readonly up_K: number;
  /** What no true rise is below, and whether `own` reaches below it, K. */
  readonly least_K: number;
  readonly sensitivity: Float64Array;
  readonly distribution: DistributionAtSpeed;
  readonly extrapolated: boolean;
}

/** A cooler in a comparison: its condition and its limits at every load looked at. */
export interface ComparedCooler {
  readonly posterior: CoolerPosterior;
  readonly name: string;
  readonly at: SpeedCondition;
  readonly limits: readonly RiseLimits[];
  /** Whether a run may be proposed there, at every load looked at. */
  readonly withinReach: readonly boolean[];
}

/** The test by which coolers are told apart at one load: all pairs together. */
export interface PairTest {
  readonly level: number;
  /** Multiple of the standard error for given degrees of freedom, and for infinitely many. */
  readonly critical: (freedom: number) => number;
  readonly multiple: number;
  /** Share of a pair's distribution beyond either of its limits. */
  readonly tail: number;
  /** Standard uncertainties of the shared errors. */
  readonly shared: Float64Array;
  readonly space: MixtureSpace;
}

/** The test of all pairs of some coolers at a level; `meterErrors` as in `sharedUncertainties`. */
export function pairTest(
  posterior: BenchPosterior,
  coolers: number,
  level: number,
  meterErrors = 0,
  paste?: Conditions['paste'],
): PairTest {
  const critical = criticalOf(posterior.bench, coolers, level);
  const multiple = critical(Number.POSITIVE_INFINITY);
  const shared = sharedUncertainties(posterior, meterErrors, paste);
  return { level, critical, multiple, tail: normalCdf(-multiple), shared, space: [] };
}

/** Parts that stand for a cooler's distribution in a comparison: a few keep its skewness and its tails. */
const MOST_PARTS = 4;
/** What a merging may move a distribution by, as a Kullback–Leibler divergence. */
const LOSS = 1e-4;

/**
 * Limits of one cooler at several loads.
 *
 * @param critical  multiple of the standard error for given degrees of freedom, all pairs together
 */
export function riseLimits(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  at: SpeedCondition,
  power_W: readonly number[],
  critical: (freedom: number) => number,
): RiseLimits[] {
  return limitsOf(cooler, at, distributionsAt(posterior, cooler, power_W, at), critical);
}

/** The same from distributions that are there already. */
export function limitsOf(
  cooler: CoolerPosterior,
  at: SpeedCondition,
  distributions: readonly DistributionAtSpeed[],
  critical: (freedom: number) => number,
): RiseLimits[] {
  const multiple = critical(Number.POSITIVE_INFINITY);
  const tail = normalCdf(-multiple);
  const stretches = stretchesAt(1 - 2 * tail);
  return distributions.map((distribution) => {
    const stretch = critical(distribution.meanFreedom) / multiple;
    const { weight, mean, deviation } = distribution.mean;
    const stretched = { weight, mean, deviation: deviation.map((d) => d * stretch) };
    const own = reducedMixture(withSpeedShifts(stretched, distribution.speedShifts), MOST_PARTS, LOSS);
    const middle_K = mixtureMean(own);
    return {
      power_W: distribution.power_W,
      middle_K,
      own,
      down_K: middle_K - mixtureQuantile(own, tail),
      up_K: mixtureQuantile(own, 1 - tail) - middle_K,
      least_K: leastRise(distribution, noErrors(distribution), 1 - 2 * tail, stretches),
      sensitivity: distribution.meanSensitivity,
      distribution,
      extrapolated: isExtrapolated(cooler, distribution.power_W, at),
    };
  });
}

function noErrors({ meanSensitivity }: DistributionAtSpeed): Float64Array {
  return new Float64Array(meanSensitivity.length);
}

/** Interval of the mean, shared errors included, for a table of one cooler at a time. */
export function meanInterval(
  limits: RiseLimits,
  shared: Float64Array,
  level: number,
): { low_K: number; high_K: number } {
  const stretch = stretchesAt(level);
  const mixture = meanMixture(limits.distribution, shared, stretch);
  const tail = (1 - level) / 2;
  const least = leastRise(limits.distribution, shared, level, stretch);
  return {
    low_K: Math.max(least, mixtureQuantile(mixture, tail)),
    high_K: mixtureQuantile(mixture, 1 - tail),
  };
}

/** The difference of two coolers' mean rises: estimate, limits, and the chance that it is below zero. */
export interface Difference {
  readonly rise_K: number;
  readonly low_K: number;
  readonly high_K: number;
  readonly p_less: number;
}

/** Variance that the shared errors bring into a difference, K²: in so far as the two answer to them differently. */
function commonVariance(a: RiseLimits, b: RiseLimits, shared: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < shared.length; k++) {
    const apart = ((a.sensitivity[k] ?? 0) - (b.sensitivity[k] ?? 0)) * shared[k];
    sum += apart * apart;
  }
  return sum;
}

/**
 * Difference a − b by its own distribution: that of two independent mixtures and of the shared errors. Its limits leave a
 * share `tail` on either side, so that a pair is told apart where the chance of its order is beyond that of the whole
 * family's test, and nowhere else. For normal distributions these are the limits of Tukey and Kramer.
 *
 * Neither rise is below its least, which bounds the difference where a distribution reaches below that: a − b is at least
 * a's least less b.
 *
 * @param tail  that of the test of all pairs, or (1 − level)/2 for a pair alone
 */
export function differenceInterval(
  a: RiseLimits,
  b: RiseLimits,
  { shared, space }: Pick<PairTest, 'shared' | 'space'>,
  tail: number,
): Difference {
  const common = commonVariance(a, b, shared);
  const rise_K = a.middle_K - b.middle_K;
  if (a.own.weight.length === 1 && b.own.weight.length === 1) {
    const deviation = Math.sqrt(a.own.deviation[0] ** 2 + b.own.deviation[0] ** 2 + common);
    const half = -normalQuantile(tail) * deviation;
    const p_less = normalCdf(-rise_K / deviation);
    return bounded(a, b, rise_K, rise_K - half, rise_K + half, p_less, common, tail);
  }
  const difference = mixtureDifference(a.own, b.own, common, space);
  const low_K = mixtureQuantile(difference, tail);
  const high_K = mixtureQuantile(difference, 1 - tail);
  return bounded(a, b, rise_K, low_K, high_K, mixtureCdf(difference, 0), common, tail);
}

/**
 * Which of two is told to be the cooler one, where {@link differenceInterval} at the tail of the test of all pairs leaves zero outside: −1 the first,
 * 1 the second, 0 neither. Found without the limits themselves, by the share of the difference beyond zero.
 */
export function toldApart(
  a: RiseLimits,
  b: RiseLimits,
  test: Pick<PairTest, 'shared' | 'space' | 'tail' | 'multiple'>,
): -1 | 0 | 1 {
  if (!reachesBelow(a) && !reachesBelow(b)) {
    const common = commonVariance(a, b, test.shared);
    const enough = test.tail * (1 + NEAR);
    let [least, greatest] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
    const zOf = (i: number, j: number): number => {
      const variance = a.own.deviation[i] ** 2 + b.own.deviation[j] ** 2 + common;
      return (a.own.mean[i] - b.own.mean[j]) / Math.sqrt(variance);
    };
    const [first, second] = [a.own.weight, b.own.weight];
    for (let i = 0; i < first.length; i++) {
      for (let j = 0; j < second.length; j++) {
        const z = zOf(i, j);
        // One part with enough on either side of zero keeps the two together.
        if (Math.abs(z) < test.multiple && first[i] * second[j] * normalCdf(-Math.abs(z)) > enough) return 0;
        least = Math.min(least, z);
        greatest = Math.max(greatest, z);
      }
    }
    // Parts that agree decide without their shares.
    if (least > test.multiple + NEAR) return 1;
    if (greatest < -test.multiple - NEAR) return -1;
    let below = 0;
    for (let i = 0; i < first.length; i++)
      for (let j = 0; j < second.length; j++) below += first[i] * second[j] * normalCdf(-zOf(i, j));
    if (below < test.tail * (1 - NEAR)) return 1;
    if (1 - below < test.tail * (1 - NEAR)) return -1;
    if (below > enough && 1 - below > enough) return 0;
  }
  const { low_K, high_K } = differenceInterval(a, b, test, test.tail);
  return low_K > 0 ? 1 : high_K < 0 ? -1 : 0;
}

/** So near to a limit it is worked out. */
const NEAR = 1e-6;

/** A difference held within what the two least rises allow. */
function bounded(
  a: RiseLimits,
  b: RiseLimits,
  rise_K: number,
  freeLow_K: number,
  freeHigh_K: number,
  freeLess: number,
  common: number,
  tail: number,
): Difference {
  let low_K = freeLow_K;
  let high_K = freeHigh_K;
  let p_less = freeLess;
  if (reachesBelow(a)) {
    const most = withVariance(b.own, common);
    low_K = Math.max(low_K, a.least_K - mixtureQuantile(most, 1 - tail));
    p_less = Math.min(p_less, 1 - mixtureCdf(most, a.least_K));
  }
  if (reachesBelow(b)) {
    const most = withVariance(a.own, common);
    high_K = Math.min(high_K, mixtureQuantile(most, 1 - tail) - b.least_K);
    p_less = Math.max(p_less, mixtureCdf(most, b.least_K));
  }
  return { rise_K, low_K, high_K, p_less };
}

function reachesBelow({ middle_K, down_K, least_K }: RiseLimits): boolean {
  return middle_K - down_K < least_K;
}

function withVariance({ weight, mean, deviation }: NormalMixture, variance: number): NormalMixture {
  return { weight, mean, deviation: deviation.map((d) => Math.sqrt(d * d + variance)) };
}

/**
 * Each cooler's mean rise with its share of the shared errors: what it answers to them beside the average cooler, so that
 * any two of them are as far apart in them as {@link differenceInterval} has it, on average over the pairs.
 */
export function ownAndApart(
  limits: readonly RiseLimits[],
  { shared }: Pick<PairTest, 'shared'>,
): NormalMixture[] {
  const count = limits.length;
  if (count < 2) return limits.map(({ own }) => own);
  const average = shared.map(
    (_, k) => limits.reduce((sum, one) => sum + (one.sensitivity[k] ?? 0), 0) / count,
  );
  return limits.map(({ own, sensitivity }) => {
    const apart = sharedVariance(
      sensitivity.map((s, k) => s - average[k]),
      shared,
    );
    return withVariance(own, (apart * count) / (count - 1));
  });
}

/**
 * The least difference that k fresh mounts of one specimen of each of two coolers would resolve at a load, one reading
 * each: critical · √(2·(σ_s²q² + (σ_m²q² + σ_r²)/k)). The specimen's scatter stays however often it is mounted.
 */
export function resolvableDifference(
  scatter: readonly number[],
  loading_W: number,
  mounts: number,
  multiple: number,
): number {
  const sample = (scatter[SAMPLE] * loading_W) ** 2;
  const mount = (scatter[MOUNT] * loading_W) ** 2;
  return multiple * Math.sqrt(2 * (sample + (mount + scatter[READING] ** 2) / mounts));
}
