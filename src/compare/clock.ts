/**
 * What a kelvin is worth in clock: at auto-frequency a chip trades temperature for speed.
 *
 * A lab notes pairs of source temperature and clock; a straight line through them gives MHz per K, with the uncertainty
 * that the pairs' scatter leaves it (ordinary least squares, Student's t). A cooler's advantage in K times that slope is
 * its advantage in MHz, and both uncertainties go into its interval. Chips step their clock (25 MHz or more), so a
 * worth below one step may not show at all.
 *
 * Temperature is taken as exact: a sensor's *offset* does not change the slope, its scatter flattens it.
 */
import { studentTQuantile } from '../numerics/distributions.ts';

export interface ClockPair {
  source_C: number;
  clock_MHz: number;
}

export interface ClockSlope {
  MHz_per_K: number;
  standard_error: number;
  low: number;
  high: number;
  degrees_of_freedom: number;
  /** Scatter of the pairs about the line, MHz. */
  residual_MHz: number;
  mean_C: number;
  mean_MHz: number;
  level: number;
}

/**
 * @param pairs  three or more, over more than one temperature
 * @param level  confidence, default 0.95
 * @throws RangeError on fewer pairs or one temperature only
 * @example clockSlope([{ source_C: 60, clock_MHz: 5000 }, { source_C: 70, clock_MHz: 4940 }, { source_C: 80, clock_MHz: 4900 }]).MHz_per_K // −5
 */
export function clockSlope(pairs: readonly ClockPair[], level = 0.95): ClockSlope {
  if (!(level > 0.5 && level < 1))
    throw new RangeError(`level is ${level}; a number between 0.5 and 1 is accepted`);
  if (pairs.length < 3) throw new RangeError(`${pairs.length} pairs; three or more are accepted`);
  for (const { source_C, clock_MHz } of pairs) {
    if (!(Number.isFinite(source_C) && Number.isFinite(clock_MHz))) {
      throw new RangeError(`a pair (${source_C} °C, ${clock_MHz} MHz) is not of finite numbers`);
    }
  }
  const n = pairs.length;
  const mean_C = pairs.reduce((sum, p) => sum + p.source_C, 0) / n;
  const mean_MHz = pairs.reduce((sum, p) => sum + p.clock_MHz, 0) / n;
  let [square, product] = [0, 0];
  for (const p of pairs) {
    square += (p.source_C - mean_C) ** 2;
    product += (p.source_C - mean_C) * (p.clock_MHz - mean_MHz);
  }
  if (!(square > 0))
    throw new RangeError(`all pairs are at ${mean_C} °C; two temperatures or more are accepted`);
  const MHz_per_K = product / square;
  const left = pairs.reduce(
    (sum, p) => sum + (p.clock_MHz - mean_MHz - MHz_per_K * (p.source_C - mean_C)) ** 2,
    0,
  );
  const degrees_of_freedom = n - 2;
  const residual_MHz = Math.sqrt(left / degrees_of_freedom);
  const standard_error = residual_MHz / Math.sqrt(square);
  const t = studentTQuantile((1 + level) / 2, degrees_of_freedom);
  return {
    MHz_per_K,
    standard_error,
    low: MHz_per_K - t * standard_error,
    high: MHz_per_K + t * standard_error,
    degrees_of_freedom,
    residual_MHz,
    mean_C,
    mean_MHz,
    level,
  };
}

export interface ClockWorth {
  /** Clock gained by the cooler that is ahead, MHz; negative if the slope says that warmth helps. */
  MHz: number;
  standard_error: number;
  low: number;
  high: number;
  /** True when the interval holds 0: no advantage in clock is shown. */
  within_error: boolean;
  /** True when the advantage is below one step of the chip's clock. */
  below_step: boolean;
  sentence: string;
}

/**
 * Worth of being `advantage_K` cooler.
 *
 * For a product of independent estimates the variance is slope²·u² + advantage²·s² + u²·s²; the degrees of freedom are
 * those of the slope by Welch and Satterthwaite, the advantage's own taken as infinite (JCGM 100:2008, G.4).
 *
 * @param advantage_K  how much cooler, and its standard uncertainty u
 * @param step_MHz     least step of the chip's clock, default 25 (common practice, no source)
 * @example clockWorth(clockSlope([60, 70, 80].map((source_C) => ({ source_C, clock_MHz: 5300 - 5 * source_C }))), { advantage_K: 3, u_K: 0.5 }).MHz // 15
 */
export function clockWorth(
  slope: ClockSlope,
  advantage: { advantage_K: number; u_K: number },
  step_MHz = 25,
): ClockWorth {
  const { advantage_K, u_K } = advantage;
  if (!(u_K >= 0 && Number.isFinite(advantage_K))) {
    throw new RangeError(
      `advantage ${advantage_K} K with u = ${u_K} K; a finite number and 0 or more are accepted`,
    );
  }
  const MHz = -slope.MHz_per_K * advantage_K;
  const ofSlope = (advantage_K ** 2 + u_K ** 2) * slope.standard_error ** 2;
  const variance = (slope.MHz_per_K * u_K) ** 2 + ofSlope;
  const standard_error = Math.sqrt(variance);
  const freedom = ofSlope > 0 ? Math.min(1e6, (variance / ofSlope) ** 2 * slope.degrees_of_freedom) : 1e6;
  const half = studentTQuantile((1 + slope.level) / 2, freedom) * standard_error;
  const within_error = half > 0 ? Math.abs(MHz) <= half : MHz === 0;
  const below_step = Math.abs(MHz) < step_MHz;
  const size = `${MHz.toFixed(0)} MHz (${(MHz - half).toFixed(0)} to ${(MHz + half).toFixed(0)})`;
  const sentence = within_error
    ? `${advantage_K.toFixed(1)} K is worth ${size}: within error, no advantage in clock is shown.`
    : `${advantage_K.toFixed(1)} K is worth ${size}${below_step ? `, less than a clock step of ${step_MHz} MHz` : ''}.`;
  return { MHz, standard_error, low: MHz - half, high: MHz + half, within_error, below_step, sentence };
}
