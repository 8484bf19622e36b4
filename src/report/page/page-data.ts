import type { CompareResult, FitResult, LoadOrder, Pair } from '../../results.ts';

/**
 * What the page holds: results on a grid of loads, the runs, and the evidence. The page's script reads this and nothing
 * else, so that its numbers are those of the command line.
 */
export interface PageData {
  bench: string;
  level: number;
  source: string;
  /** Words for the speed condition: "at full fan speed". */
  condition: string;
  ambient_C: number;
  /** Rise at which the source reaches its temperature limit, where the bench states one. */
  limit_K?: number;
  /** Index into the grid of the load shown first. */
  start: number;
  coolers: CoolerCurve[];
  compare: PackedCompare;
  fit: FitResult;
  warnings: string[];
}

/** Rise of one cooler over the grid of loads, with the runs it stands on. */
export interface CoolerCurve {
  cooler: string;
  power_W: number[];
  rise_K: number[];
  low_K: number[];
  high_K: number[];
  extrapolated: boolean[];
  fan_rpm: number;
  /** Runs at this condition's speed and source. */
  runs: { power_W: number; rise_K: number }[];
  /** Runs at other speeds, which the curve does not pass through. */
  otherRuns: number;
}

/** `CompareResult` by columns, which takes a quarter of the room. */
export interface PackedCompare extends Omit<CompareResult, 'pairs'> {
  pairs: (Omit<Pair, 'difference'> & { rise_K: number[]; low_K: number[]; high_K: number[] })[];
}

export function packCompare(result: CompareResult): PackedCompare {
  return {
    ...result,
    pairs: result.pairs.map(({ difference, ...pair }) => ({
      ...pair,
      rise_K: difference.map((d) => d.rise_K),
      low_K: difference.map((d) => d.low_K),
      high_K: difference.map((d) => d.high_K),
    })),
  };
}

export function unpackCompare(packed: PackedCompare): CompareResult {
  return {
    ...packed,
    pairs: packed.pairs.map(({ rise_K, low_K, high_K, ...pair }) => ({
      ...pair,
      difference: packed.loads.map((at: LoadOrder, i) => ({
        power_W: at.power_W,
        rise_K: rise_K[i],
        low_K: low_K[i],
        high_K: high_K[i],
      })),
    })),
  };
}
