import type { FosterElement } from './foster.ts';

/**
 * Response of a Foster network to any load profile, exactly for loads that are constant or linear between points.
 *
 * For one element with a load `p + q·t` over a step h the state obeys `x(h) = x(0) e + R (p (1 − e) + q (h − τ (1 − e)))`
 * with `e = exp(−h/τ)`: no step is too long, none needs to be small.
 */
export interface LoadProfile {
  readonly time_s: readonly number[];
  readonly power_W: readonly number[];
  /** `held`: each load until the next point; `linear`: straight lines between points. Default held. */
  readonly between?: 'held' | 'linear';
}

/**
 * Rise of the source at the given times, K, from rest at the first point of the profile. After the last point its load
 * is held.
 *
 * @param times_s  ascending, none before the profile's first point
 * @throws RangeError when times go back or points are missing
 * @example
 * profileResponse([{ resistance_K_per_W: 0.2, time_s: 100 }], { time_s: [0], power_W: [200] }, [100]) // [25.28…]
 */
export function profileResponse(
  elements: readonly FosterElement[],
  profile: LoadProfile,
  times_s: readonly number[],
): number[] {
  const { time_s, power_W } = profile;
  if (time_s.length === 0 || time_s.length !== power_W.length) {
    throw new RangeError(
      `${time_s.length} times and ${power_W.length} loads; a profile needs as many of both, at least one`,
    );
  }
  for (let i = 1; i < time_s.length; i++) {
    if (!(time_s[i] > time_s[i - 1]))
      throw new RangeError(`time ${time_s[i]} s follows ${time_s[i - 1]} s; times must ascend`);
  }
  const linear = profile.between === 'linear';
  const state = new Float64Array(elements.length);
  const out: number[] = [];
  let now = time_s[0];
  let point = 0;
  const advance = (until: number) => {
    const h = until - now;
    if (!(h > 0)) return;
    const last = point + 1 >= time_s.length;
    const slope =
      linear && !last ? (power_W[point + 1] - power_W[point]) / (time_s[point + 1] - time_s[point]) : 0;
    const load = power_W[point] + slope * (now - time_s[point]);
    elements.forEach(({ resistance_K_per_W, time_s: tau }, i) => {
      const gone = -Math.expm1(-h / tau);
      state[i] +=
        gone * (resistance_K_per_W * load - state[i]) + resistance_K_per_W * slope * rampTerm(h, tau, gone);
    });
    now = until;
  };
  for (const time of times_s) {
    if (!(time >= now))
      throw new RangeError(`time ${time} s is before ${now} s; times must ascend from the profile's first`);
    while (point + 1 < time_s.length && time_s[point + 1] <= time) {
      advance(time_s[point + 1]);
      point++;
    }
    advance(time);
    out.push(state.reduce((sum, value) => sum + value, 0));
  }
  return out;
}

/** h − τ (1 − exp(−h/τ)) without cancellation for short steps. */
function rampTerm(h: number, tau: number, gone: number): number {
  const x = h / tau;
  if (x > 0.02) return h - tau * gone;
  return h * x * (0.5 - x * (1 / 6 - x * (1 / 24 - x / 120)));
}
