import { largest } from '../numerics/extremes.ts';
import type { Run } from './bench.ts';
import { BenchError } from './bench-error.ts';
import { readBenchYaml } from './bench-yaml.ts';
import { cellFormat, cellsOf, formatInWords } from './cell-format.ts';
import { type BoundTable, bindColumns, type ColumnPlan, type TableOptions } from './columns.ts';
import { isClock } from './dates.ts';
import type { Saying } from './headings.ts';
import { readBench } from './read-bench.ts';
import { runsOf, runsPlan } from './runs-table.ts';
import { fault, type Row, type Source, type Table, tableOf } from './table.ts';
import { counted, listed, shown } from './wording.ts';
import { writeRuns } from './write-runs.ts';

/** A bench made of one table, and how the table was read. */
export interface ImportedTable {
  /** `bench.yaml` and `runs.csv`. */
  files: Map<string, Uint8Array>;
  runs: number;
  coolers: string[];
  /** Every column: its heading and the name that it was read by; `null`: carried along. */
  columns: { heading: string; name: string | null }[];
  /** What else was understood, one sentence each. */
  understood: string[];
  /** What the bench's reader has to say of the files made. */
  warnings: string[];
}

export interface ImportOptions {
  /** Headings and what they are, as `columns` of bench.yaml has them. */
  columns?: Readonly<Record<string, string>>;
  /** How a person says what headings are, for messages. */
  saying?: Saying;
  /** Name of the bench; default: the file's without its ending. */
  name?: string;
  /** Temperature at which the room was held, °C, for a table of rises without any temperature. */
  ambient_C?: number;
}

const LONGEST = 32 * 1024 * 1024;
/** Lines that are looked through for a header. */
const MOST_NOTES = 60;
/** Columns of which a blank cell means the one above, as where a spreadsheet's cells are merged. */
const FILLED_DOWN = [
  'sample',
  'mount',
  'source',
  'session',
  'method',
  'paste',
  'started',
  'power_W',
  'fan_rpm',
];
const SUMMARY =
  /^((grand|sub)[ -]?)?(totals?|sums?|averages?|avg\.?|means?|median|mittel(wert)?|summe|gesamt|durchschnitt|moyennes?|somme|min(imum)?|max(imum)?|st\.? ?dev\.?|std\.?)( \(.*\))?:?$/i;
