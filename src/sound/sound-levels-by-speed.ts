import type { SoundReading } from './collect-noise.ts';
import { energyShare } from './energy-sum.ts';

/** Readings of one sample in one session at (nearly) one speed, taken together. */
export interface SpeedGroup {
  /** Mean of lg(fan_rpm). */
  lgSpeed: number;
  /** Mean metered level, dBA. */
  sound_dBA: number;
  count: number;
  /** Sum of squares of the readings about the group, the law's slope within it taken out, dB². */
  scatter_dB2: number;
  /** Index of the sample among the cooler's, and of the session among the bench's. */
  sample: number;
  session: number;
  /** What the meter of its session is thought to read too high of the cooler, dB. */
  offset_dB?: number;
}

/** Speeds closer than this are one speed: a fan under fixed duty wanders by some tenths of a percent. */
const SAME_SPEED_decades = 0.002;
const GREATEST_NUMBER_OF_GROUPS = 30;
const TYPICAL_SLOPE_dB = 50;

/**
 * Repeated readings put together by sample, session and speed.
 *
 * The mean of the repeats keeps what they say about the law, and their spread about it what they say about the
 * meter's repeatability: for normal scatter nothing is lost. Speeds within 0.5 % are one speed; where that leaves more
 * than 30 groups the tolerance is doubled until it does not. The rise of the law within a group is taken out at
 * 50 dB a decade, weakened near the background as the energy sum weakens it.
 *
 * @param readings        readings of one cooler, speeds positive
 * @param background_dBA  level with the fan off, if known
 * @param sessions        of the whole bench
 */
export function groupBySpeed(
  readings: readonly SoundReading[],
  background_dBA: number | undefined,
  sessions: readonly string[] = [''],
): SpeedGroup[] {
  const samples = [...new Set(readings.map((r) => r.sample))];
  const sorted = readings
    .map((r) => ({
      x: Math.log10(r.fan_rpm),
      y: r.sound_dBA,
      sample: samples.indexOf(r.sample),
      session: Math.max(sessions.indexOf(r.session ?? ''), 0),
    }))
    .sort((p, q) => p.sample - q.sample || p.session - q.session || p.x - q.x);
  for (let tolerance = SAME_SPEED_decades; ; tolerance *= 2) {
    const groups: (typeof sorted)[] = [];
    for (const reading of sorted) {
      const last = groups[groups.length - 1];
      const isOfLast = last && last[0].sample === reading.sample && last[0].session === reading.session;
      if (isOfLast && reading.x - last[0].x <= tolerance) last.push(reading);
      else groups.push([reading]);
    }
    if (groups.length > GREATEST_NUMBER_OF_GROUPS && tolerance < 1) continue;
    return groups.map((group) => {
      const count = group.length;
      const lgSpeed = group.reduce((sum, r) => sum + r.x, 0) / count;
      const sound_dBA = group.reduce((sum, r) => sum + r.y, 0) / count;
      const slope = TYPICAL_SLOPE_dB * shareOfMetered(sound_dBA, background_dBA);
      const scatter_dB2 = group.reduce((sum, r) => sum + (r.y - sound_dBA - slope * (r.x - lgSpeed)) ** 2, 0);
      const { sample, session } = group[0];
      return { lgSpeed, sound_dBA, count, scatter_dB2, sample, session };
    });
  }
}

/** A first guess of the level of the source alone; readings at or below the background are put 6 dB under it. */
export function roughOwnLevel(metered_dBA: number, background_dBA: number | undefined): number {
  if (background_dBA === undefined) return metered_dBA;
  const above_dB = metered_dBA - background_dBA;
  if (above_dB <= 0.97) return background_dBA - 6;
  return metered_dBA + 10 * Math.log10(1 - 10 ** (-above_dB / 10));
}

function shareOfMetered(metered_dBA: number, background_dBA: number | undefined): number {
  return energyShare(roughOwnLevel(metered_dBA, background_dBA), background_dBA);
}

/** What a dB of each session's meter error adds to each group's metered level: the share of the cooler itself in it, n × S. */
export function sessionDesign(
  groups: readonly SpeedGroup[],
  share: Float64Array,
  sessions: number,
): Float64Array {
  const design = new Float64Array(groups.length * sessions);
  groups.forEach(({ session }, i) => {
    design[i * sessions + session] = share[i];
  });
  return design;
}
