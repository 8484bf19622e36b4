import type { Bench } from '../bench/bench.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { riseDistributions } from '../prediction/rise-distribution.ts';
import { mixtureQuantile } from '../statistics/mixture.ts';

/** Beyond this multiple of the greatest load run nothing is planned in one step: loads are raised in steps. */
const BEYOND_RUN = 2;
/** Share of the readings that have to stay below the temperature limit. */
const SAFELY = 0.975;

/**
 * The greatest load that a cooler may be run at: what the heater gives, and what keeps the source below its limit even if the cooler is as poor as
 * its prediction allows.
 *
 * @param speed  fan speed over the cooler's greatest
 * @param ambient_C  air entering the fans
 */
export function reachableLoad(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  speed: number,
  ambient_C: number,
): number {
  const { power_max_W, temperature_limit_C } = limitsOf(posterior.bench, posterior.source);
  const most = Math.min(power_max_W ?? Number.POSITIVE_INFINITY, BEYOND_RUN * cooler.data.powerHigh_W);
  if (temperature_limit_C === undefined) return most;
  const hottest = (power_W: number): number => {
    const [at] = riseDistributions(posterior, cooler, [power_W], speed);
    return ambient_C + mixtureQuantile(at.mean, SAFELY) + 2 * Math.sqrt(at.freshVariance_K2);
  };
  if (hottest(most) <= temperature_limit_C) return most;
  let low = 0;
  let high = most;
  while (high - low > 1) {
    const middle = (low + high) / 2;
    if (hottest(middle) <= temperature_limit_C) low = middle;
    else high = middle;
  }
  return Math.floor(low);
}

function limitsOf(bench: Bench, source: string): { power_max_W?: number; temperature_limit_C?: number } {
  if (source === 'heater') return bench.heater;
  return { temperature_limit_C: bench.chips.find((chip) => chip.chip === source)?.temperature_limit_C };
}
