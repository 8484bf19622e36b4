import type { FanSoundLaw } from './fan-sound.ts';
import { type SpeedAtLevel, type SpeedAtLevelOptions, speedAtLevel } from './speed-at-level.ts';

export interface DecibelsBought {
  cooler: string;
  /** Where the cooler stands at the level, and at the level plus the decibels to spend. */
  from: SpeedAtLevel;
  to: SpeedAtLevel;
  from_K: number;
  to_K: number;
  /** What the louder level takes off the rise, K. */
  gain_K: number;
  /**
   * Standard uncertainty of the gain by the two speeds, K: the rise's own uncertainty is the caller's to add. The two
   * speeds are taken as independent; what they share would make it less.
   */
  u_gain_K: number;
  /** Decibels truly spent, less than asked for when an end of the fan's speeds holds it. */
  spent_dB: number;
}

/**
 * What some decibels buy: how much cooler a cooler gets when it may be louder.
 *
 * Rise falls with speed ever more slowly while the level climbs by the logarithm of speed, so the first decibels above
 * a whisper buy most. The metered level counts: near the background a decibel on the meter is several of the fan's.
 *
 * @param law        the cooler's sound
 * @param rise_K     its rise at a fan speed, K
 * @param sound_dBA  level to start from, as `target` of the options says (metered by default)
 * @param options    `spend_dB` (5), and the options of `speedAtLevel`
 * @throws BenchError as `speedAtLevel`
 * @example decibelsBought(law, (n) => 30 + 20e3 / n, 35).gain_K // K for 5 dB more
 */
export function decibelsBought(
  law: FanSoundLaw,
  rise_K: (fan_rpm: number) => number,
  sound_dBA: number,
  options: SpeedAtLevelOptions & { spend_dB?: number } = {},
): DecibelsBought {
  const { spend_dB = 5, ...rest } = options;
  const from = speedAtLevel(law, sound_dBA, rest);
  const to = speedAtLevel(law, sound_dBA + spend_dB, rest);
  const from_K = rise_K(from.fan_rpm);
  const to_K = rise_K(to.fan_rpm);
  const shift = (at: SpeedAtLevel): number =>
    rise_K(at.fan_rpm + at.u_rpm / 2) - rise_K(at.fan_rpm - at.u_rpm / 2);
  return {
    cooler: law.cooler,
    from,
    to,
    from_K,
    to_K,
    gain_K: from_K - to_K,
    u_gain_K: Math.hypot(shift(from), shift(to)),
    spent_dB: to.sound_dBA - from.sound_dBA,
  };
}
