import { type FosterElement, stepResponse, totalResistance } from './foster.ts';

/**
 * Time from switching on a load until the source has risen by a limit, s; `Infinity` when it never does.
 *
 * The rise is concave, so the chord from the origin bounds the time from below and Newton's method from there
 * approaches without overshooting.
 *
 * @example timeToLimit([{ resistance_K_per_W: 0.2, time_s: 100 }], 400, 40) // 69.3…, 100 ln 2
 */
export function timeToLimit(elements: readonly FosterElement[], power_W: number, limit_K: number): number {
  if (limit_K <= 0) return 0;
  const wanted = limit_K / power_W;
  if (!(power_W > 0) || totalResistance(elements) <= wanted) return Infinity;
  let time = 0;
  for (let i = 0; i < 200; i++) {
    const missing = wanted - stepResponse(elements, time);
    let slope = 0;
    for (const { resistance_K_per_W, time_s } of elements)
      slope += (resistance_K_per_W / time_s) * Math.exp(-time / time_s);
    const step = missing / slope;
    time += step;
    if (Math.abs(step) <= 1e-13 * time) break;
  }
  return time;
}