/** A table of rises: what the source and the room read follows from them. */
const risesPlan: ColumnPlan = {
  ...runsPlan,
  numbers: [
    ...runsPlan.numbers.map((one) =>
      one.quantity === 'source' || one.quantity === 'ambient' ? { ...one, required: false } : one,
    ),
    { quantity: 'rise', dimension: 'difference', required: true, low: -10, high: 1000 },
  ],
};
const NUMBER = /^[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?$/;

/**
 * A bench from one table as people keep it: notes above the header, merged-looking blanks, a row of totals, other
 * separators, decimal signs, dates and headings.
 *
 * @param file   name of the table, for messages
 * @param bytes  UTF-8, UTF-16 with a byte order mark or Windows-1252; a spreadsheet's own file is refused with what to do
 * @throws BenchError at the cell that is wrong or may mean two things
 * @example importTable('runs.csv', bytes).files.get('bench.yaml')
 */
export function importTable(file: string, bytes: Uint8Array, options: ImportOptions = {}): ImportedTable {
  const understood: string[] = [];
  const text = textOf(file, bytes, understood)
    .replace(/^\ufeff/, '')
    .replace(/\r\n?/g, '\n');
  const lines = linesOf(text);
  const format = cellFormat(lines.slice(0, 200).map((line) => line.text));
  const words = formatInWords(format);
  if (words) understood.push(words);
  const rows = lines.map(
    ({ text: line, ...place }): Row => ({ ...place, cells: cellsOf(line, format.separator) }),
  );
  const asked = { columns: options.columns, saying: options.saying };
  const header = findHeader({ file, text, format }, rows, asked, understood);
  const kept = dataRows(header.bound, header.rows, understood);
  if (kept.length === 0)
    throw new BenchError(file, 1, 1, 'no row below the header holds a run: a load and a source temperature');
  const table = withTemperatures(header.bound, kept, options.ambient_C, understood);
  const bound = bindColumns(table, runsPlan, asked);
  const runs = runsOf(bound, readBenchYaml('bench.yaml', new Uint8Array()), []);
  const name = options.name ?? (file.replace(/^.*[/\\]/, '').replace(/\.[^.]*$/, '') || 'imported bench');
  const encode = (content: string) => new TextEncoder().encode(content);
  const files = new Map([
    ['bench.yaml', encode(benchYaml(name, runs))],
    ['runs.csv', encode(writeRuns(runs))],
  ]);
  const bench = readBench(files);
  const called = new Map<number, string>();
  for (const [key, { index, conversion }] of bound.numbers) {
    const same = conversion.factor === 1 && conversion.offset === 0;
    called.set(index, same ? key : `${key}, converted`);
  }
  for (const [key, index] of bound.texts) called.set(index, key);
  const rise = header.bound.numbers.get('rise_K');
  if (rise) called.set(rise.index, 'rise_K');
  return {
    files,
    runs: runs.length,
    coolers: bench.coolers.map((one) => one.cooler),
    columns: header.bound.table.header.cells.flatMap((heading, index) =>
      heading === '' ? [] : [{ heading, name: called.get(index) ?? null }],
    ),
    understood,
    warnings: bench.warnings,
  };
}

/** How a table was read, one line each. */
export function importInWords({ columns, understood }: ImportedTable): string[] {
  const width = Math.max(...columns.map(({ heading }) => heading.length), 7);
  return [
    ...columns.map(({ heading, name }) => `${heading.padEnd(width)}  ${name ?? 'carried along'}`),
    ...understood.map((what) => `- ${what}`),
  ];
}

/** The text of a file as spreadsheets write them. */
function textOf(file: string, bytes: Uint8Array, understood: string[]): string {
  if (bytes.length > LONGEST) throw new BenchError(file, 1, 1, 'the file is larger than 32 MiB; split it');
  if (bytes[0] === 0x50 && bytes[1] === 0x4b && bytes[2] < 9) {
    const how =
      'open it in the spreadsheet and save the sheet as CSV (UTF-8), or copy its cells and pipe them in';
    throw new BenchError(file, 1, 1, `a spreadsheet's own file (.xlsx, .ods) is not read; ${how}`);
  }
  const little = bytes[0] === 0xff && bytes[1] === 0xfe;
  if (little || (bytes[0] === 0xfe && bytes[1] === 0xff)) {
    understood.push('text in UTF-16');
    return new TextDecoder(little ? 'utf-16le' : 'utf-16be').decode(bytes);
  }
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    understood.push('text in Windows-1252, as it is no UTF-8');
    text = new TextDecoder('windows-1252').decode(bytes);
  }
  if (text.includes('\0'))
    throw new BenchError(file, 1, 1, 'the file is not text; save the table as CSV (UTF-8)');
  return text;
}

interface Line {
  readonly text: string;
  readonly line: number;
  readonly start: number;
}

