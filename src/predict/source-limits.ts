import { groupedBy } from '../bench/grouped.ts';
import { temperatureLimit } from '../bench/source.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { largest, smallest } from '../numerics/extremes.ts';
import type { Conditions } from './conditions.ts';
import { type LimitLoad, type LimitQuestion, limitLoad, type RiseAt } from './limit-load.ts';
import type { MeanRise } from './predict.ts';
import { meanRises } from './predict.ts';

/** The load at which the source reaches a temperature on one cooler: its limit, or the one asked for. */
export interface SourceLimit {
  cooler: string;
  source: string;
  fan_rpm: number;
  limit_C: number;
  ambient_C: number;
  /** null: not within the loads looked at; the sentence says on which side. */
  power_W: number | null;
  low_W: number | null;
  high_W: number | null;
  /** Where a limit of heat pipes may be met first: the same if none is. */
  if_pipes_hold?: { power_W: number | null; low_W: number | null; high_W: number | null };
  extrapolated: boolean;
  /** A sentence for people. */
  sentence: string;
}

/** Loads at which the curves are followed; between them the resistance is taken as straight. */
const STEPS = 12;
/** The answers are taken on the curve itself again until none moves by more than this share, at most so many times. */
const TOLERANCE = 1e-4;
const ROUNDS = 12;
/**
 * How far beyond the greatest load run the limit is looked for, as a multiple. Chosen: no formula is to be
 * trusted farther.
 */
const REACH = 3;
/** Where following begins, as a share of the least load run. */
const BELOW = 0.2;

/** Which of a prediction's curves is followed: the whole answer, or the one if no further limit of the pipes is met. */
type Followed = (p: MeanRise) => Pick<MeanRise, 'rise_K' | 'mean_low_K' | 'mean_high_K'>;
const whole: Followed = (p) => p;
const ifPipesHold: Followed = (p) => p.if_pipes_hold ?? p;

/**
 * The load at which the source reaches a temperature on each cooler, in the room asked for.
 *
 * The interval is that of the true mean rise, turned round: its upper curve reaches the temperature first. In a room held by the bench its
 * tolerance widens the interval; a room asked for is taken as it is said. A chip throttles by what its own sensor reads, which
 * may differ from the truth by the sensor's error: that is in the interval.
 *
 * @param limit_C  the temperature; default: the source's own limit
 * @returns nothing where no limit is known
 * @throws BenchError on a condition that cannot be met
 */
export function sourceLimits(
  posterior: BenchPosterior,
  conditions: Conditions,
  limit_C = temperatureLimit(posterior.bench, posterior.source),
): SourceLimit[] {
  if (limit_C === undefined) return [];
  const most = REACH * largest(posterior.coolers.map((cooler) => cooler.data.powerHigh_W));
  const least = BELOW * smallest(posterior.coolers.map((cooler) => cooler.data.powerLow_W));
  const power_W = Array.from({ length: STEPS + 1 }, (_, k) => least * (most / least) ** (k / STEPS));
  const rises = meanRises(posterior, { ...conditions, power_W });
  return limitsFrom(rises, roomFor(posterior, conditions, limit_C), (cooler, loads) =>
    meanRises(posterior, { ...conditions, coolers: [cooler], power_W: loads }),
  );
}

/** A room, and the temperature that the source is to reach in it. */
export interface Room {
  readonly limit_C: number;
  readonly ambient_C: number;
  readonly ambient_tolerance_K: number;
}

/** The room asked for, known exactly, or that which the bench holds. */
function roomFor({ bench }: BenchPosterior, { ambient_C }: Conditions, limit_C: number): Room {
  const { setpoint_C, tolerance_K } = bench.ambient;
  return {
    limit_C,
    ambient_C: ambient_C ?? setpoint_C,
    ambient_tolerance_K: ambient_C === undefined ? tolerance_K : 0,
  };
}

/**
 * The same from predictions that are there already, such as a page's curves: at least two loads of each cooler, rising. Between them the
 * resistance is taken as straight, unless `predicted` gives the curve where the answers lie.
 */
