import { pairwiseCritical } from '../comparison/critical-value.ts';
import { differenceInterval, type RiseLimits, riseLimits } from '../comparison/rise-limits.ts';
import type { BenchPosterior } from '../posterior/bench-posterior.ts';
import { type HeardCooler, inRoom, type SpeedCondition, speedForSound } from '../prediction/conditions.ts';
import { sharedUncertainties } from '../prediction/shared-errors.ts';

/** A cooler at one level of sound and one load. */
export interface CoolerAtLevel {
  readonly cooler: string;
  readonly at: SpeedCondition;
  readonly limits: RiseLimits;
  /** Metered level at its speed, dBA. */
  readonly sound_dBA: number;
  /** False where its least stable speed is louder, or its greatest quieter, than the level asked for. */
  readonly reached: boolean;
}

/** The test by which coolers are told apart at one load: all pairs together. */
export interface PairTest {
  readonly difference: (a: RiseLimits, b: RiseLimits) => { rise_K: number; low_K: number; high_K: number };
  readonly critical: (freedom: number) => number;
  readonly shared: Float64Array;
  readonly level: number;
  /** Density of the room's air over that of the bench: the air side answers to it as to fan speed. */
  readonly density: number;
}

/** The test of `compare` for a number of coolers in a room of this density over the bench's. */
export function pairTest(
  posterior: BenchPosterior,
  coolers: number,
  level: number,
  density: number,
): PairTest {
  const shared = sharedUncertainties(posterior);
  const critical = pairwiseCritical(coolers, level);
  const multiple = critical(Number.POSITIVE_INFINITY);
  return {
    critical,
    shared,
    level,
    density,
    difference: (a, b) => differenceInterval(a, b, shared, multiple),
  };
}

/** Every cooler at the speed at which it makes one level, held by the ends of its fan's speeds. */
export function coolersAtLevel(
  posterior: BenchPosterior,
  heard: readonly HeardCooler[],
  sound_dBA: number,
  power_W: number,
  test: PairTest,
): CoolerAtLevel[] {
  return heard.map(({ cooler, law }) => {
    const at = inRoom(speedForSound(cooler, law, sound_dBA, test.level), test.density);
    return {
      cooler: cooler.data.cooler.cooler,
      at,
      limits: riseLimits(posterior, cooler, at, [power_W], test.critical)[0],
      sound_dBA: at.found.sound_dBA,
      reached: at.found.limitedBy === 'none',
    };
  });
}

/** Levels closer than this are one level: what a meter shows is no finer. */
const SAME_LEVEL_dB = 0.1;

/**
 * The coolers that no other beats: none that is no louder is told to be cooler.
 *
 * Unlike an order by estimates this keeps every cooler that the test cannot tell from a better one: to be dropped a
 * cooler has to be beaten for certain. The levels themselves are compared by their estimates, all metered by one meter.
 *
 * @returns for each entry whether it is undominated
 */
export function undominatedAmong(coolers: readonly CoolerAtLevel[], test: PairTest): boolean[] {
  return coolers.map(
    (one) =>
      !coolers.some(
        (other) =>
          other !== one &&
          other.sound_dBA <= one.sound_dBA + SAME_LEVEL_dB &&
          test.difference(other.limits, one.limits).high_K < 0,
      ),
  );
}