/** Lines that hold something, a line end in quotes being none. */
function linesOf(text: string): Line[] {
  const lines: Line[] = [];
  let quoted = false;
  for (let at = 0, start = 0, line = 1, number = 1; at <= text.length; at++) {
    if (text[at] === '"') quoted = !quoted;
    if (at < text.length && text[at] !== '\n') continue;
    number++;
    if (quoted && at < text.length) continue;
    const row = text.slice(start, at);
    if (/[^\s,;"]/.test(row)) lines.push({ text: row, line, start });
    [start, line] = [at + 1, number];
  }
  return lines;
}

/** The first row that names all that a run needs, whatever stands above it, with or without a row of units below. */
function findHeader(
  source: Source,
  rows: readonly Row[],
  options: TableOptions,
  understood: string[],
): { bound: BoundTable; rows: readonly Row[] } {
  const width = Math.max(largest(rows.map((row) => row.cells.length)), 1);
  const padded = rows.map((row) => ({
    ...row,
    cells: [...row.cells, ...Array<string>(width - row.cells.length).fill('')],
  }));
  const names = (row: Row) => row.cells.filter((cell) => cell !== '' && !NUMBER.test(cell)).length;
  const likeliest = padded.slice(0, MOST_NOTES).find((row) => names(row) >= 4) ?? padded[0];
  let fault: unknown = new BenchError(source.file, 1, 1, 'the table is empty; a header and rows are needed');
  for (let k = 0; k < Math.min(padded.length, MOST_NOTES); k++) {
    const under = padded[k + 1]?.cells ?? [];
    const hasUnits =
      under.some((cell) => cell !== '') && !under.some((cell) => NUMBER.test(cell) || isClock(cell));
    for (const units of hasUnits ? [false, true] : [false]) {
      const data = padded.slice(k + (units ? 2 : 1));
      const cells = padded[k].cells.map((cell, c) => {
        if (cell === '' && data.some((row) => row.cells[c] !== '')) return `column ${c + 1}`;
        return units && under[c] && cell ? `${cell} (${under[c]})` : cell;
      });
      try {
        const table = tableOf(source, [{ ...padded[k], cells }, ...data]);
        const bound = bindRuns(table, options);
        if (k > 0) understood.push(`${counted(k, 'line')} above the header left out`);
        if (units) understood.push(`line ${padded[k + 1].line} read as units`);
        return { bound, rows: bound.table.rows };
      } catch (error) {
        if (!(error instanceof BenchError)) throw error;
        if (padded[k] === likeliest && !units) fault = error;
      }
    }
  }
  throw fault;
}

/** A table of runs, or one with a rise in place of one temperature or both; the fault is that of a table of runs. */
function bindRuns(table: Table, options: TableOptions): BoundTable {
  try {
    return bindColumns(table, runsPlan, options);
  } catch (fault) {
    if (!(fault instanceof BenchError)) throw fault;
    try {
      return bindColumns(table, risesPlan, options);
    } catch (error) {
      throw error instanceof BenchError ? fault : error;
    }
  }
}

/** The rows with the temperatures that follow from rises, where the table has no column of them. */
function withTemperatures(
  bound: BoundTable,
  rows: readonly Row[],
  room_C: number | undefined,
  understood: string[],
): Table {
  const { table } = bound;
  if (!bound.has('rise_K')) return { ...table, rows: [...rows] };
  const lacking = ['source_C', 'ambient_C'].filter((name) => !bound.has(name));
  if (lacking.length === 2 && room_C === undefined) {
    const at = bound.numbers.get('rise_K')?.index ?? 0;
    const what =
      'the table holds rises and no temperature; say at what the room was held with --ambient 22, or add a column ambient_C';
    throw fault(table, table.header, at, what);
  }
  understood.push(
    lacking.length === 2
      ? `source temperature is the rise over a room at ${room_C} °C, as stated`
      : lacking[0] === 'source_C'
        ? 'source temperature is the rise over the room'
        : "the room's temperature is the source's less the rise",
  );
  const written = (value: number) =>
    String(Number(value.toPrecision(12))).replace('.', table.format.decimal === ',' ? ',' : '.');
  const filled = rows.map((row): Row => {
    const rise = bound.number(row, 'rise_K');
    const ambient = bound.number(row, 'ambient_C') ?? room_C ?? 0;
    const source = bound.number(row, 'source_C') ?? 0;
    const found = { source_C: ambient + (rise ?? 0), ambient_C: source - (rise ?? 0) };
    if (lacking.length === 2) found.ambient_C = ambient;
    return {
      ...row,
      cells: [...row.cells, ...lacking.map((name) => written(found[name as keyof typeof found]))],
    };
  });
  return { ...table, header: { ...table.header, cells: [...table.header.cells, ...lacking] }, rows: filled };
}

/** The rows that are runs: blanks filled from above, totals, notes and repeated headers left out, each said. */
function dataRows(bound: BoundTable, rows: readonly Row[], understood: string[]): Row[] {
  const { header } = bound.table;
  const at = (name: string) => bound.numbers.get(name)?.index ?? bound.texts.get(name);
  const cooler = at('cooler') as number;
  const source = at(bound.has('source_C') ? 'source_C' : 'rise_K') as number;
  const down = FILLED_DOWN.flatMap((name) => at(name) ?? []);
  const filled = new Map<number, number>();
  const left: Record<string, number[]> = {};
  const leave = (why: string, row: Row): Row[] => {
    left[why] ??= [];
    left[why].push(row.line);
    return [];
  };
  let above: readonly string[] | undefined;
  let name = '';
  const kept = rows.flatMap((row, k): Row[] => {
    const texts = row.cells.filter((cell) => cell !== '');
    if (row.cells.every((cell, c) => cell === '' || cell === header.cells[c]))
      return leave('repeats the header', row);
    if (SUMMARY.test(texts[0])) return leave('is a summary', row);
    if (row.cells[source] === '') {
      const next = rows[k + 1];
      if (
        texts.length === 1 &&
        row.cells[cooler] !== '' &&
        next?.cells[cooler] === '' &&
        next.cells[source] !== ''
      ) {
        name = row.cells[cooler];
        above = undefined;
        return [];
      }
      return leave(texts.length === 1 ? 'is a note' : 'has no temperature of the source', row);
    }
    const cells = [...row.cells];
    const put = (index: number, value: string) => {
      cells[index] = value;
      filled.set(index, (filled.get(index) ?? 0) + 1);
    };
    if (cells[cooler] !== '' && cells[cooler] !== name) above = undefined;
    if (cells[cooler] === '' && name !== '') put(cooler, name);
    name = cells[cooler];
    for (const index of down) {
      if (cells[index] === '' && above && above[index] !== '') put(index, above[index]);
    }
    above = cells;
    return [{ ...row, cells }];
  });
  for (const [index, count] of filled)
    understood.push(`${counted(count, 'blank cell')} of ${shown(header.cells[index])} filled from above`);
  for (const [why, lines] of Object.entries(left)) {
    const which =
      lines.length > 5 ? counted(lines.length, 'row') : `line ${listed(lines.map(String), 'and')}`;
    understood.push(`${which} left out: ${why}`);
  }
  return kept;
}

function benchYaml(name: string, runs: readonly Run[]): string {
  const room = runs.map((run) => run.ambient_C).sort((a, b) => a - b)[runs.length >> 1];
  const chips = [...new Set(runs.map((run) => run.source))].filter((source) => source !== 'heater');
  const most = largest(runs.map((run) => run.power_W));
  return `# What the bench is worth. Every key is optional: what is left out has the default shown here.
# All uncertainties are standard uncertainties (one sigma) of what every run of a session has in common;
# what differs from run to run is found from the runs themselves.
name: ${JSON.stringify(name)}

# The air entering the fans: where the room is held, and within what. The setpoint is the middle of the table's readings.
ambient: {setpoint_C: ${Math.round(room)}, tolerance_K: 1}

instruments:
  # systematic: error of the sensor that all runs share. resolution: its last digit.
  source_temperature: {systematic_K: 0.5, resolution_K: 0.1}
  ambient_temperature: {systematic_K: 0.3, resolution_K: 0.1}
  # Of the reading, in per cent.
  power: {systematic_percent: 0.5}
  # background_dBA: what the meter shows with everything off; distance_mm: from the microphone to the cooler.
  sound_level: {systematic_dB: 1} # add background_dBA and distance_mm

heater:
  # What its insulation loses per kelvin above ambient, and how well that is known. 0 with 0.05 is: not measured.
  leak_W_per_K: {value: 0, uncertainty: 0.05}
  # power_max_W: ${Math.ceil(most / 50) * 50}          # no plan goes above it
  # temperature_limit_C: 95   # predictions above it are marked
${
  chips.length === 0
    ? ''
    : `
# Sources of the table that are not the heater: each is a chip with its own sensor and power reading.
chips:
${chips.map((chip) => `  - {chip: ${JSON.stringify(chip)}, sensor_systematic_K: 2, power_systematic_percent: 3}\n`).join('')}`
}
# Coolers are taken as air cooled without known pipes until coolers.csv says more:
#   cooler,kind,heat_pipes,heat_pipe_diameter_mm,fan_max_rpm
# Metered sound levels: noise.csv with cooler,fan_rpm,sound_dBA
`;
}
