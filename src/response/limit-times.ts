import { fosterFromCauer } from './cauer.ts';
import { type CoolerNetwork, networkAtSpeed } from './fit-network.ts';
import { timeToLimit } from './time-to-limit.ts';

/** When a source meets its temperature limit. */
export interface LimitTimes {
  limit_C: number;
  /** First time at which the profile takes the source there; `null`: it does not. */
  reached_s: number | null;
  /** The greatest load of the profile, its fan speed, and how long it could be held from ambient; `null`: at steady state. */
  held: { power_W: number; fan_rpm: number; seconds: number | null };
}

/**
 * When a simulated temperature first reaches a limit, by straight lines between its times, and how long the greatest load
 * of the profile could be held from cold.
 *
 * @param greatest  the profile's greatest load with its speed and, where known, its steady resistance
 */
export function limitTimes(
  network: CoolerNetwork,
  limit_C: number,
  ambient_C: number,
  { time_s, source_C }: { readonly time_s: readonly number[]; readonly source_C: readonly number[] },
  greatest: {
    readonly power_W: number;
    readonly fan_rpm: number;
    readonly resistance_K_per_W?: number;
  },
): LimitTimes {
  const rungs = networkAtSpeed(network, greatest.fan_rpm, greatest.resistance_K_per_W);
  const seconds = timeToLimit(fosterFromCauer(rungs), greatest.power_W, limit_C - ambient_C);
  return {
    limit_C,
    reached_s: firstReached(time_s, source_C, limit_C),
    held: {
      power_W: greatest.power_W,
      fan_rpm: greatest.fan_rpm,
      seconds: Number.isFinite(seconds) ? seconds : null,
    },
  };
}

/** When a temperature is first reached, between two times by a straight line; null: never. */
function firstReached(
  time_s: readonly number[],
  source_C: readonly number[],
  limit_C: number,
): number | null {
  const after = source_C.findIndex((value) => value >= limit_C);
  if (after < 0) return null;
  if (after === 0) return time_s[0];
  const [low, high] = [source_C[after - 1], source_C[after]];
  return time_s[after - 1] + ((limit_C - low) / (high - low)) * (time_s[after] - time_s[after - 1]);
}
