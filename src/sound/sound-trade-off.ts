import { roomShare } from '../bench/bench-air.ts';
import { meanInterval, pairTest, riseLimits } from '../compare/rise-limits.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import {
  type CoolerWithSound,
  coolersAsked,
  coolersWithSound,
  inRoom,
  leastSpeedOf,
  levelOf,
  loadsAsked,
  speedForSound,
} from '../predict/at-conditions.ts';
import type { Conditions } from '../predict/conditions.ts';
import type { DecibelsWorth } from './decibels-worth.ts';
import { decibelsWorth } from './decibels-worth.ts';
import { soundAtSpeed } from './fan-sound.ts';
import type { PumpAndFanPair } from './pump-fan-pair.ts';
import { pumpFanPair } from './pump-fan-pair.ts';
import { type CoolerAtLevel, coolersAtLevel, type LevelTest, undominatedAmong } from './rise-at-levels.ts';
import { tradeOffSentences } from './trade-off-sentences.ts';

/** A cooler at the level asked for, or at the nearest end of what its fan can do. */
export interface CoolerAtSound {
  cooler: string;
  fan_rpm: number;
  low_rpm: number;
  high_rpm: number;
  /** Metered level at `fan_rpm`, background included. */
  sound_dBA: number;
  limited_by: 'none' | 'least-stable-speed' | 'greatest-speed';
  rise_K: number;
  low_K: number;
  high_K: number;
  full_speed: { fan_rpm: number; sound_dBA: number; rise_K: number };
  /** Least stable speed, and whether it was assumed because coolers.csv gives none. */
  fan_min_rpm: number;
  fan_min_assumed: boolean;
  notes: string[];
}

export interface RiseAtSound {
  sound_dBA: number;
  fan_rpm: number;
  rise_K: number;
  low_K: number;
  high_K: number;
  extrapolated: boolean;
  /** No other cooler that is no louder is told to be cooler. */
  undominated: boolean;
}

export interface SoundTradeOff {
  /** The level asked for, as metered. */
  sound_dBA: number;
  /** The load that the rises are for. */
  power_W: number;
  background_dBA: number | null;
  coolers: CoolerAtSound[];
  /** Quietest first; the last point of a cooler is its full speed. */
  rise_against_sound: { cooler: string; points: RiseAtSound[] }[];
  /** Coolers that no other beats at some level they reach, and from which level to which, once a stretch of levels. */
  undominated: { cooler: string; from_dBA: number; to_dBA: number }[];
  undominated_at_full_speed: string[];
  bought: DecibelsWorth[];
  /** For each liquid cooler its best pair of speeds at the level, or why it cannot be found. */
  pump_and_fan: (PumpAndFanPair | { cooler: string; reason: string })[];
  /** For people: pairs whose order changes with sound held equal, or that tie at full speed at a price. */
  sentences: string[];
}

/** Decibels whose worth is asked for. */
const SPENT_dB = 5;
/** More levels than this on a curve show nothing new. */
const MOST_LEVELS = 24;
/** Within this of the background a target is only an upper bound of the coolers' own sound (ISO 3744). */
const CLEAR_OF_BACKGROUND_dB = 6;

/**
 * What sound costs and buys on a bench: each cooler's speed at a level, its rise against sound, the coolers that no other
 * beats, what 5 dB more are worth, and what a chart at full speed hides. In another room than the bench's (`ambient_C`,
 * `pressure_hPa`, `altitude_m`) the rises are for that room's air, as in `compare`; sound stays as metered on the bench, though
 * thinner air takes some of it away from every fan alike.
 *
 * @param conditions  `sound_dBA` is the target; without one the least whole level that every cooler can make, 6 dB clear of
 *   the background. Of several loads the greatest is taken at which no cooler is extrapolated, or the least of all
 * @throws BenchError where no cooler has a sound reading, or on a condition that cannot be met
 * @example soundTradeOff(posterior, { power_W: [200], sound_dBA: 35 }).coolers[0].fan_rpm
 */
