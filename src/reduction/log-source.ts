import type { Bench, LogEntry } from '../bench/bench.ts';
import type { LogBlocks } from './log-blocks.ts';
import type { LogReading } from './log-header.ts';
import { scanLog } from './log-scanner.ts';

/** Scanned logs by file name: a map, or something that scans a log when it is asked for. */
export type LogScans = Pick<ReadonlyMap<string, LogBlocks>, 'get'>;

const sources = new WeakMap<readonly LogEntry[], LogScans>();

/**
 * Says where the logs of a bench are had from, for logs too long to be held as bytes. It holds for copies of the bench
 * with the same list of logs too.
 *
 * @example logsFrom(bench, new Map([['run-1.csv', scanner.finish()]]))
 */
export function logsFrom(bench: Bench, scans: LogScans): void {
  sources.set(bench.logs, scans);
}

/**
 * A log of a bench, scanned: from `scans`, from where {@link logsFrom} says, or from its bytes.
 *
 * @returns `undefined` where the bench does not have it
 * @throws BenchError at the first fault inside the log
 */
export function scannedLog(bench: Bench, log: string, scans?: LogScans): LogBlocks | undefined {
  const scanned = scans?.get(log) ?? sources.get(bench.logs)?.get(log);
  if (scanned) return scanned;
  const bytes = bench.logFiles.get(log);
  return bytes && scanLog(`logs/${log}`, bytes, undefined, logReading(bench, log));
}

/** What bench.yaml and the index say of a log beside its text. */
export function logReading({ columns, logs }: Bench, log: string): LogReading {
  return { columns, held: logs.find((entry) => entry.log === log)?.held };
}
