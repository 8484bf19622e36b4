import { sourceOf, temperatureLimit } from '../bench/source.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { normalCdf } from '../numerics/distributions.ts';
import { mixtureCdf } from '../numerics/mixture.ts';
import { lastWhere } from '../numerics/roots.ts';
import { type RiseDistribution, riseDistributions } from './rise-distribution.ts';

/** Beyond this multiple of the greatest load run nothing is planned in one step: loads are raised in steps (common practice, no source). */
const BEYOND_RUN = 2;
/**
 * Chance that a planned run stays below the temperature limit; the rest is for the bench to stop, the load
 * being raised in steps. Chosen: three in four.
 */
const LIKELY = 0.75;
/** A run that passes the limit with a greater chance than this is said to. */
const WORTH_SAYING = 0.025;

/**
 * Whether a run at a load may be proposed: the supply gives it, it is no more than twice the greatest load run, and three chances in four keep
 * the source below its limit.
 *
 * Certainty is not asked for. Beyond the loads run a limit of the heat pipes may or may not come, and only a run there tells; raised in steps the
 * source shows it long before it is hot, and the plan says where that is to be done, see {@link steppedRun}.
 *
 * @param ambient_C  air entering the fans
 */
export function isWithinReach(
  { bench, source }: BenchPosterior,
  cooler: CoolerPosterior,
  { power_W, mean }: Pick<RiseDistribution, 'power_W' | 'mean'>,
  ambient_C: number,
): boolean {
  const limit_C = temperatureLimit(bench, source);
  if (power_W > (sourceOf(bench, source).power_max_W ?? Number.POSITIVE_INFINITY)) return false;
  if (power_W > BEYOND_RUN * cooler.data.powerHigh_W) return false;
  return limit_C === undefined || mixtureCdf(mean, limit_C - ambient_C) >= LIKELY;
}

/**
 * The greatest load that a cooler may be planned at, see {@link isWithinReach}.
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
  const { bench, source } = posterior;
  const most = Math.min(
    sourceOf(bench, source).power_max_W ?? Number.POSITIVE_INFINITY,
    BEYOND_RUN * cooler.data.powerHigh_W,
  );
  const stays = (power_W: number): boolean => {
    const [at] = riseDistributions(posterior, cooler, [{ power_W, speed }]);
    return isWithinReach(posterior, cooler, at, ambient_C);
  };
  if (stays(most)) return most;
  return Math.floor(lastWhere(stays, 0, most, 1));
}

/** What an estimate passes, in words: the temperature limit of the source, what its supply gives. */
export function limitsPassed({ bench, source }: BenchPosterior, power_W: number, source_C: number): string[] {
  const notes: string[] = [];
  const limit_C = temperatureLimit(bench, source);
  const { power_max_W } = sourceOf(bench, source);
  const round1 = (value: number) => String(Math.round(value * 10) / 10);
  if (limit_C !== undefined && source_C > limit_C)
    notes.push(`above the ${source}'s limit: ${round1(source_C)} °C against ${round1(limit_C)} °C`);
  if (power_max_W !== undefined && power_W > power_max_W)
    notes.push(`above what the ${source} gives: ${round1(power_W)} W against ${round1(power_max_W)} W`);
  return notes;
}

/** A planned run at which the source may pass its limit. */
export interface SteppedRun {
  readonly power_W: number;
  readonly limit_C: number;
  /** Greatest load run so far, W. */
  readonly from_W: number;
  readonly chance: number;
}

/** The chance that a fresh mount at some load passes the source's limit, where it is worth saying. */
export function steppedRun(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  power_W: number,
  speed: number,
  ambient_C: number,
): SteppedRun | undefined {
  const limit_C = temperatureLimit(posterior.bench, posterior.source);
  const from_W = cooler.data.powerHigh_W;
  if (limit_C === undefined || power_W <= from_W) return undefined;
  const [{ mean, freshVariance_K2 }] = riseDistributions(posterior, cooler, [{ power_W, speed }]);
  const chance = mean.weight.reduce((sum, weight, k) => {
    const spread = Math.hypot(mean.deviation[k], Math.sqrt(freshVariance_K2));
    return sum + weight * normalCdf((ambient_C + mean.mean[k] - limit_C) / spread);
  }, 0);
  return chance > WORTH_SAYING ? { power_W, limit_C, from_W, chance } : undefined;
}
