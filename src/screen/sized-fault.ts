/** Faults that leave a pattern over load and speed, in the order of the table. */
const CAUSES = ['interface', 'airflow', 'leak', 'sensor', 'pipe-limit', 'pump'] as const;
export type Cause = (typeof CAUSES)[number] | 'unexplained';

/**
 * A fault at one size: what it would add to the rise of every run of the cooler.
 *
 * Sizes are summed over with their prior weights, so that a cause which has to be bent to an unlikely size pays for it.
 */
export interface SizedFault {
  readonly weight: number;
  readonly size: number;
  readonly shift_K: Float64Array;
  /** What the coolant warms by over `coolant_K`, or over what the source does; negative where it cools. */
  readonly coolant_share: number;
  readonly coolant_K?: Float64Array;
  /** The size is meant where this is greatest among the runs of the block that is judged; without it, everywhere. */
  readonly relative?: Float64Array;
}

/** What a fault's shifts are multiplied by on one block of runs, so that its size is meant there. */
export function scaleOn(block: readonly number[], { relative }: SizedFault): number {
  if (!relative) return 1;
  let most = 0;
  for (const row of block) most = Math.max(most, relative[row]);
  return most > 0 ? 1 / most : 1;
}
