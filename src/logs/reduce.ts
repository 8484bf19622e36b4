import type { Bench, LogEntry, Run } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { didYouMean } from '../bench/nearest-name.ts';
import { optionalNumberNames, optionalRunTexts } from '../bench/runs-table.ts';
import { ExponentialFit } from '../response/exponential-fit.ts';
import type { LogBlocks } from './log-blocks.ts';
import { type LogScans, scannedLog } from './log-source.ts';
import { noLoad_W, type ReducedRun, refuseImplausible } from './plausible-run.ts';
import { learnReadings, type Readings, type ReadingsSummary, readingsInWords } from './readings.ts';
import {
  loggedSteps,
  type ReductionOptions,
  reduceStep,
  responsesOf,
  type StepResult,
} from './reduce-log.ts';

export type { ReducedRun };

export interface ReduceOptions extends ReductionOptions {
  /** Where a scanned log is had from, by file name as in the index: for logs too long to be held as bytes. */
  readonly scans?: LogScans;
  /** Called after each log. */
  readonly onProgress?: (done: number, total: number, log: string) => void;
}

export interface ReduceResult {
  bench: string;
  runs: ReducedRun[];
  /** What the logs tell together of noise and air, which every run's uncertainty rests on. */
  readings: ReadingsSummary;
  early_stop_K: number;
  /** Hours that stopping each run at its early-stop time would have saved. */
  hours_saved: number;
  hours_logged: number;
  warnings: string[];
}

/**
 * Raw logs to steady values.
 *
 * @throws BenchError for a log that the index names and the folder lacks, a fault inside a log, or a run made twice
 * @example reduce(bench).runs[0].rise_K
 */
export function reduce(bench: Bench, options: ReduceOptions = {}): ReduceResult {
  return reduceWith(bench, options).result;
}

/** {@link reduce}, with what the logs tell together and the response behind each run. */
export function reduceWith(
  bench: Bench,
  options: ReduceOptions = {},
): { result: ReduceResult; readings: Readings; steps: StepResult[] } {
  const runs: ReducedRun[] = [];
  const results: StepResult[] = [];
  const names = new Map<string, LogEntry>();
  const warnings: string[] = [];
  const logs = bench.logs.map((entry) => {
    const steps = loggedSteps(scanOf(bench, entry, options), bench.ambient, options);
    if (steps.length === 0) warnings.push(`logs/${entry.log}: no rows; it gives no run`);
    return { entry, steps };
  });
  const readings = learnReadings(logs.flatMap(({ steps }) => responsesOf(steps)));
  const fit = new ExponentialFit();
  logs.forEach(({ entry, steps }, index) => {
    steps.forEach((logged, i) => {
      const step = reduceStep(fit, logged, readings, options);
      const run = describe(entry, steps.length > 1 ? `${entry.run}.${i + 1}` : entry.run, step);
      const earlier = names.get(run.run);
      if (earlier) {
        throw new BenchError(
          'logs.csv',
          entry.line,
          1,
          `run ${run.run} is also made by line ${earlier.line}; give each log a run of its own`,
        );
      }
      refuseImplausible(bench, run, logged.end_K);
      names.set(run.run, entry);
      runs.push(run);
      results.push(step);
    });
    options.onProgress?.(index + 1, logs.length, entry.log);
  });
  let saved = 0;
  let logged = 0;
  for (const run of runs) {
    logged += run.logged_s;
    if (run.early_stop_s !== null) saved += Math.max(0, run.logged_s - run.early_stop_s);
  }
  const result = {
    bench: bench.name,
    runs,
    readings: readingsInWords(readings),
    early_stop_K: options.early_stop_K ?? 0.2,
    hours_saved: saved / 3600,
    hours_logged: logged / 3600,
    warnings,
  };
  return { result, readings, steps: results };
}

function scanOf(bench: Bench, entry: LogEntry, options: ReduceOptions): LogBlocks {
  const scanned = scannedLog(bench, entry.log, options.scans);
  if (scanned) return scanned;
  throw new BenchError(
    'logs.csv',
    entry.line,
    1,
    `logs/${entry.log} is not in the bench${didYouMean(entry.log, bench.logFiles.keys())}`,
  );
}

function describe(entry: LogEntry, run: string, step: StepResult): ReducedRun {
  return {
    run,
    cooler: entry.cooler,
    sample: entry.sample,
    mount: entry.mount ?? null,
    source: entry.source,
    log: entry.log,
    power_W: step.power_W,
    fan_rpm: step.fan_rpm,
    ambient_C: step.ambient_C,
    rise_K: step.rise_K,
    u_K: step.u_K,
    steady: step.steady,
    usable: step.usable,
    settled_after_s: step.settled_after_s,
    time_constants_s: [...step.time_constants_s],
    reasons: [...step.reasons],
    notes: [...step.notes],
    early_stop_s: step.early_stop_s,
    logged_s: step.seconds,
    short_K: step.short_K,
    means: { ...step.carried },
  };
}

/** Far below what can be read, so that a row says the same in memory and in the file. */
function rounded(value: number, decimals: number): number {
  return Number(value.toFixed(decimals));
}

/**
 * The reduced runs as rows of runs.csv: source temperature is ambient plus the asymptote. Runs that are not usable
 * are left out; a run of at most 1 W is one without load. Temperatures are rounded to 0.1 mK, loads to 1 mW.
 *
 * @param result  of {@link reduce} with the same bench
 */
export function reducedRuns(bench: Bench, result: ReduceResult): Run[] {
  const rows: Run[] = [];
  const entries = new Map(bench.logs.map((entry) => [entry.log, entry]));
  for (const reduced of result.runs) {
    if (!reduced.usable || reduced.rise_K === null || reduced.u_K === null) continue;
    const entry = entries.get(reduced.log);
    const extra: Record<string, string> = { ...(entry?.extra ?? {}) };
    const run: Run = {
      run: reduced.run,
      cooler: reduced.cooler,
      sample: reduced.sample,
      mount: reduced.mount ?? undefined,
      source: reduced.source,
      power_W: reduced.power_W > noLoad_W ? rounded(reduced.power_W, 3) : 0,
      fan_rpm: Math.max(0, rounded(reduced.fan_rpm, 1)),
      source_C: rounded(reduced.ambient_C + reduced.rise_K, 4),
      ambient_C: rounded(reduced.ambient_C, 4),
      u_K: rounded(reduced.u_K, 5),
      log: reduced.log,
      extra,
      line: entry?.line ?? 0,
    };
    for (const name of optionalNumberNames) {
      const written = extra[name] === undefined || extra[name] === '' ? Number.NaN : Number(extra[name]);
      const value = reduced.means[name] ?? written;
      if (Number.isFinite(value)) run[name] = rounded(value, 4);
      delete extra[name];
    }
    for (const name of optionalRunTexts) {
      if (extra[name] !== undefined && extra[name] !== '') run[name] = extra[name];
      delete extra[name];
    }
    rows.push(run);
  }
  return rows;
}
