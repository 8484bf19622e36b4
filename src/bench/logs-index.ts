import type { LogEntry } from './bench.ts';
import {
  type BoundTable,
  bindColumns,
  type ColumnPlan,
  type NumberColumn,
  type ReadOptions,
} from './columns.ts';
import { didYouMean } from './nearest-name.ts';
import { optionalRunNumbers, optionalRunTexts, readStarted, refuseRepeated } from './runs-table.ts';
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
    refuseRepeated(bound, row, run, ids);
    const files = filesNamed(bound, row, logNames, logs);
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
    const numbers = bound.numbersIn(row, optionalRunNumbers);
    for (const [name, value] of Object.entries(numbers)) extra[name] = String(value);
    const held = bound.numbersIn(row, heldNumbers);
    const mount = bound.numberedName(row, 'mount');
    return {
      run,
      cooler: bound.requiredName(row, 'cooler'),
      sample: bound.numberedName(row, 'sample') ?? '1',
      ...(mount === undefined ? {} : { mount }),
      source: bound.name(row, 'source') ?? 'heater',
      log: files.join(BETWEEN_FILES),
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

/**
 * The files that a row names as its log, below `logs/`.
 *
 * @param logs  the row of each file named so far; those of this row are added
 */
function filesNamed(
  bound: BoundTable,
  row: Row,
  logNames: ReadonlySet<string>,
  logs: Map<string, Row>,
): string[] {
  const written = bound.requiredName(row, 'log').split('+');
  return written.map((part) => {
    const name = part.trim();
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
}
