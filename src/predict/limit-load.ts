import { rootBetween } from '../numerics/roots.ts';

/**
 * The load at which a source reaches its limit in a given room.
 *
 * The rise grows with load, so the curve is followed upward to the room that is left: limit − ambient. Its interval
 * turns round: the *upper* curve reaches the limit at the *lowest* load. Where a curve stays under the limit over all
 * loads looked at, the answer is "beyond", not the end of the range.
 */
export interface RiseAt {
  rise_K: number;
  low_K: number;
  high_K: number;
}

export interface LimitLoad {
  /** W; `null`: not reached up to `to_W`, or already reached below `from_W` (see `beyond`). */
  value: number | null;
  low: number | null;
  high: number | null;
  /** Where an end is null, on which side of the loads looked at it lies. */
  beyond: { value?: 'above' | 'below'; low?: 'above' | 'below'; high?: 'above' | 'below' };
  /** Room for the rise, K. */
  headroom_K: number;
}

export interface LimitQuestion {
  /** Rise at a load with its interval; each of the three must not fall with load. */
  rise: (power_W: number) => RiseAt;
  limit_C: number;
  ambient_C: number;
  /** Half-width of what the room may do, K; widens the interval; default 0. */
  ambient_tolerance_K?: number;
  from_W: number;
  to_W: number;
}

/**
 * @throws RangeError when the range is empty or the room is not below the limit
 * @example
 * limitLoad({ rise: (p) => ({ rise_K: 0.3 * p, low_K: 0.29 * p, high_K: 0.31 * p }), limit_C: 90, ambient_C: 24, from_W: 10, to_W: 400 })
 * // { value: 220, low: 212.9, high: 227.6, … }
 */
export function limitLoad(question: LimitQuestion): LimitLoad {
  const { rise, limit_C, ambient_C, from_W, to_W } = question;
  const tolerance = question.ambient_tolerance_K ?? 0;
  const headroom_K = limit_C - ambient_C;
  if (!(from_W >= 0 && to_W > from_W))
    throw new RangeError(`loads from ${from_W} to ${to_W} W; 0 ≤ from < to is accepted`);
  if (!(headroom_K - tolerance > 0)) {
    throw new RangeError(
      `a room of ${ambient_C} °C is not below the limit of ${limit_C} °C; a lower ambient is accepted`,
    );
  }
  const beyond: LimitLoad['beyond'] = {};
  const find = (name: 'value' | 'low' | 'high', curve: (power_W: number) => number, room: number) => {
    const side = curve(from_W) > room ? 'below' : curve(to_W) < room ? 'above' : undefined;
    if (side) {
      beyond[name] = side;
      return null;
    }
    return rootBetween((power) => curve(power) - room, from_W, to_W, 1e-10 * (to_W - from_W));
  };
  const value = find('value', (p) => rise(p).rise_K, headroom_K);
  const low = find('low', (p) => rise(p).high_K, headroom_K - tolerance);
  const high = find('high', (p) => rise(p).low_K, headroom_K + tolerance);
  return { value, low, high, beyond, headroom_K };
}
