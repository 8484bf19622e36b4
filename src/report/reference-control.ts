import type { Bench } from '../bench/bench.ts';
import { isZeroLoad } from '../bench/run.ts';
import { benchWithRuns } from '../logs/bench-with-runs.ts';
import type { ControlChartResult } from '../months/control-chart.ts';
import { controlChart } from '../months/control-chart.ts';

/**
 * The control chart that a page draws: `null` without a reference cooler on the heater, or with one session alone.
 *
 * @param whole  the bench as read: runs carried over to another method have left the session that they are to speak for
 */
export function referenceControl(whole: Bench): ControlChartResult | null {
  const bench = benchWithRuns(whole);
  const name = bench.reference_cooler;
  if (name === undefined) return null;
  const sessions = new Set(bench.runs.map((run) => run.session));
  const isRun = bench.runs.some((run) => run.cooler === name && run.source === 'heater' && !isZeroLoad(run));
  return isRun && sessions.size > 1 ? controlChart(bench) : null;
}