export function soundTradeOff(posterior: BenchPosterior, conditions: Conditions): SoundTradeOff {
  const level = levelOf(conditions);
  const { withSound } = coolersWithSound(posterior, coolersAsked(posterior, conditions), conditions);
  const loads = loadsAsked(conditions, () => [testedByAll(withSound)]);
  const inside = loads.filter((load) => load <= testedByAll(withSound) * 1.01 + 0.5);
  const power_W = inside.length > 0 ? inside[inside.length - 1] : loads[0];
  const background = posterior.bench.instruments.sound_level.background_dBA;
  const sound_dBA = conditions.sound_dBA ?? levelForAll(withSound, background);
  const density = roomShare(posterior.bench, conditions).share;
  const meterErrors = withSound[0].law.meter?.sessions.length ?? 1;
  const test = {
    ...pairTest(posterior, withSound.length, level, meterErrors - 1, conditions.paste),
    density,
  };

  const full = atFullSpeed(posterior, withSound, power_W, test);
  const target = coolersAtLevel(posterior, withSound, sound_dBA, power_W, test);
  const louder = coolersAtLevel(posterior, withSound, sound_dBA + SPENT_dB, power_W, test);
  const curves = withSound.map((): RiseAtSound[] => []);
  for (const step of levelsBetween(withSound, sound_dBA, background)) {
    const at = step === sound_dBA ? target : coolersAtLevel(posterior, withSound, step, power_W, test);
    const undominated = undominatedAmong(at, test);
    at.forEach((one, c) => {
      if (one.reached) curves[c].push(pointOf(one, undominated[c], test));
    });
  }
  // A cooler's own full speed is a level like any other: the others are held against it at that level, not at theirs.
  full.forEach((one, c) => {
    const others = coolersAtLevel(posterior, withSound, one.sound_dBA, power_W, test);
    const undominated = undominatedAmong(others.with(c, one), test)[c];
    curves[c].push(pointOf(one, undominated, test));
  });
  const undominatedAtFull = undominatedAmong(full, test);
  for (const points of curves) points.sort((a, b) => a.sound_dBA - b.sound_dBA);
  return {
    sound_dBA,
    power_W,
    background_dBA: background ?? null,
    coolers: target.map((one, c) => coolerAtSound(withSound[c], one, full[c], sound_dBA, test)),
    rise_against_sound: withSound.map(({ cooler }, c) => ({
      cooler: cooler.data.cooler.cooler,
      points: curves[c],
    })),
    undominated: curves.flatMap((points, c) => stretches(points, full[c].cooler)),
    undominated_at_full_speed: full.filter((_, c) => undominatedAtFull[c]).map((one) => one.cooler),
    bought: target.flatMap((from, c) => {
      const to = louder[c];
      if (to.at.fan_rpm <= from.at.fan_rpm) return [];
      return [decibelsWorth(posterior, withSound[c].cooler, power_W, from, to, test)];
    }),
    pump_and_fan: withSound
      .filter(({ cooler }) => cooler.data.cooler.kind === 'liquid')
      .map((one) => pumpFanPair(posterior, one, power_W, sound_dBA, test)),
    sentences: tradeOffSentences(full, target, sound_dBA, test),
  };
}

/** Stretches of neighbouring points of a curve at which its cooler is not beaten. */
function stretches(points: readonly RiseAtSound[], cooler: string): SoundTradeOff['undominated'] {
  const out: SoundTradeOff['undominated'] = [];
  points.forEach(({ undominated, sound_dBA }, k) => {
    if (!undominated) return;
    if (points[k - 1]?.undominated) out[out.length - 1].to_dBA = sound_dBA;
    else out.push({ cooler, from_dBA: sound_dBA, to_dBA: sound_dBA });
  });
  return out;
}

