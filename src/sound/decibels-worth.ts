import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { stretchFor } from '../numerics/degrees-of-freedom.ts';
import { normalQuantile } from '../numerics/distributions.ts';
import { jointRises, riseMoments } from '../predict/joint-rises.ts';
import { speedWorth } from '../predict/speed-spread.ts';

import type { CoolerAtLevel, LevelTest } from './rise-at-levels.ts';

/** What some decibels more buy: rise at the quieter level less rise at the louder. */
export interface DecibelsWorth {
  cooler: string;
  from_dBA: number;
  to_dBA: number;
  /** 5, or less where an end of the fan's speeds holds it. */
  spent_dB: number;
  gain_K: number;
  low_K: number;
  high_K: number;
  extrapolated: boolean;
}

/**
 * With runs at one or two fan speeds only, how the rise bends between them comes from the formulas and what is usual for
 * them. On virtual benches that is off by about this share of the gain, one standard deviation.
 */
const UNSEEN_BEND = 0.1;
/** Relative speeds within this factor are one speed (an assumption). */
const SAME_SPEED = 1.05;

/**
 * What a cooler gains from being louder: its rise at one level less its rise at a higher one.
 *
 * Both rises come from the same runs, so what is uncertain of the cooler's resistance as a whole cancels and only how it
 * answers to speed remains: the covariance of the two rises is taken out. The two speeds are taken as independent, which
 * is on the safe side, since a law that is off moves both the same way.
 *
 * @param from  the cooler at the quieter level
 * @param to    at the louder one
 */
export function decibelsWorth(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  power_W: number,
  from: CoolerAtLevel,
  to: CoolerAtLevel,
  test: LevelTest,
): DecibelsWorth {
  const points = [from, to].map(({ at }) => ({ power_W, speed: at.speed }));
  const { covariance } = riseMoments(cooler, jointRises(posterior, cooler, points, { want: 'covariance' }));
  const own = Math.max(covariance[0] + covariance[3] - covariance[1] - covariance[2], 0);
  const [a, b] = [from.limits.distribution, to.limits.distribution];
  const stretch = stretchFor(test.level, Math.min(a.meanFreedom, b.meanFreedom));
  let variance = own * stretch ** 2 + speedWorth(a.speedShifts) ** 2 + speedWorth(b.speedShifts) ** 2;
  for (let k = 0; k < test.shared.length; k++) {
    variance += ((a.meanSensitivity[k] - b.meanSensitivity[k]) * test.shared[k]) ** 2;
  }
  const gain_K = from.limits.middle_K - to.limits.middle_K;
  if (speedsRun(cooler) < 3) variance += (UNSEEN_BEND * gain_K) ** 2;
  const half = normalQuantile((1 + test.level) / 2) * Math.sqrt(variance);
  return {
    cooler: from.cooler,
    from_dBA: from.sound_dBA,
    to_dBA: to.sound_dBA,
    spent_dB: to.sound_dBA - from.sound_dBA,
    gain_K,
    low_K: gain_K - half,
    high_K: gain_K + half,
    extrapolated: from.limits.extrapolated || to.limits.extrapolated,
  };
}

/** Number of fan speeds at which a cooler was run. */
function speedsRun(cooler: CoolerPosterior): number {
  const sorted = [...cooler.data.speed].sort((a, b) => a - b);
  return sorted.filter((speed, i) => i === 0 || speed > SAME_SPEED * sorted[i - 1]).length;
}
