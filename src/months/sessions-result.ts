import type { Bench } from '../bench/bench.ts';
import { isZeroLoad } from '../bench/run.ts';
import { fanDuties } from '../fit/fan-duties.ts';
import { plateAndRadiator } from '../fit/plate-and-radiator.ts';
import { benchWithRuns } from '../logs/bench-with-runs.ts';
import type { SessionsResult } from '../session-results.ts';
import { type ControlChartOptions, controlChart } from './control-chart.ts';
import { decisionRecord } from './decision-record.ts';
import { unbridgedPairs } from './method-bridge.ts';
import { onOneMethod } from './one-method.ts';
import { methodOf } from './paired-runs.ts';
import { sessionsOf } from './sessions.ts';

export interface SessionsOptions extends ControlChartOptions {
  /** The bench's files, as for `readBench`: with them the result holds the decision record. */
  files?: Map<string, Uint8Array>;
  /** SHA-256 of those files whose bytes are not all here; see `datasetIdentity`. */
  hashes?: ReadonlyMap<string, string>;
}

/**
 * Whether old and new results of a bench are comparable: its sessions, the control chart of the reference cooler, what joins
 * its test methods, plate and radiator of liquid coolers, fan speeds against duty, and the record of published charts.
 *
 * @throws BenchError where a cooler is asked for that has no runs, or at a fault of `decisions.yaml`
 */
export function sessions(whole: Bench, options: SessionsOptions = {}): SessionsResult {
  const bench = benchWithRuns(whole);
  const { files, hashes, ...chartOptions } = options;
  const summaries = sessionsOf(bench).map(({ session, runs }) => {
    const dates = runs.map((run) => run.started).filter((date) => date !== undefined);
    return {
      session,
      runs: runs.length,
      coolers: new Set(runs.map((run) => run.cooler)).size,
      methods: [...new Set(runs.map(methodOf))],
      started:
        dates.length === runs.length ? dates.reduce((a, b) => (Date.parse(b) < Date.parse(a) ? b : a)) : null,
    };
  });
  const warnings: string[] = [];
  let chart: SessionsResult['control_chart'] = null;
  const reference = options.cooler ?? bench.reference_cooler;
  if (reference !== undefined && (options.cooler !== undefined || isRun(bench, reference))) {
    chart = controlChart(bench, chartOptions);
    warnings.push(...chart.warnings);
  } else if (reference === undefined) {
    if (summaries.length > 1) {
      warnings.push(
        'no reference cooler is named: nothing tells a drift of the bench from a difference of coolers; run one cooler in every session and name it, reference_cooler: NAME, in bench.yaml',
      );
    }
  } else warnings.push(`the reference cooler ${reference} has no runs on the heater: no control chart`);
  const loops = plateAndRadiator(bench);
  const record = files ? decisionRecord(files, bench, hashes) : null;
  return {
    bench: bench.name,
    sessions: summaries,
    control_chart: chart,
    bridges: [...onOneMethod(bench).bridges],
    unbridged: unbridgedPairs(bench),
    loops: loops.coolers,
    fan_duties: fanDuties(bench),
    record,
    warnings: [...bench.warnings, ...warnings, ...loops.warnings, ...(record?.warnings ?? [])],
  };
}

function isRun(bench: Bench, cooler: string): boolean {
  return bench.runs.some((run) => run.cooler === cooler && run.source === 'heater' && !isZeroLoad(run));
}
