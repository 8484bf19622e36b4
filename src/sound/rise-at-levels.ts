import { differenceInterval, type PairTest, type RiseLimits, riseLimits } from '../compare/rise-limits.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import {
  type CoolerWithSound,
  inRoom,
  type SpeedCondition,
  speedForSound,
} from '../predict/at-conditions.ts';

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

/** The test of `compare`, in a room of this density over the bench's: the air side answers to it as to fan speed. */
export type LevelTest = PairTest & { readonly density: number };

/** Every cooler at the speed at which it makes one level, held by the ends of its fan's speeds. */
export function coolersAtLevel(
  posterior: BenchPosterior,
  withSound: readonly CoolerWithSound[],
  sound_dBA: number,
  power_W: number,
  test: LevelTest,
): CoolerAtLevel[] {
  return withSound.map(({ cooler, law }) => {
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
export function undominatedAmong(coolers: readonly CoolerAtLevel[], test: LevelTest): boolean[] {
  return coolers.map(
    (one) =>
      !coolers.some(
        (other) =>
          other !== one &&
          other.sound_dBA <= one.sound_dBA + SAME_LEVEL_dB &&
          differenceInterval(other.limits, one.limits, test, test.tail).high_K < 0,
      ),
  );
}
