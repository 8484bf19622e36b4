import { normalCdf } from '../numerics/distributions.ts';
import { mixtureQuantile } from '../numerics/mixture.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { MOUNT, READING, SAMPLE } from '../posterior/scatter.ts';
import type { SpeedCondition } from '../prediction/conditions.ts';
import { fanShare, isExtrapolated, meanMixture } from '../prediction/predict.ts';
import { type DistributionAtSpeed, distributionsAt, withSpeedShifts } from '../prediction/speed-spread.ts';

/**
 * One cooler's mean rise at one load, as a comparison needs it: the middle, and how far it may lie on either side at the
 * critical multiple of the whole family of pairs. Beyond the tested loads the two sides differ, because a heat-pipe limit
 * can only make things worse. The errors that all coolers share are kept apart, as sensitivities.
 */
export interface RiseLimits {
  readonly power_W: number;
  readonly middle_K: number;
  /** Distance down and up from the middle at the family's critical multiple, without shared errors, K. */
  readonly down_K: number;
  readonly up_K: number;
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
}

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
  const tail = normalCdf(-critical(Number.POSITIVE_INFINITY));
  return distributionsAt(posterior, cooler, power_W, at).map((distribution) => {
    const stretch = critical(distribution.meanFreedom) / critical(Number.POSITIVE_INFINITY);
    const own = withSpeedShifts(distribution.mean, distribution.speedShifts);
    const middle_K = mixtureQuantile(own, 0.5);
    return {
      power_W: distribution.power_W,
      middle_K,
      down_K: middle_K - mixtureQuantile(own, tail, stretch),
      up_K: mixtureQuantile(own, 1 - tail, stretch) - middle_K,
      sensitivity: distribution.meanSensitivity,
      distribution,
      extrapolated: isExtrapolated(cooler, distribution.power_W, fanShare(at)),
    };
  });
}

/** Interval of the mean, shared errors included, for a table of one cooler at a time. */
export function meanInterval(
  limits: RiseLimits,
  shared: Float64Array,
  level: number,
): { low_K: number; high_K: number } {
  const mixture = meanMixture(limits.distribution, shared, level);
  const tail = (1 - level) / 2;
  // As in `predict`: no true rise is below nought.
  return { low_K: Math.max(0, mixtureQuantile(mixture, tail)), high_K: mixtureQuantile(mixture, 1 - tail) };
}

/**
 * Interval of a difference of two coolers' means by MOVER: each side is the root of the sum of squares of the sides that
 * push the difference that way, plus the shared errors in so far as the two answer to them differently.
 *
 * Source: Zou and Donner (2008) Statistics in Medicine 27, 1693 (method of variance estimates recovery).
 *
 * @param multiple  critical multiple with which the limits were taken, for the shared errors
 */
export function differenceInterval(
  a: RiseLimits,
  b: RiseLimits,
  shared: Float64Array,
  multiple: number,
): { rise_K: number; low_K: number; high_K: number } {
  const rise_K = a.middle_K - b.middle_K;
  let common = 0;
  for (let k = 0; k < shared.length; k++) {
    const apart = (a.sensitivity[k] - b.sensitivity[k]) * shared[k] * multiple;
    common += apart * apart;
  }
  return {
    rise_K,
    low_K: rise_K - Math.sqrt(a.down_K ** 2 + b.up_K ** 2 + common),
    high_K: rise_K + Math.sqrt(a.up_K ** 2 + b.down_K ** 2 + common),
  };
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
