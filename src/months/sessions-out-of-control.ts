import type { Bench } from '../bench/bench.ts';
import { isZeroLoad } from '../bench/run.ts';
import { studyOf } from '../study.ts';
import { controlChart } from './control-chart.ts';
import { sessionsOf } from './sessions.ts';

/** Sessions in which the reference cooler's chart is out of control; none where there is no chart. */
export function sessionsOutOfControl(bench: Bench): string[] {
  return studyOf(bench).once('sessions out of control', () => findOutOfControl(bench));
}

/** Sessions in which the reference cooler's chart is out of control; none without a reference run in two. */
function findOutOfControl(bench: Bench): string[] {
  const { reference_cooler: reference } = bench;
  const own = bench.runs.filter(
    (run) => run.cooler === reference && run.source === 'heater' && !isZeroLoad(run),
  );
  if (reference === undefined || sessionsOf({ ...bench, runs: own }).length < 2) return [];
  const { series } = controlChart(bench);
  const out = new Set(
    series.flatMap(({ points }) =>
      points.filter(({ state }) => state === 'out of control').map(({ session }) => session),
    ),
  );
  return sessionsOf(bench).flatMap(({ session }) => (out.has(session) ? [session] : []));
}
