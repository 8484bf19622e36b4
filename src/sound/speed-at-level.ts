import { BenchError } from '../bench/bench-error.ts';
import { normalQuantile } from '../numerics/distributions.ts';
import { rootBetween } from '../numerics/roots.ts';
import { studyOf } from '../study.ts';
import { CORRECTION_VALID_FROM_dB } from './energy-sum.ts';
import {
  type FanSoundLaw,
  meanOfMixture,
  meterSlopes,
  probabilityLouder,
  type SoundMixture,
  soundAtSpeed,
  soundMixtureAt,
  withMeterErrors,
} from './fan-sound.ts';

/** Where the fan of a cooler stands at a target level. */
export interface SpeedAtLevel {
  /** The speed at which the cooler meets the target, or the nearest end of what its fan can do. */
  fan_rpm: number;
  /** Standard uncertainty of that speed, the meter's systematic error not included; 0 where an end holds it firmly. */
  u_rpm: number;
  low_rpm: number;
  high_rpm: number;
  /** What the meter will show at `fan_rpm`, background included where one is known. */
  sound_dBA: number;
  /** The cooler's own level at `fan_rpm`. */
  own_dBA: number;
  limitedBy: 'none' | 'least-stable-speed' | 'greatest-speed';
  /** Speed and interval before the ends of the fan's speeds hold them, rpm. */
  unlimited: { fan_rpm: number; low_rpm: number; high_rpm: number };
  /**
   * With several sessions of the meter: the interval without its errors in them, and what each independent part of these does to the
   * logarithm of the speed, a standard deviation. They are one error of all coolers metered in a session.
   */
  withoutMeter?: { low_rpm: number; high_rpm: number; meter_ln: Float64Array };
  /** Standard normal multiple that the interval's level stands for (1.96 at 95 %). */
  multiple: number;
  /** Change of speed for one more dB of the target: shared by all coolers on one meter, so kept apart. */
  rpm_per_dB: number;
  /** The meter's standard uncertainty, by which `rpm_per_dB` turns into speed when the level matters as such. */
  systematic_dB: number;
  notes: string[];
}

export interface SpeedAtLevelOptions {
  /** `metered`: background included, at the bench's distance (default). `own`: the cooler's own level. */
  target?: 'metered' | 'own';
  fan_min_rpm?: number;
  fan_max_rpm?: number;
  /** Confidence level of low and high, default 0.95. */
  level?: number;
}

/**
 * The fan speed at which a cooler reaches a target sound level.
 *
 * The own level asked for is the target with the background's energy taken out. The speed is where the mean own level
 * first meets it for good: bumps can make the level dip, and the greatest speed that is still within the target serves
 * the cooler best. Its interval comes from the probability of being louder than the target, speed by speed: at
 * `low_rpm` that is 2.5 %, at `high_rpm` 97.5 %, with the law, its bumps and what is unknown of their size in it.
 * With the target metered by the same meter as the readings, the meter's systematic error does not touch the speed at
 * all; when the level is meant as such, it adds `rpm_per_dB · systematic_dB`, the same way for every cooler.
 *
 * A cooler that cannot be that quiet (least stable speed) or that loud is put at its nearest end, and a note says so.
 *
 * @param law        of `fitFanSound`
 * @param sound_dBA  target level, dBA
 * @throws BenchError if a metered target is at or below the background, or is not a number
 * @example speedAtLevel(law, 35).fan_rpm // 1067 for a law of −117 + 50·lg(n) and a background of 26 dBA
 */
