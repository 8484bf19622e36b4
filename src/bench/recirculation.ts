/**
 * How much warmer than the room the air enters the fans where part of it is the cooler's own exhaust.
 *
 * Of the air drawn in the share f has just left the cooler, Q/C warmer than it came in. So inlet rise = f·(inlet rise + Q/C), and
 * inlet rise = f/(1 − f)·Q/C. A heat balance of the mixing air; no further source.
 *
 * @param heat_W  heat into the air
 * @param capacity_W_per_K  capacity rate of the air drawn in, ρ·cp·flow
 * @param share  of exhaust in the inlet, 0 ≤ share < 1
 * @returns K; the rise of the source above the room is that above the inlet and this
 * @throws RangeError for a share outside
 * @example inletRise(200, 20, 0.2) // 2.5
 */
export function inletRise(heat_W: number, capacity_W_per_K: number, share: number): number {
  if (!(share >= 0 && share < 1)) {
    throw new RangeError(`inletRise: the share of exhaust is ${share}; 0 up to but not 1 is accepted`);
  }
  if (!(capacity_W_per_K > 0)) {
    throw new RangeError(`inletRise: the capacity is ${capacity_W_per_K} W/K; a number above 0 is needed`);
  }
  return ((share / (1 - share)) * heat_W) / capacity_W_per_K;
}
