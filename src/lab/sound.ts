import type { SoundSpec } from './cooler-spec.ts';

/**
 * Level of a cooler alone: `full + 50·lg n` for the fans, a tone that stands out near one speed, and a pump that does not slow down, added as
 * energy (50·lg of speed: fan sound laws, ANSI/AMCA Standard 301, from memory; sums of incoherent sources: ISO 3744).
 *
 * @param speed  fan speed over full speed
 * @returns dBA; −Infinity for a fan at rest without a pump
 */
export function ownLevel(sound: SoundSpec, speed: number): number {
  const bell = Math.exp(-0.5 * ((speed - sound.tone_at) / sound.tone_width) ** 2);
  const fans = sound.full_dBA + 50 * Math.log10(speed) + sound.tone_dB * bell;
  return sound.pump_dBA === undefined ? fans : addLevels(fans, sound.pump_dBA);
}

/**
 * Energy sum of two levels.
 *
 * @example addLevels(30, 30) // 33.01
 */
export function addLevels(a_dBA: number, b_dBA: number): number {
  return 10 * Math.log10(10 ** (a_dBA / 10) + 10 ** (b_dBA / 10));
}
