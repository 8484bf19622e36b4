import type { FosterElement } from './foster.ts';

export interface PulseTrain {
  /** Load while on; between pulses `rest_W` (default 0). */
  readonly power_W: number;
  readonly rest_W?: number;
  readonly width_s: number;
  readonly period_s: number;
}

/**
 * Highest, lowest and mean rise of the source under a long train of equal pulses, K.
 *
 * Summing the geometric series of all earlier pulses gives, for each element, a peak of
 * `R P (1 − exp(−w/τ))/(1 − exp(−T/τ))` above what the resting load gives.
 *
 * @throws RangeError unless 0 < width ≤ period
 * @example pulseExtremes([{ resistance_K_per_W: 0.2, time_s: 10 }], { power_W: 300, width_s: 1, period_s: 10 }).peak_K // 9.03…
 */
export function pulseExtremes(
  elements: readonly FosterElement[],
  pulses: PulseTrain,
): { peak_K: number; trough_K: number; mean_K: number } {
  const { power_W, width_s, period_s } = pulses;
  const rest = pulses.rest_W ?? 0;
  if (!(width_s > 0 && width_s <= period_s)) {
    throw new RangeError(
      `a pulse of ${width_s} s every ${period_s} s; the width must be above 0 and at most the period`,
    );
  }
  let peak = 0;
  let trough = 0;
  let mean = 0;
  for (const { resistance_K_per_W, time_s } of elements) {
    const share = Math.expm1(-width_s / time_s) / Math.expm1(-period_s / time_s);
    peak += resistance_K_per_W * (rest + (power_W - rest) * share);
    trough +=
      resistance_K_per_W * (rest + (power_W - rest) * share * Math.exp(-(period_s - width_s) / time_s));
    mean += resistance_K_per_W * (rest + ((power_W - rest) * width_s) / period_s);
  }
  return { peak_K: peak, trough_K: trough, mean_K: mean };
}
