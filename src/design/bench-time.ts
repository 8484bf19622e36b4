import type { Bench, Cooler } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { reductionOf } from '../logs/reduction-of.ts';
import { studyOf } from '../study.ts';

/** What a run costs, min. Anything not given is as usual or as the bench says. */
export interface TimeOptions {
  settle_air_min?: number;
  settle_liquid_min?: number;
  remount_min?: number;
}

export interface BenchTime {
  /** From setting the load to a steady value. */
  settle_min(cooler: Cooler): number;
  /** One load on the way up to a load that was never run. */
  climb_min(cooler: Cooler): number;
  /** A visit to the source apart from settling: getting there and ready, taking the cooler off, cleaning, fresh paste, fitting. */
  readonly remount_min: number;
  /** Time for which the source is at hand, min; infinite where nothing says otherwise. */
  readonly atHand_min: number;
  /** Where the settling times come from, in words. */
  readonly source: string;
}

/** Usual times (common practice, no source). */
const USUAL = { settle_air_min: 30, settle_liquid_min: 45, remount_min: 15 };
const KEYS = Object.keys(USUAL) as (keyof typeof USUAL)[];
/** What a visit to the heater or to a chip takes besides, the days for which chips are at hand and the hours of a day. */
const VISITS = { heater_visit_min: 0, chip_visit_min: 0, chip_days: Number.POSITIVE_INFINITY, day_hours: 8 };
type Key = keyof typeof USUAL | keyof typeof VISITS;
const ALL_KEYS = [...KEYS, ...Object.keys(VISITS)] as Key[];
/**
 * Settling times from logs are rounded up to this, and a quarter of an hour is the least anybody plans.
 * Common practice, no source.
 */
const ROUND_MIN = 5;
const LEAST_MIN = 15;
/**
 * A load on the way up takes such a share of a settling time: with one time constant a step of a tenth is within a sixth of itself of its end by
 * the third part of the time in which the whole rise comes within a two-hundredth.
 */
const CLIMB_SHARE = 1 / 3;

/**
 * What runs cost on this bench: what is asked for, else `planning:` in bench.yaml (`settle_air_min`, `settle_liquid_min`, `remount_min`),
 * else for each cooler the longest time that its logs took to be known well enough, else what is usual. A visit to the source takes
 * `heater_visit_min` or `chip_visit_min` more, and chips are at hand for `chip_days` of `day_hours` each.
 *
 * @param source  what the runs are on
 * @throws BenchError for a time that is no positive number of minutes
 * @example benchTime(bench, { remount_min: 20 }).remount_min // 20
 */
export function benchTime(bench: Bench, options: TimeOptions = {}, source = 'heater'): BenchTime {
  const stated = statedTimes(bench);
  const visits = { ...VISITS, ...stated };
  const value = (key: keyof typeof USUAL): number | undefined => options[key] ?? stated[key];
  const logged =
    value('settle_air_min') === undefined || value('settle_liquid_min') === undefined
      ? loggedTimes(bench)
      : undefined;
  const isAllStated = KEYS.every((key) => value(key) !== undefined);
  const sources = [
    ...(KEYS.some((key) => value(key) !== undefined) ? ['as stated'] : []),
    ...(logged && logged.size > 0 ? ['from the logs where a cooler has them'] : []),
    ...(isAllStated ? [] : ['usual ones']),
  ];
  const settle_min = (cooler: Cooler) => {
    const key = cooler.kind === 'liquid' ? 'settle_liquid_min' : 'settle_air_min';
    return value(key) ?? logged?.get(cooler.cooler) ?? USUAL[key];
  };
  return {
    settle_min,
    climb_min: (cooler) => Math.ceil(CLIMB_SHARE * settle_min(cooler)),
    remount_min:
      (value('remount_min') ?? USUAL.remount_min) +
      visits[source === 'heater' ? 'heater_visit_min' : 'chip_visit_min'],
    atHand_min: source === 'heater' ? Number.POSITIVE_INFINITY : 60 * visits.chip_days * visits.day_hours,
    source: sources.join(', else '),
  };
}

/** Times under `planning` of bench.yaml, checked. */
function statedTimes(bench: Bench): Partial<Record<Key, number>> {
  const planning = bench.extra?.planning;
  if (planning === undefined || planning === null) return {};
  if (typeof planning !== 'object' || Array.isArray(planning)) {
    throw new BenchError('bench.yaml', 1, 1, `planning has to be a map with some of ${ALL_KEYS.join(', ')}`);
  }
  const out: Partial<Record<Key, number>> = {};
  for (const [key, value] of Object.entries(planning)) {
    if (!(ALL_KEYS as string[]).includes(key)) {
      throw new BenchError(
        'bench.yaml',
        1,
        1,
        `planning has no key "${key}"; give some of ${ALL_KEYS.join(', ')}`,
      );
    }
    if (value === null) continue;
    const [what, most] =
      key === 'chip_days' ? ['days', 366] : key === 'day_hours' ? ['hours', 24] : ['minutes', 1440];
    const mayBeZero = key.endsWith('visit_min');
    if (!(typeof value === 'number' && (value > 0 || (mayBeZero && value === 0)) && value <= most)) {
      throw new BenchError(
        'bench.yaml',
        1,
        1,
        `planning: ${key} has to be ${what} ${mayBeZero ? 'of 0 or more' : 'above 0'} and up to ${most}`,
      );
    }
    out[key as Key] = value;
  }
  return out;
}

const LOGGED = 'logged times';

/** Per cooler the longest time after which a logged run was known well enough to stop, rounded up. */
export function loggedTimes(bench: Bench): Map<string, number> {
  return studyOf(bench).once(LOGGED, () => {
    const out = new Map<string, number>();
    for (const run of bench.logs.length === 0 ? [] : reductionOf(bench).runs) {
      const seconds = run.early_stop_s ?? run.settled_after_s;
      if (seconds === null) continue;
      const minutes = Math.max(LEAST_MIN, ROUND_MIN * Math.ceil(seconds / 60 / ROUND_MIN));
      out.set(run.cooler, Math.max(out.get(run.cooler) ?? 0, minutes));
    }
    return out;
  });
}

/** Gives a bench that carries no logs the times that were found from them. */
export function keepLoggedTimes(bench: Bench, times: Map<string, number>): void {
  studyOf(bench).once(LOGGED, () => times);
}
