import type { Bench, Run } from '../bench/bench.ts';
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
  /** Which fitting, counted within the session; −1 for a reading at zero load, to which the fitting does nothing. */
  readonly mount: Int32Array;
  readonly mounts: number;
  readonly runs: readonly Run[];
}

export interface ReferenceRuns {
  readonly cells: number;
  readonly sessions: readonly ReferenceSession[];
  /** Mean load of the readings with heat on, W. */
  readonly load_W: number;
}

/** Two loads or speeds within this share are one condition. */
const SAME = 0.04;

interface Cell {
  readonly sample: string;
  readonly method: string;
  readonly orientation: string;
  readonly power_W: number;
  readonly fan_rpm: number;
  readonly pump_rpm: number;
}

/**
 * The runs of one cooler on the heater by session, each with its condition: sample, test procedure, orientation, load, fan
 * and pump speed. Readings at zero load, of whichever cooler, are one condition more: they show the sensors alone.
 *
 * Loads that differ by a trifle are brought to the first of their cell in proportion.
 */
export function referenceRuns(bench: Bench, cooler: string): ReferenceRuns {
  const cells: Cell[] = [];
  const leak = bench.heater.leak_W_per_K.value;
  const sessions: ReferenceSession[] = [];
  let load = 0;
  let loaded = 0;
  for (const { session, runs } of sessionsOf(bench)) {
    const own = runs.filter((run) => run.source === 'heater' && (run.power_W === 0 || run.cooler === cooler));
    if (!own.some((run) => run.power_W > 0)) continue;
    const mounts = new Map<string, number>();
    const cell = Int32Array.from(own, (run) => cellOf(cells, run));
    const rise_K = Float64Array.from(own, (run, i) => {
      const rise = run.source_C - run.ambient_C;
      return run.power_W > 0 ? (rise * cells[cell[i]].power_W) / run.power_W : rise;
    });
    const base_W = Float64Array.from(own, (run, i) =>
      run.power_W > 0 ? Math.max(cells[cell[i]].power_W - leak * rise_K[i], 0.05 * run.power_W) : 0,
    );
    const mount = Int32Array.from(own, (run) => {
      if (run.power_W === 0) return -1;
      const key = JSON.stringify([run.sample, run.mount ?? '']);
      const known = mounts.get(key) ?? mounts.size;
      mounts.set(key, known);
      return known;
    });
    for (const run of own) {
      if (run.power_W > 0) {
        load += run.power_W;
        loaded++;
      }
    }
    sessions.push({ session, cell, rise_K, base_W, mount, mounts: mounts.size, runs: own });
  }
  return { cells: cells.length, sessions, load_W: loaded > 0 ? load / loaded : 0 };
}

function cellOf(cells: Cell[], run: Run): number {
  const zero = run.power_W === 0;
  const wanted: Cell = zero
    ? { sample: '', method: '', orientation: '', power_W: 0, fan_rpm: 0, pump_rpm: 0 }
    : {
        sample: run.sample,
        method: run.method ?? '',
        orientation: run.orientation ?? '',
        power_W: run.power_W,
        fan_rpm: run.fan_rpm,
        pump_rpm: run.pump_rpm ?? 0,
      };
  const found = cells.findIndex(
    (cell) =>
      cell.sample === wanted.sample &&
      cell.method === wanted.method &&
      cell.orientation === wanted.orientation &&
      near(cell.power_W, wanted.power_W) &&
      near(cell.fan_rpm, wanted.fan_rpm) &&
      near(cell.pump_rpm, wanted.pump_rpm),
  );
  if (found >= 0) return found;
  cells.push(wanted);
  return cells.length - 1;
}

function near(a: number, b: number): boolean {
  return Math.abs(a - b) <= SAME * Math.max(a, b);
}
