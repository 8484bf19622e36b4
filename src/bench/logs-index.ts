import type { LogEntry } from './bench.ts';
import { bindColumns, type ColumnPlan, type NumberColumn, type ReadOptions } from './columns.ts';
import { didYouMean } from './nearest-name.ts';
import { benchName } from './quantity.ts';
import { optionalRunNumbers, optionalRunTexts, readStarted } from './runs-table.ts';
import { type Row, readTable } from './table.ts';
import { shown } from './wording.ts';

/** What may be set on the bench instead of being logged. */
const heldNumbers: readonly NumberColumn[] = [
  { quantity: 'power', dimension: 'power', low: 0, high: 1e6 },
  { quantity: 'fan', dimension: 'speed', low: 0, high: 1e6 },
  { quantity: 'ambient', dimension: 'temperature', low: -60, high: 80 },
];

/** What stands between the files of a run that was logged by more than one instrument. */
const BETWEEN_FILES = ' + ';

/** The files of a log. @example filesOf('temperatures.csv + supply.csv') // ['temperatures.csv', 'supply.csv'] */
export const filesOf = (log: string): string[] => log.split(BETWEEN_FILES);

const shift: NumberColumn = { quantity: 'shift', dimension: 'time' };

export const logsPlan: ColumnPlan = {
  texts: [
    ...['run', 'cooler', 'log'].map((name) => ({ name, required: true })),
    ...['sample', 'mount', 'source', ...optionalRunTexts].map((name) => ({ name })),
  ],
  numbers: [...heldNumbers, shift, ...optionalRunNumbers],
};

/**
 * Reads `logs.csv`, the index of the logs.
 *
 * @param logNames  names of the files below `logs/`
 */
export function readLogsIndex(
  file: string,
  bytes: Uint8Array,
  logNames: ReadonlySet<string>,
  options: ReadOptions,
): LogEntry[] {
  const bound = bindColumns(readTable(file, bytes), logsPlan, options);
  const { warnings } = options;
  const ids = new Map<string, Row>();
  const logs = new Map<string, Row>();
  const entries = bound.table.rows.map((row): LogEntry => {
    const run = bound.requiredName(row, 'run');
    const earlier = ids.get(run);
    if (earlier)
      throw bound.fault(
        row,
        'run',
        `run ${shown(run)} is already in line ${earlier.line}; every run needs its own id`,
      );
    ids.set(run, row);
    const files = bound
      .requiredName(row, 'log')
      .split('+')
      .map((written) => {
        const name = written.trim();
        const log = name.startsWith('logs/') ? name.slice('logs/'.length) : name;
        if (/^([/\\]|[a-z]:)/i.test(log) || /(^|[/\\])\.\.([/\\]|$)/.test(log) || log.includes('\\')) {
          throw bound.fault(
            row,
            'log',
            `${shown(name)} points outside the folder logs; write the name of a file in it, such as run-1.csv`,
          );
        }
        if (!logNames.has(log)) {
          const hint = didYouMean(log, logNames) || '; put the file there or correct the name';
          throw bound.fault(row, 'log', `there is no file ${shown(`logs/${log}`)}${hint}`);
        }
        const same = logs.get(log);
        if (same)
          throw bound.fault(
            row,
            'log',
            `log ${shown(log)} is already used in line ${same.line}; each log has one row`,
          );
        logs.set(log, row);
        return log;
      });
    const log = files.join(BETWEEN_FILES);
    const shift_s = bound.number(row, 'shift_s');
    if (shift_s !== undefined && files.length !== 2)
      throw bound.fault(
        row,
        'shift_s',
        'a shift is that of the second of two files; write them as a.csv + b.csv',
      );

    const extra = bound.extra(row);
    for (const name of optionalRunTexts) {
      const text = name === 'started' ? readStarted(bound, row) : bound.text(row, name);
      if (text !== undefined) extra[name] = text;
    }
    for (const column of optionalRunNumbers) {
      const value = bound.number(row, benchName(column));
      if (value !== undefined) extra[benchName(column)] = String(value);
    }
    const held: Record<string, number> = {};
    for (const column of heldNumbers) {
      const value = bound.number(row, benchName(column));
      if (value !== undefined) held[benchName(column)] = value;
    }
    const mount = bound.numberedName(row, 'mount');
    return {
      run,
      cooler: bound.requiredName(row, 'cooler'),
      sample: bound.numberedName(row, 'sample') ?? '1',
      ...(mount === undefined ? {} : { mount }),
      source: bound.name(row, 'source') ?? 'heater',
      log,
      ...(shift_s !== undefined && { shift_s }),
      ...(Object.keys(held).length > 0 && { held }),
      extra,
      line: row.line,
    };
  });
  for (const name of logNames) {
    if (!logs.has(name))
      warnings.push(`logs/${name}:1:1: the file is not in logs.csv and is not read; add a row for it`);
  }
  return entries;
}
