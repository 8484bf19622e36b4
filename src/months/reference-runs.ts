import type { Bench, Run } from '../bench/bench.ts';
import { countMounts } from '../bench/mounts.ts';
import { heatIntoBase, isSameCondition, isZeroLoad, riseOf } from '../bench/run.ts';
import { methodOf } from './paired-runs.ts';
import { sessionsOf } from './sessions.ts';

/** The reference cooler's readings in one session, laid out for a comparison with other sessions. */
export interface ReferenceSession {
  readonly session: string;
  /** Which condition each reading was taken at: readings of one cell are expected to be the same in every session. */
  readonly cell: Int32Array;
  /** Rise at the cell's own load, K. */
  readonly rise_K: Float64Array;
  /** Heat into the base, W; 0 for a reading at zero load. */
  readonly base_W: Float64Array;
  /** How often the cooler was fitted. */
  readonly mounts: number;
  readonly runs: readonly Run[];
}

export interface ReferenceRuns {
  readonly cells: number;
  readonly sessions: readonly ReferenceSession[];
  /** Mean load of the readings with heat on, W. */
  readonly load_W: number;
}

/**
 * The runs of one cooler on the heater by session, each with its condition: sample, test procedure, orientation, load, fan
 * and pump speed. Readings at zero load, of whichever cooler, are one condition more: they show the sensors alone.
 *
 * Loads that differ by a trifle are brought to the first of their cell in proportion.
 */
export function referenceRuns(bench: Bench, cooler: string): ReferenceRuns {
  const cells: Run[] = [];
  const leak = bench.heater.leak_W_per_K.value;
  const sessions: ReferenceSession[] = [];
  let load = 0;
  let loaded = 0;
  for (const { session, runs } of sessionsOf(bench)) {
    const own = runs.filter((run) => run.source === 'heater' && (isZeroLoad(run) || run.cooler === cooler));
    const heated = own.filter((run) => !isZeroLoad(run));
    if (heated.length === 0) continue;
    const cell = Int32Array.from(own, (run) => cellOf(cells, run));
    const rise_K = Float64Array.from(own, (run, i) => {
      const share = isZeroLoad(run) ? 1 : cells[cell[i]].power_W / run.power_W;
      return riseOf(run) * share;
    });
    const base_W = rise_K.map((rise, i) => heatIntoBase(cells[cell[i]].power_W, rise, leak));
    for (const run of heated) load += run.power_W;
    loaded += heated.length;
    sessions.push({ session, cell, rise_K, base_W, mounts: countMounts(heated), runs: own });
  }
  return { cells: cells.length, sessions, load_W: loaded > 0 ? load / loaded : 0 };
}

/** Number of the cell, known by its first run, that a run belongs to: sample, procedure and condition are the same. */
export function cellOf(cells: Run[], run: Run): number {
  const found = cells.findIndex((cell) =>
    isZeroLoad(run)
      ? isZeroLoad(cell)
      : cell.sample === run.sample && methodOf(cell) === methodOf(run) && isSameCondition(cell, run),
  );
  return found >= 0 ? found : cells.push(run) - 1;
}