export function speedAtLevel(
  law: FanSoundLaw,
  sound_dBA: number,
  options: SpeedAtLevelOptions = {},
): SpeedAtLevel {
  const { target = 'metered', fan_min_rpm, fan_max_rpm, level = 0.95 } = options;
  const { background_dBA } = law;
  if (!Number.isFinite(sound_dBA)) {
    throw new BenchError('--sound', 1, 1, `${sound_dBA} is not a level; a number of dBA is accepted`);
  }
  const known_dBA = target === 'metered' ? background_dBA : undefined;
  const own_dBA = known_dBA === undefined ? sound_dBA : ownTarget(sound_dBA, known_dBA);
  const tail = (1 - level) / 2;
  const free = freeSpeeds(law, own_dBA, tail, [fan_min_rpm ?? 0, fan_max_rpm ?? 0]);

  const least = fan_min_rpm ?? 0;
  const greatest = fan_max_rpm ?? Infinity;
  const clamp = (n: number): number => Math.min(Math.max(n, least), greatest);
  const fan_rpm = clamp(free.fan_rpm);
  const low_rpm = clamp(free.low_rpm);
  const high_rpm = clamp(free.high_rpm);
  const at = soundAtSpeed(law, fan_rpm);
  const limitedBy =
    free.fan_rpm < least ? 'least-stable-speed' : free.fan_rpm > greatest ? 'greatest-speed' : 'none';
  const step = fan_rpm * 0.01;
  const slope_dB_per_rpm =
    (soundAtSpeed(law, fan_rpm + step).own_dBA - soundAtSpeed(law, fan_rpm - step).own_dBA) / (2 * step);
  const metered_to_own = known_dBA === undefined ? 1 : 10 ** ((at.metered_dBA - at.own_dBA) / 10);
  const multiple = normalQuantile(1 - tail);
  return {
    fan_rpm,
    u_rpm: (high_rpm - low_rpm) / (2 * multiple),
    multiple,
    low_rpm,
    high_rpm,
    sound_dBA: at.metered_dBA,
    own_dBA: at.own_dBA,
    limitedBy,
    unlimited: { fan_rpm: free.fan_rpm, low_rpm: free.low_rpm, high_rpm: free.high_rpm },
    ...(law.meter && {
      withoutMeter: {
        ...free.withoutMeter,
        meter_ln: meterSlopes(law, free.fan_rpm).map(
          (dB) => -dB / Math.max(slope_dB_per_rpm * fan_rpm, LEAST_SLOPE_dB),
        ),
      },
    }),
    rpm_per_dB: limitedBy === 'none' ? metered_to_own / Math.max(slope_dB_per_rpm, 1e-9) : 0,
    systematic_dB: law.systematic_dB,
    notes: [
      ...law.notes,
      ...backgroundNotes(sound_dBA, target, background_dBA),
      ...endNotes(law, sound_dBA, limitedBy, fan_rpm, at.metered_dBA),
    ],
  };
}

/**
 * Where the own level meets its target if the fan could run at any speed: the greatest speed within it by the mean, and
 * the speeds at which the chance of being louder is `tail` and 1 − `tail`, the meter's errors included and without.
 *
 * @param ends  least and greatest speed of the fan, rpm; 0 where it has none
 */
function freeSpeeds(law: FanSoundLaw, own_dBA: number, tail: number, ends: readonly [number, number]) {
  // A least speed of 0 is a fan that can be let stand still: no end to look from.
  const bottom = Math.min(...[law.lowestSpeed_rpm, ...ends].filter((n) => n > 0)) / 20;
  const top = 20 * Math.max(law.greatestSpeed_rpm, ends[1]);
  const speeds = lookedAt(bottom, top, law);
  const seen = mixturesAt(law, speeds);
  const mixtureAt = (n: number): SoundMixture => {
    const mixture = seen.get(n) ?? soundMixtureAt(law, n);
    seen.set(n, mixture);
    return mixture;
  };
  const fan_rpm = lastCrossing((n) => meanOfMixture(mixtureAt(n)) - own_dBA, speeds);
  const limits = (at: (n: number) => SoundMixture) => {
    const louder = (chance: number) => (n: number) => probabilityLouder(at(n), own_dBA) - chance;
    return {
      low_rpm: Math.min(firstCrossing(louder(tail), speeds), fan_rpm),
      high_rpm: Math.max(lastCrossing(louder(1 - tail), speeds), fan_rpm),
    };
  };
  const withoutMeter = limits(mixtureAt);
  const withMeter = law.meter
    ? limits((n) => withMeterErrors(mixtureAt(n), meterSlopes(law, n)))
    : withoutMeter;
  return { fan_rpm, ...withMeter, withoutMeter };
}

/** What the background does to a metered target. */
function backgroundNotes(
  sound_dBA: number,
  target: SpeedAtLevelOptions['target'],
  background_dBA: number | undefined,
): string[] {
  if (target !== 'metered') return [];
  if (background_dBA === undefined)
    return ['no background level is known: the target is taken as the cooler’s own level'];
  if (sound_dBA - background_dBA >= CORRECTION_VALID_FROM_dB) return [];
  return [
    `${sound_dBA} dBA is within 6 dB of the background of ${background_dBA} dBA: what is metered is an upper bound of the cooler’s own sound`,
  ];
}

