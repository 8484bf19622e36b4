import type { Bench, Run } from '../bench/bench.ts';
import { distinctMounts } from '../bench/mounts.ts';
import { isZeroLoad, riseOf } from '../bench/run.ts';
import { READING } from '../fit/components.ts';
import { ASSUMED } from '../fit/scatter.ts';
import { qrPivoted } from '../numerics/orthogonal.ts';
import { cellOf } from './reference-runs.ts';

/** A scatter and how many degrees of freedom it stands on. */
export interface EstimatedScatter {
  readonly value: number;
  readonly freedom: number;
}

/**
 * Reading scatter from what fittings, paste and sensors cannot move.
 *
 * Under the same conditions two fittings of a cooler differ by an amount that is the same at every load (the sensors) and one
 * in proportion to the load (paste, pressure). What is left of the readings of several fittings at three or more loads
 * once both are taken out is reading scatter, whatever drifted between the sessions. Common practice counts as much as
 * its width says: two degrees of freedom.
 */
export function readingScatter(bench: Bench): EstimatedScatter {
  const assumed = ASSUMED[READING];
  const few = 2 / (2 * assumed.standardDeviation) ** 2;
  let squares = few * Math.exp(2 * assumed.mean);
  let freedom = few;
  for (const { cooler } of bench.coolers) {
    const own = bench.runs.filter(
      (run) =>
        run.cooler === cooler && run.source === 'heater' && !isZeroLoad(run) && run.mount !== undefined,
    );
    const left = residualSquares(own);
    squares += left.squares;
    freedom += left.freedom;
  }
  return { value: Math.sqrt(squares / freedom), freedom };
}

/** Residual sum of squares of rise on condition, fitting, and fitting times load. */
function residualSquares(runs: readonly Run[]): { squares: number; freedom: number } {
  const mounts = distinctMounts(runs).filter((mount) => mount.runs.length > 2);
  const rows = mounts.flatMap((mount, m) => mount.runs.map((run) => ({ run, m })));
  const cells: Run[] = [];
  const cell = rows.map(({ run }) => cellOf(cells, run));
  const n = rows.length;
  const columns = cells.length + 2 * mounts.length;
  if (n <= cells.length) return { squares: 0, freedom: 0 };
  const a = new Float64Array(n * columns);
  const y = Float64Array.from(rows, ({ run }) => riseOf(run));
  rows.forEach(({ m }, i) => {
    a[i * columns + cell[i]] = 1;
    a[i * columns + cells.length + 2 * m] = 1;
    a[i * columns + cells.length + 2 * m + 1] = cells[cell[i]].power_W / 100;
  });
  const rank = qrPivoted(a, n, columns, new Int32Array(columns), y, 1, 1e-10);
  let squares = 0;
  for (let i = rank; i < n; i++) squares += y[i] * y[i];
  return { squares, freedom: n - rank };
}
