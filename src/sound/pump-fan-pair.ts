import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { normalQuantile } from '../numerics/distributions.ts';
import { largest, smallest } from '../numerics/extremes.ts';
import { cholesky } from '../numerics/matrix.ts';
import { mixtureDeviation, mixtureMean } from '../numerics/mixture.ts';
import { type CoolerWithSound, leastSpeedOf } from '../predict/at-conditions.ts';
import { jointRises } from '../predict/joint-rises.ts';
import { riseDistributions } from '../predict/rise-distribution.ts';
import type { RisePoint } from '../predict/rise-point.ts';
import { sharedVariance } from '../predict/shared-errors.ts';

import { collectNoise, SAME_PUMP_SPEED } from './collect-noise.ts';
import { meteredLevel } from './energy-sum.ts';
import type { MeterErrors } from './meter-sessions.ts';
import { coolestPair, type NoisyPart } from './pump-and-fan.ts';
import { fitPumpSound, lawsOf, type PumpAndFanSound } from './pump-sound.ts';
import type { LevelTest } from './rise-at-levels.ts';

/** Pump and fan speeds of a liquid cooler with the least rise at the level. Own levels of fan and pump, dBA. */
export interface PumpAndFanPair {
  cooler: string;
  fan_rpm: number;
  pump_rpm: number;
  sound_dBA: number;
  fan_dBA: number;
  pump_dBA: number;
  rise_K: number;
  low_K: number;
  high_K: number;
  limited_by: 'none' | 'least-stable-speed' | 'greatest-speed';
  notes: string[];
}

/**
 * The pair of pump and fan speeds with the least rise at a metered level, for a liquid cooler.
 *
 * At one level a faster pump means a slower fan. Which split is best needs two things that a bench often lacks: the sound
 * of the pump apart from the fan's (`pump_rpm` in noise.csv, at two speeds or more), and runs at two pump speeds or more,
 * without which only a prior says what the pump does to the rise. Where one is missing the reason is given instead.
 *
 * The interval holds what is left open of the rise at that pair, the shared errors, and the two laws of sound by unscented points of their covariance (Julier and Uhlmann 1997).
 *
 * @param level_dBA  metered, background included
 * @returns the pair, or why there is none
 */
export function pumpFanPair(
  posterior: BenchPosterior,
  { cooler, law }: CoolerWithSound,
  power_W: number,
  level_dBA: number,
  test: LevelTest,
): PumpAndFanPair | { cooler: string; reason: string } {
  const { cooler: name, fan_max_rpm } = cooler.data.cooler;
  const background = posterior.bench.instruments.sound_level.background_dBA;
  const known = whatIsKnown(posterior, cooler, background, law.meter);
  if (typeof known === 'string') return { cooler: name, reason: known };
  const { sound, least_rpm, greatest_rpm } = known;
  const own_dBA =
    background === undefined ? level_dBA : 10 * Math.log10(10 ** (level_dBA / 10) - 10 ** (background / 10));
  const fanEnds = { least_rpm: leastSpeedOf(cooler, law).fan_rpm, greatest_rpm: fan_max_rpm };
  // In thinner air a fan does what it would do at a lower speed in the bench's.
  const whole_rpm = fan_max_rpm / test.density;
  const pointOf = (fan_rpm: number, pump_rpm: number): RisePoint => ({
    power_W,
    speed: fan_rpm / whole_rpm,
    more: { q: pump_rpm / greatest_rpm },
  });
  const meanRise = (fan_rpm: number, pump_rpm: number): number =>
    jointRises(posterior, cooler, [pointOf(fan_rpm, pump_rpm)], { want: 'mean' }).reduce(
      (sum, { weight, mean }) => sum + weight * mean[0],
      0,
    );
  const pairFor = (laws: Pick<PumpAndFanSound, 'fan' | 'pump'>) => {
    const fan: NoisyPart = { ...laws.fan, ...fanEnds };
    const pump: NoisyPart = { ...laws.pump, least_rpm, greatest_rpm };
    return coolestPair(fan, pump, own_dBA, meanRise);
  };
  const best = pairFor(sound);
  const [here] = riseDistributions(posterior, cooler, [pointOf(best.fan_rpm, best.pump_rpm)]);
  const rise_K = mixtureMean(here.mean);
  const bySound = spreadBySound(sound, (laws) => pairFor(laws).rise_K - best.rise_K);
  const variance =
    mixtureDeviation(here.mean) ** 2 + bySound + sharedVariance(here.meanSensitivity, test.shared);
  const half = normalQuantile((1 + test.level) / 2) * Math.sqrt(variance);
  return {
    cooler: name,
    fan_rpm: best.fan_rpm,
    pump_rpm: best.pump_rpm,
    sound_dBA: meteredLevel(best.own_dBA, background),
    fan_dBA: best.fan_dBA,
    pump_dBA: best.pump_dBA,
    rise_K,
    low_K: rise_K - half,
    high_K: rise_K + half,
    limited_by: best.limitedBy,
    notes: best.notes,
  };
}

/** The laws of sound and the ends of the pump speeds run, or why a split cannot be told. */
function whatIsKnown(
  { bench }: BenchPosterior,
  { data }: CoolerPosterior,
  background_dBA: number | undefined,
  meter: MeterErrors | undefined,
): { sound: PumpAndFanSound; least_rpm: number; greatest_rpm: number } | string {
  const pumps = data.runs.map((run) => run.pump_rpm ?? 0).filter((rpm) => rpm > 0);
  if (pumps.length === 0) return 'no run gives its pump_rpm';
  const [least_rpm, greatest_rpm] = [smallest(pumps), largest(pumps)];
  const readings = collectNoise(bench).withPump.get(data.cooler.cooler) ?? [];
  const sound = fitPumpSound(
    readings.map((reading) => ({ ...reading, pump_rpm: reading.pump_rpm ?? 0 })),
    background_dBA,
    meter,
  );
  if (typeof sound === 'string') return sound;
  if (greatest_rpm < SAME_PUMP_SPEED * least_rpm)
    return 'it was run at one pump speed only, so what its pump does to the rise is not known; run it at a second';
  return { sound, least_rpm, greatest_rpm };
}

/** Variance of the rise from what is not known of the laws: the speeds chosen are held to the level by laws that are a little off. */
function spreadBySound(
  sound: PumpAndFanSound,
  change_K: (laws: Pick<PumpAndFanSound, 'fan' | 'pump'>) => number,
): number {
  const laws = unscented(sound).map(lawsOf);
  const rising = laws.filter(({ fan, pump }) => fan.b_dB_per_decade > 0 && pump.b_dB_per_decade > 0);
  return rising.reduce((sum, one) => sum + change_K(one) ** 2 / 8, 0);
}

/** The eight points at two standard deviations along the columns of the covariance's root: their spread is its own. */
function unscented({ parameters, covariance }: PumpAndFanSound): Float64Array[] {
  const root = covariance.slice();
  if (!cholesky(root, 4)) return [];
  return [0, 1, 2, 3].flatMap((c) =>
    [2, -2].map((z) => parameters.map((value, r) => value + z * (r >= c ? root[r * 4 + c] : 0))),
  );
}
