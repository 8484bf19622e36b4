import type { Cooler } from '../bench/bench.ts';

/** The slowest that a fan is taken to run steadily. */
export interface LeastSpeed {
  fan_rpm: number;
  /** True when coolers.csv does not say. */
  assumed: boolean;
  /** What was assumed and why, empty where nothing was. */
  reason: string;
}

/** Share of the greatest speed to which a fan under pulse-width control goes down (common practice, no source: 20 to 30 %). */
const STEADY_SHARE = 0.3;

/**
 * The least stable speed of a cooler's fan: `fan_min_rpm` of coolers.csv, or what is assumed in its place.
 *
 * A speed at which the cooler was run or metered is one at which its fan runs. Below the lowest of those nothing is
 * known, so 30 % of the greatest speed is assumed, or the lowest seen where that is lower still.
 *
 * @param cooler    row of coolers.csv
 * @param seen_rpm  speeds at which it was run or metered, 0 left out of account
 * @example leastSpeed({ ...bench.coolers[0], fan_min_rpm: undefined }, [1200]) // { fan_rpm: 570, assumed: true, reason: '…30 % of its greatest…' }
 */
export function leastSpeed(cooler: Cooler, seen_rpm: Iterable<number>): LeastSpeed {
  // A stated 0 says that the fan can stand still, not how slowly it turns steadily.
  if (cooler.fan_min_rpm) return { fan_rpm: cooler.fan_min_rpm, assumed: false, reason: '' };
  const share = STEADY_SHARE * cooler.fan_max_rpm;
  let lowest = Number.POSITIVE_INFINITY;
  for (const rpm of seen_rpm) if (rpm > 0) lowest = Math.min(lowest, rpm);
  const reason =
    lowest <= share
      ? `${Math.round(lowest)} rpm, the lowest at which it was run or metered`
      : `${Math.round(share)} rpm, ${Math.round(100 * STEADY_SHARE)} % of its greatest (common practice)`;
  return { fan_rpm: Math.min(lowest, share), assumed: true, reason };
}
