import type { Bench } from '../bench/bench.ts';
import { normalQuantile } from '../numerics/distributions.ts';
import type { ClockResult, CompareResult } from '../results.ts';
import { clockOf } from '../sources/chip-description.ts';
import { clockSlope, clockWorth } from './clock.ts';

/**
 * What each pair's difference is worth in clock, where bench.yaml holds the lab's own pairs of temperature and clock.
 *
 * The uncertainty of a difference is taken from its interval. Those of a comparison hold for all pairs together and so are
 * wider than one pair's alone: the intervals in MHz are on the safe side.
 *
 * @returns `undefined` for a source without a `clock`
 * @example pairClock(bench, compare(bench, { source: 'chip-a', power_W: [150] }))?.pairs[0].sentence
 */
export function pairClock(bench: Bench, result: CompareResult): ClockResult | undefined {
  const notes = clockOf(bench, result.source);
  if (!notes) return undefined;
  const slope = clockSlope(notes.pairs, result.level);
  const quantile = normalQuantile((1 + result.level) / 2);
  return {
    MHz_per_K: slope.MHz_per_K,
    standard_error: slope.standard_error,
    low: slope.low,
    high: slope.high,
    step_MHz: notes.step_MHz,
    noted: notes.pairs.length,
    pairs: result.pairs.flatMap(({ a, b, difference }) =>
      difference.map(({ power_W, rise_K, low_K, high_K }) => {
        const u_K = (high_K - low_K) / (2 * quantile);
        const worth = clockWorth(slope, { advantage_K: -rise_K, u_K }, notes.step_MHz);
        const { MHz, low, high, within_error, below_step } = worth;
        return {
          a,
          b,
          power_W,
          MHz,
          low,
          high,
          within_error,
          below_step,
          sentence: `${a} beside ${b} at ${power_W} W: ${worth.sentence}`,
        };
      }),
    ),
  };
}