/** A target that the fan's speeds do not reach, or one at a speed at which the cooler was not metered. */
function endNotes(
  { cooler, lowestSpeed_rpm, greatestSpeed_rpm }: FanSoundLaw,
  sound_dBA: number,
  limitedBy: SpeedAtLevel['limitedBy'],
  fan_rpm: number,
  metered_dBA: number,
): string[] {
  const isLeast = limitedBy === 'least-stable-speed';
  const shown = `${round(fan_rpm)} rpm, ${metered_dBA.toFixed(1)} dBA metered`;
  return [
    ...(limitedBy === 'none'
      ? []
      : [
          `${cooler} cannot be as ${isLeast ? 'quiet' : 'loud'} as ${sound_dBA} dBA: shown at its ${isLeast ? 'least stable' : 'greatest'} speed of ${shown}`,
        ]),
    ...(fan_rpm < 0.98 * lowestSpeed_rpm || fan_rpm > 1.02 * greatestSpeed_rpm
      ? [
          `${round(fan_rpm)} rpm is outside the speeds at which ${cooler} was metered (${round(lowestSpeed_rpm)} to ${round(greatestSpeed_rpm)} rpm)`,
        ]
      : []),
  ];
}

/**
 * The own level that a metered target leaves to the cooler.
 *
 * @throws BenchError if the target is at or below the background
 */
function ownTarget(sound_dBA: number, background_dBA: number): number {
  if (sound_dBA <= background_dBA) {
    throw new BenchError(
      '--sound',
      1,
      1,
      `${sound_dBA} dBA is at or below the background of ${background_dBA} dBA, where no cooler can be metered; a level above the background is accepted (6 dB above it for more than an upper bound)`,
    );
  }
  return sound_dBA + 10 * Math.log10(1 - 10 ** ((background_dBA - sound_dBA) / 10));
}

/** A level that rises by less over a factor e of speed is a bump's, and no measure of what the speed answers, dB (an assumption). */
const LEAST_SLOPE_dB = 5;

/** Speeds to look at: coarse far out, fine where the cooler was metered, so that no bump is stepped over. */
function lookedAt(bottom: number, top: number, law: FanSoundLaw): number[] {
  const speeds: number[] = [];
  const inside = (n: number): boolean => n > 0.8 * law.lowestSpeed_rpm && n < 1.25 * law.greatestSpeed_rpm;
  for (let n = bottom; n < top; n *= inside(n) ? 1.025 : 1.2) speeds.push(n);
  speeds.push(top);
  return speeds;
}

/** The mixtures at the speeds looked at: the same for every level that is asked for. */
function mixturesAt(law: FanSoundLaw, speeds: readonly number[]): Map<number, SoundMixture> {
  const found = studyOf(law).once(
    `levels from ${speeds[0]} to ${speeds[speeds.length - 1]} rpm`,
    () => new Map(speeds.map((n) => [n, soundMixtureAt(law, n)])),
  );
  return new Map(found);
}

/** To a ten-billionth of the speed. */
function zeroBetween(f: (n: number) => number, low: number, high: number): number {
  return rootBetween(f, low, high, 1e-10 * high);
}

/** The first speed at which a function reaches zero from below. */
function firstCrossing(f: (n: number) => number, speeds: readonly number[]): number {
  for (let i = 0; i < speeds.length; i++) {
    if (f(speeds[i]) >= 0) return i === 0 ? speeds[0] : zeroBetween(f, speeds[i - 1], speeds[i]);
  }
  return speeds[speeds.length - 1];
}

/** The last speed at which a function is at or below zero. */
function lastCrossing(f: (n: number) => number, speeds: readonly number[]): number {
  for (let i = speeds.length - 1; i >= 0; i--) {
    if (f(speeds[i]) <= 0)
      return i === speeds.length - 1 ? speeds[i] : zeroBetween(f, speeds[i], speeds[i + 1]);
  }
  return speeds[0];
}

function round(n: number): string {
  return n.toFixed(0);
}
