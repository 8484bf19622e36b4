import { studyOf } from '../study.ts';
import type { Bench } from './bench.ts';
import { BenchError } from './bench-error.ts';
import { isZeroLoad } from './run.ts';

/**
 * The bench with the runs of one orientation only: how pipes and loops do on their side is a matter of running them so, not
 * of reckoning.
 *
 * Without an orientation asked for it is the one with most runs, and the warning says what was left out. A run that names none
 * belongs to those that name none.
 *
 * @throws BenchError where no run has the orientation asked for
 */
export function inOrientation(bench: Bench, asked: string | undefined): Bench {
  const counts = new Map<string, number>();
  for (const run of bench.runs) {
    if (isZeroLoad(run)) continue;
    counts.set(run.orientation ?? '', (counts.get(run.orientation ?? '') ?? 0) + 1);
  }
  if (asked === undefined && counts.size < 2) return bench;
  const orientation = asked ?? [...counts].reduce((a, b) => (b[1] > a[1] ? b : a))[0];
  if (!counts.has(orientation)) {
    const there = [...counts.keys()].filter((name) => name !== '').join(', ');
    throw new BenchError(
      '--orientation',
      1,
      1,
      `no cooler was run in the orientation "${orientation}", and other orientations do not tell what it does; ${there ? `runs are there for ${there}` : 'no run names an orientation'}`,
    );
  }
  if (counts.size < 2) return bench;
  return studyOf(bench).once(`orientation ${orientation}`, (): Bench => {
    const runs = bench.runs.filter((run) => isZeroLoad(run) || (run.orientation ?? '') === orientation);
    const left = bench.runs.length - runs.length;
    const name = orientation === '' ? 'that name no orientation' : `in the orientation "${orientation}"`;
    const warning = `answers are from the runs ${name}; ${left} in others are left out (--orientation takes one of ${[...counts.keys()].filter((other) => other !== '').join(', ')})`;
    return { ...bench, runs, warnings: [...bench.warnings, warning] };
  });
}
