import type { Bench } from '../bench/bench.ts';
import { filesOf } from '../bench/logs-index.ts';
import { studyOf } from '../study.ts';
import { joinedLog } from './joined-log.ts';
import type { LogBlocks } from './log-blocks.ts';
import type { LogReading } from './log-header.ts';
import { scanLog } from './log-scanner.ts';

/** Scanned logs by file name: a map, or something that scans a log when it is asked for. */
export type LogScans = Pick<ReadonlyMap<string, LogBlocks>, 'get'>;

const SCANS = 'where its logs are had from';

/**
 * Says where the logs of a bench are had from, for logs too long to be held as bytes. It holds for copies of the bench
 * with the same list of logs too; said before any log is asked for.
 *
 * @example logsFrom(bench, new Map([['run-1.csv', scanner.finish()]]))
 */
export function logsFrom(bench: Bench, scans: LogScans): void {
  studyOf(bench.logs).once(SCANS, () => scans);
}

/**
 * A log of a bench, scanned: from `scans`, from where {@link logsFrom} says, or from its bytes.
 *
 * @returns `undefined` where the bench does not have it
 * @throws BenchError at the first fault inside the log
 */
export function scannedLog(bench: Bench, log: string, scans?: LogScans): LogBlocks | undefined {
  const scanned = scans?.get(log);
  if (scanned) return scanned;
  const files = filesOf(log);
  if (files.length === 1) return scannedFile(bench, log);
  const entry = bench.logs.find((one) => one.log === log);
  const parts = files.flatMap((name) => {
    // A scanned log is valid until the next one is asked for.
    const part = scannedFile(bench, name);
    return part ? [{ name, log: copied(part) }] : [];
  });
  return parts.length < files.length ? undefined : joinedLog(parts, entry);
}

function scannedFile(bench: Bench, file: string): LogBlocks | undefined {
  const scanned = studyOf(bench.logs)
    .once<LogScans | undefined>(SCANS, () => undefined)
    ?.get(file);
  if (scanned) return scanned;
  const bytes = bench.logFiles.get(file);
  return bytes && scanLog(`logs/${file}`, bytes, undefined, logReading(bench, file));
}

const copied = (log: LogBlocks): LogBlocks => ({
  ...log,
  time_s: log.time_s.slice(),
  source_C: log.source_C.slice(),
  ambient_C: log.ambient_C.slice(),
  power_W: log.power_W.slice(),
  fan_rpm: log.fan_rpm.slice(),
  rows: log.rows.slice(),
  carried: log.carried.map(({ name, values }) => ({ name, values: values.slice() })),
});

/** What bench.yaml and the index say of a log beside its text. */
export function logReading({ columns, logs }: Bench, file: string): LogReading {
  const entry = logs.find(({ log }) => filesOf(log).includes(file));
  // What is held is held for the run, whichever of its files lacks it.
  return entry && entry.log !== file ? { columns, isPart: true } : { columns, held: entry?.held };
}