/** The greatest load up to which every cooler was run. */
function testedByAll(withSound: readonly CoolerWithSound[]): number {
  return Math.min(...withSound.map(({ cooler }) => cooler.data.powerHigh_W));
}

/** The least whole level that every cooler can reach, clear of the background. */
function levelForAll(withSound: readonly CoolerWithSound[], background: number | undefined): number {
  const quietest = withSound.map(({ cooler, law }) => {
    return soundAtSpeed(law, Math.max(leastSpeedOf(cooler, law).fan_rpm, 1)).metered_dBA;
  });
  const clear = background === undefined ? Number.NEGATIVE_INFINITY : background + CLEAR_OF_BACKGROUND_dB;
  return Math.ceil(Math.max(...quietest, clear));
}

/** Whole levels from the quietest that a cooler makes to the loudest, the target among them. */
function levelsBetween(
  withSound: readonly CoolerWithSound[],
  target: number,
  background: number | undefined,
): number[] {
  const quietest = Math.min(
    ...withSound.map(({ cooler, law }) => soundAtSpeed(law, leastSpeedOf(cooler, law).fan_rpm).metered_dBA),
  );
  const loudest = Math.max(
    ...withSound.map(({ cooler, law }) => soundAtSpeed(law, cooler.data.cooler.fan_max_rpm).metered_dBA),
  );
  const from = Math.ceil(Math.max(quietest, background === undefined ? 0 : background + 1));
  const step = Math.max(1, Math.ceil((loudest - from) / MOST_LEVELS));
  const levels = new Set([target]);
  for (let at = from; at <= loudest; at += step) levels.add(at);
  return [...levels].sort((a, b) => a - b);
}

/** Each cooler at full speed, with its level there. */
function atFullSpeed(
  posterior: BenchPosterior,
  withSound: readonly CoolerWithSound[],
  power_W: number,
  test: LevelTest,
): CoolerAtLevel[] {
  return withSound.map(({ cooler, law }) => {
    const { cooler: name, fan_max_rpm } = cooler.data.cooler;
    const sound_dBA = soundAtSpeed(law, fan_max_rpm).metered_dBA;
    const at = inRoom({ fan_rpm: fan_max_rpm, speed: 1, uncertainty: 0, sound_dBA, notes: [] }, test.density);
    const limits = riseLimits(posterior, cooler, at, [power_W], test.critical)[0];
    return { cooler: name, at, limits, sound_dBA, reached: true };
  });
}

function pointOf(one: CoolerAtLevel, undominated: boolean, test: LevelTest): RiseAtSound {
  const { low_K, high_K } = meanInterval(one.limits, test.shared, test.level);
  return {
    sound_dBA: one.sound_dBA,
    fan_rpm: one.at.fan_rpm,
    rise_K: one.limits.middle_K,
    low_K,
    high_K,
    extrapolated: one.limits.extrapolated,
    undominated,
  };
}

function coolerAtSound(
  { cooler, law }: CoolerWithSound,
  one: CoolerAtLevel,
  full: CoolerAtLevel,
  sound_dBA: number,
  test: LevelTest,
): CoolerAtSound {
  const { found } = speedForSound(cooler, law, sound_dBA, test.level);
  const least = leastSpeedOf(cooler, law);
  const { low_K, high_K } = meanInterval(one.limits, test.shared, test.level);
  return {
    cooler: one.cooler,
    fan_rpm: found.fan_rpm,
    low_rpm: found.low_rpm,
    high_rpm: found.high_rpm,
    sound_dBA: found.sound_dBA,
    limited_by: found.limitedBy,
    rise_K: one.limits.middle_K,
    low_K,
    high_K,
    full_speed: { fan_rpm: full.at.fan_rpm, sound_dBA: full.sound_dBA, rise_K: full.limits.middle_K },
    fan_min_rpm: least.fan_rpm,
    fan_min_assumed: least.assumed,
    notes: [...one.at.notes],
  };
}
