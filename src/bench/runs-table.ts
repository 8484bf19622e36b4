import type { Run } from './bench.ts';
import {
  type BoundTable,
  bindColumns,
  type ColumnPlan,
  type NumberColumn,
  type ReadOptions,
} from './columns.ts';
import { isoDate } from './dates.ts';
import { implausibleRuns, impossibleRuns } from './plausible-runs.ts';
import { benchName } from './quantity.ts';
import { riseOf } from './run.ts';
import { type SourceFigures, sourceOf } from './source.ts';
import { placeName, type Row, readTable } from './table.ts';
import { counted, shown } from './wording.ts';

const temperature = { dimension: 'temperature', low: -273.15, high: 1000 } as const;

/** The optional numbers of a run, in runs.csv and in the index of the logs. */
export const optionalRunNumbers: readonly NumberColumn[] = [
  { quantity: 'sound', dimension: 'level', low: 0, high: 194 },
  { quantity: 'fan_duty', dimension: 'share', low: 0, high: 100 },
  { quantity: 'pump', dimension: 'speed', low: 0, high: 1e6 },
  { quantity: 'coolant', ...temperature },
  { quantity: 'pressure', dimension: 'pressure', low: 300, high: 1200 },
  { quantity: 'torque', dimension: 'torque', low: 0, high: 1e6 },
];

/** Their names in a run. */
export const optionalNumberNames = optionalRunNumbers.map(benchName) as readonly (
  | 'sound_dBA'
  | 'fan_duty_percent'
  | 'pump_rpm'
  | 'coolant_C'
  | 'pressure_hPa'
  | 'torque_Nm'
)[];

/** The optional texts of a run, in runs.csv and in the index of the logs. */
export const optionalRunTexts = [
  'session',
  'method',
  'started',
  'orientation',
  'paste',
  'operator',
  'note',
] as const;

export const runsPlan: ColumnPlan = {
  numbers: [
    { quantity: 'power', dimension: 'power', required: true, low: 0, high: 1e6 },
    { quantity: 'fan', dimension: 'speed', required: true, low: 0, high: 1e6 },
    { quantity: 'source', ...temperature, required: true },
    { quantity: 'ambient', dimension: 'temperature', low: -60, high: 80, required: true },
    { quantity: 'u', dimension: 'difference', low: 0, high: 1000 },
    ...optionalRunNumbers,
  ],
  texts: [
    { name: 'cooler', required: true },
    ...['run', 'sample', 'mount', 'source', ...optionalRunTexts, 'log'].map((name) => ({ name })),
  ],
};

/**
 * Reads `runs.csv`.
 *
 * A source may read below ambient only by what its two sensors can be wrong by together: three times
 * √(systematic² + resolution²) over both, 1.8 K with the defaults. A zero-load run within that shows the offset of the
 * sensors and is welcome.
 */
export function readRuns(file: string, bytes: Uint8Array, bench: SourceFigures, options: ReadOptions): Run[] {
  return runsOf(bindColumns(readTable(file, bytes), runsPlan, options), bench, options.warnings);
}

/** The runs of a table whose columns are known. */
export function runsOf(bound: BoundTable, bench: SourceFigures, warnings: string[]): Run[] {
  const { rows, file } = bound.table;
  const ids = new Map<string, Row>();
  const runs = rows.map((row): Run => {
    const id = bound.name(row, 'run');
    if (id !== undefined) refuseRepeated(bound, row, id, ids);
    const run: Run = {
      run: id ?? '',
      cooler: bound.requiredName(row, 'cooler'),
      sample: bound.numberedName(row, 'sample') ?? '1',
      mount: bound.numberedName(row, 'mount'),
      source: bound.name(row, 'source') ?? 'heater',
      power_W: bound.requiredNumber(row, 'power_W'),
      fan_rpm: bound.requiredNumber(row, 'fan_rpm'),
      source_C: bound.requiredNumber(row, 'source_C'),
      ambient_C: bound.requiredNumber(row, 'ambient_C'),
      u_K: bound.number(row, 'u_K'),
      ...bound.numbersIn(row, optionalRunNumbers),
      session: bound.name(row, 'session'),
      method: bound.name(row, 'method'),
      started: readStarted(bound, row),
      orientation: bound.text(row, 'orientation'),
      paste: bound.text(row, 'paste'),
      operator: bound.text(row, 'operator'),
      note: bound.text(row, 'note'),
      log: bound.text(row, 'log'),
      extra: bound.extra(row),
      line: row.line,
    };
    for (const key of Object.keys(run) as (keyof Run)[]) if (run[key] === undefined) delete run[key];
    refuseBelowAmbient(bound, row, run, bench);
    const { power_max_W } = sourceOf(bench, run.source);
    if (power_max_W !== undefined && run.power_W > power_max_W) {
      warnings.push(
        `${placeOfCell(bound, row, 'power_W')}: ${run.power_W} W is more than the heater's power_max_W of ${power_max_W}`,
      );
    }
    return run;
  });
  nameRuns(runs, ids);
  warnOfUnknownMounts(bound, runs, warnings);
  const names = { power: called(bound, 'power_W'), source: called(bound, 'source_C') };
  const units = implausibleRuns(file, runs, names);
  // A unit that is wrong throughout is said once.
  const single =
    units.length > 0
      ? []
      : impossibleRuns(runs, (run, column) => placeOfCell(bound, rows[runs.indexOf(run)], column));
  for (const warning of [...units, ...single]) warnings.push(warning);
  return runs;
}

