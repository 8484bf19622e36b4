import type { Bench } from '../bench/bench.ts';
import { chipFault, chipNamed } from '../bench/source.ts';
import { normalQuantile } from '../numerics/distributions.ts';
import { type ClockPair, clockSlope, clockWorth } from './clock.ts';
import type { Comparison } from './comparison.ts';

/** What being cooler is worth in clock on a chip, by the lab's own pairs of temperature and clock. */
export interface ClockResult {
  MHz_per_K: number;
  standard_error: number;
  low: number;
  high: number;
  /** Least step of the chip's clock. */
  step_MHz: number;
  /** Pairs noted by the lab. */
  noted: number;
  /** Clock of a less clock of b at each load; within error where the interval holds 0. */
  pairs: {
    a: string;
    b: string;
    power_W: number;
    MHz: number;
    low: number;
    high: number;
    within_error: boolean;
    below_step: boolean;
    sentence: string;
  }[];
}

/**
 * What each pair's difference is worth in clock, where bench.yaml holds the lab's own pairs of temperature and clock.
 *
 * The uncertainty of a difference is taken from its interval. Those of a comparison hold for all pairs together and so are
 * wider than one pair's alone: the intervals in MHz are on the safe side.
 *
 * @returns `undefined` for a source without a `clock`
 * @example pairClock(bench, compare(bench, { source: 'chip-a', power_W: [150] }))?.pairs[0].sentence
 */
export function pairClock(bench: Bench, result: Comparison): ClockResult | undefined {
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

/** A lab's own pairs of temperature and clock at auto-frequency. */
export interface ClockNotes {
  readonly pairs: readonly ClockPair[];
  /** Least step of the chip's clock, MHz; 25 where not stated (common practice, no source). */
  readonly step_MHz: number;
}

/**
 * The pairs of a chip's `clock` in bench.yaml: `{temperature_C: [60, 70, 80], clock_MHz: [5000, 4950, 4900], step_MHz: 25}`.
 *
 * @throws BenchError where the two lists are not of one length, are too short, or hold something that is no number
 */
export function clockOf(bench: Bench, source: string): ClockNotes | undefined {
  const stated = chipNamed(bench, source)?.extra.clock;
  if (stated === undefined || stated === null) return undefined;
  const accepted =
    'accepted is {temperature_C: [60, 70, 80], clock_MHz: [5000, 4950, 4900]}, two lists of one length';
  if (typeof stated !== 'object' || Array.isArray(stated))
    throw chipFault(source, `clock is not a mapping; ${accepted}`);
  const { temperature_C, clock_MHz, step_MHz = 25, ...more } = stated as Record<string, unknown>;
  const unknown = Object.keys(more)[0];
  if (unknown !== undefined)
    throw chipFault(source, `clock, ${unknown}: unknown key; ${accepted}, and step_MHz`);
  if (!isNumbers(temperature_C) || !isNumbers(clock_MHz) || temperature_C.length !== clock_MHz.length) {
    throw chipFault(source, `clock: ${accepted}`);
  }
  if (!(typeof step_MHz === 'number' && step_MHz > 0)) {
    throw chipFault(source, 'clock, step_MHz: a number above 0 is accepted');
  }
  const pairs = temperature_C.map((source_C, k) => ({ source_C, clock_MHz: clock_MHz[k] }));
  try {
    clockSlope(pairs);
  } catch (error) {
    if (error instanceof RangeError) throw chipFault(source, `clock: ${error.message}`);
    throw error;
  }
  return { pairs, step_MHz };
}

function isNumbers(list: unknown): list is number[] {
  return Array.isArray(list) && list.every((value) => typeof value === 'number' && Number.isFinite(value));
}