export function limitsFrom(
  predictions: readonly MeanRise[],
  room: Room,
  predicted?: (cooler: string, power_W: readonly number[]) => readonly MeanRise[],
): SourceLimit[] {
  const { limit_C, ambient_C, ambient_tolerance_K } = room;
  return [...groupedBy(predictions, (p) => p.cooler)].map(([cooler, at]): SourceLimit => {
    const { source, fan_rpm } = at[0];
    const common = { cooler, source, fan_rpm, limit_C, ambient_C };
    if (!(limit_C - ambient_C - ambient_tolerance_K > 0)) {
      return {
        ...common,
        power_W: null,
        low_W: null,
        high_W: null,
        extrapolated: false,
        sentence: `A room of ${ambient_C} °C is not below ${limit_C} °C.`,
      };
    }
    const most = at[at.length - 1].power_W;
    const question = { ...room, from_W: at[0].power_W, to_W: most };
    const again = predicted && ((power_W: readonly number[]) => predicted(cooler, power_W));
    const { found, followed: all } = solved(at, question, whole, again);
    const near = all.find((p) => p.power_W >= (found.value ?? most)) ?? all[all.length - 1];
    const mayMeet = all.some((p) => p.if_pipes_hold && p.power_W <= (found.high ?? most));
    const held = mayMeet ? solved(all, question, ifPipesHold, again).found : undefined;
    return {
      ...common,
      power_W: found.value,
      low_W: found.low,
      high_W: found.high,
      ...(held && { if_pipes_hold: { power_W: held.value, low_W: held.low, high_W: held.high } }),
      extrapolated: near.extrapolated,
      sentence: sentenceFor(cooler, source, limit_C, ambient_C, found, most),
    };
  });
}

/** Solves on the loads followed, then again with the curve taken exactly where the answers lay. */
function solved(
  start: readonly MeanRise[],
  question: Omit<LimitQuestion, 'rise'>,
  curve: Followed,
  predicted?: (power_W: readonly number[]) => readonly MeanRise[],
): { found: LimitLoad; followed: readonly MeanRise[] } {
  let at = start;
  let found = limitLoad({ ...question, rise: followed(at, curve) });
  for (let round = 0; predicted && round < ROUNDS; round++) {
    const power_W = [found.value, found.low, found.high].filter((load) => load !== null);
    if (power_W.length === 0) break;
    const fresh = predicted(power_W).filter((p) => at.every((old) => old.power_W !== p.power_W));
    at = [...at, ...fresh].sort((a, b) => a.power_W - b.power_W);
    const before = found;
    found = limitLoad({ ...question, rise: followed(at, curve) });
    const moved = (['value', 'low', 'high'] as const).map((end) =>
      Math.abs((found[end] ?? 0) - (before[end] ?? 0)),
    );
    if (Math.max(...moved) < TOLERANCE * question.to_W) break;
  }
  return { found, followed: at };
}

/** Rise between the loads followed, each of the three curves held from falling. */
function followed(at: readonly MeanRise[], curve: Followed): (power_W: number) => RiseAt {
  const rising = (of: (p: ReturnType<Followed>) => number): number[] => {
    let top = Number.NEGATIVE_INFINITY;
    return at.map((p) => {
      top = Math.max(top, of(curve(p)));
      return top;
    });
  };
  const middle = rising((p) => p.rise_K);
  const low = rising((p) => p.mean_low_K);
  const high = rising((p) => p.mean_high_K);
  return (power_W) => {
    let k = 1;
    while (k + 1 < at.length && at[k].power_W < power_W) k++;
    const t = (power_W - at[k - 1].power_W) / (at[k].power_W - at[k - 1].power_W);
    const between = (curve: readonly number[]) => {
      const [below, above] = [curve[k - 1] / at[k - 1].power_W, curve[k] / at[k].power_W];
      return power_W * (below + t * (above - below));
    };
    return { rise_K: between(middle), low_K: between(low), high_K: between(high) };
  };
}

/** The load at the limit with its interval, or that it lies beyond the loads looked at. */
function sentenceFor(
  cooler: string,
  source: string,
  limit_C: number,
  ambient_C: number,
  found: LimitLoad,
  most: number,
): string {
  const where = `${source} on ${cooler} reaches ${limit_C} °C in a room of ${ambient_C} °C`;
  const watts = (value: number) => `${value.toFixed(0)} W`;
  if (found.value === null) {
    return found.beyond.value === 'below'
      ? `${where} below any load looked at.`
      : `${where} above ${watts(most)}, if at all${found.low === null ? '' : `; not below ${watts(found.low)}`}.`;
  }
  const low = found.low === null ? 'any load looked at' : watts(found.low);
  const high = found.high === null ? `above ${watts(most)}` : watts(found.high);
  return `${where} at ${watts(found.value)} (${low} to ${high}).`;
}