/** Notes the id of a row; two rows with one are refused. */
export function refuseRepeated(bound: BoundTable, row: Row, id: string, ids: Map<string, Row>): void {
  const earlier = ids.get(id);
  if (earlier)
    throw bound.fault(
      row,
      'run',
      `run ${shown(id)} is already in line ${earlier.line}; every run needs its own id`,
    );
  ids.set(id, row);
}

/** How the file calls a column of numbers. */
function called(bound: BoundTable, name: string): string {
  return bound.numbers.get(name)?.name ?? name;
}

/** When a run was begun, in ISO 8601; other dates are read where the table tells day and month apart. */
export function readStarted(bound: BoundTable, row: Row): string | undefined {
  const text = bound.text(row, 'started');
  if (text === undefined) return undefined;
  const date = isoDate(text, bound.dateOrder('started'));
  if (date !== undefined && date !== 'order') return date;
  const what = date === 'order' ? 'may have its day or its month first' : 'is not a date and time';
  throw bound.fault(
    row,
    'started',
    `${shown(text)} ${what}; write it as 2024-05-31 or 2024-05-31T14:05 (ISO 8601)`,
  );
}

function placeOfCell(bound: BoundTable, row: Row, name: string): string {
  return placeName(bound.table, row, bound.numbers.get(name)?.index ?? bound.texts.get(name) ?? 0);
}

/**
 * How far below ambient a source may read by what its two sensors can be wrong by together, K.
 *
 * @param u_K  standard uncertainty of the reading itself
 */
export function allowedBelowAmbient(bench: SourceFigures, source: string, u_K = 0): number {
  const { source_temperature, ambient_temperature } = bench.instruments;
  return (
    3 *
    Math.hypot(
      sourceOf(bench, source).sensor_systematic_K,
      source_temperature.resolution_K,
      ambient_temperature.systematic_K,
      ambient_temperature.resolution_K,
      u_K,
    )
  );
}

function refuseBelowAmbient(bound: BoundTable, row: Row, run: Run, bench: SourceFigures): void {
  const rise = riseOf(run);
  if (rise >= 0) return;
  const allowed = allowedBelowAmbient(bench, run.source, run.u_K);
  if (-rise > allowed) {
    throw bound.fault(
      row,
      'source_C',
      `the source is ${short(-rise)} K below ambient (${short(run.source_C)} and ${short(run.ambient_C)} °C), more than the ${short(allowed)} K that the sensors can be wrong by; check whether the two columns are swapped`,
    );
  }
}

function short(value: number): string {
  return String(Number(value.toFixed(2)));
}

/** Runs without an id are called after their line, `run-12`, or `run-12-2` where the file uses that name already. */
function nameRuns(runs: Run[], ids: Map<string, Row>): void {
  const taken = new Set(ids.keys());
  for (const run of runs) {
    if (run.run !== '') continue;
    let id = `run-${run.line}`;
    for (let n = 2; taken.has(id); n++) id = `run-${run.line}-${n}`;
    taken.add(id);
    run.run = id;
    run.unnamed = true;
  }
}

function warnOfUnknownMounts(bound: BoundTable, runs: Run[], warnings: string[]): void {
  const unknown = runs.findIndex((run) => run.mount === undefined);
  if (unknown < 0) return;
  const without = runs.filter((run) => run.mount === undefined).length;
  const place = bound.texts.has('mount')
    ? placeOfCell(bound, bound.table.rows[unknown], 'mount')
    : placeName(bound.table, bound.table.header, 0);
  warnings.push(
    `${place}: ${without} of ${counted(runs.length, 'run')} ${without === 1 ? 'has' : 'have'} no mount; their mount scatter is assumed, not measured. Add a column mount that tells one fitting from the next`,
  );
}
