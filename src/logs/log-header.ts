import { BenchError } from '../bench/bench-error.ts';
import { type CellFormat, cellFormat, cellsOf, formatInWords } from '../bench/cell-format.ts';
import { isClock } from '../bench/dates.ts';
import { readHeadings } from '../bench/headings.ts';
import { didYouMean } from '../bench/nearest-name.ts';
import { acceptedNames, benchName, type Quantity, readName } from '../bench/quantity.ts';
import { listed, shown } from '../bench/wording.ts';

/** The five quantities every log carries, in the order in which the scanner stores them. */
const requiredQuantities = [
  { quantity: 'time', dimension: 'time' },
  { quantity: 'source', dimension: 'temperature' },
  { quantity: 'ambient', dimension: 'temperature' },
  { quantity: 'power', dimension: 'power' },
  { quantity: 'fan', dimension: 'speed' },
] as const satisfies readonly Quantity[];

/** Further quantities whose mean over the run is carried into its row of runs.csv when the log has them. */
const carriedQuantities = [
  { quantity: 'sound', dimension: 'level' },
  { quantity: 'fan_duty', dimension: 'share' },
  { quantity: 'pump', dimension: 'speed' },
  { quantity: 'coolant', dimension: 'temperature' },
  { quantity: 'pressure', dimension: 'pressure' },
] as const satisfies readonly Quantity[];

const quantities: readonly Quantity[] = [...requiredQuantities, ...carriedQuantities];
const CLOCK = 'time';
const plan = { numbers: quantities, texts: [{ name: CLOCK }] };

/** What is known of a log beside its text. */
export interface LogReading {
  /** `columns` of bench.yaml: heading to name. */
  readonly columns?: Readonly<Record<string, string>>;
  /** What was set and not logged, by its name on the bench. */
  readonly held?: Readonly<Record<string, number>>;
  /** It is one of several files of a run, which has what another has not. */
  readonly isPart?: boolean;
}

/** What the scanner has to know of a header: where each column of the file goes and how its unit converts. */
export interface LogHeader {
  /** Names as the file writes them. */
  readonly names: readonly string[];
  /** Place in a stored row of each column of the file; −1 for a column that is not read. */
  readonly slot: Int32Array;
  readonly factor: Float64Array;
  readonly offset: Float64Array;
  /** Bench names of the carried columns present, at slots 5, 6, … */
  readonly carried: readonly string[];
  /** The column of times that are not seconds but a clock's; −1: there is none. */
  readonly clock: number;
  /** The required quantities that have a column. */
  readonly has: readonly string[];
  /** A row before anything of it is read: what was set and not logged, else NaN. */
  readonly blank: Float64Array;
  /** For people: what was understood where the header does not say it itself. */
  readonly understood: readonly string[];
}

/** One line of a log's beginning. */
export interface HeadLine {
  readonly text: string;
  /** Its number in the file, from 1. */
  readonly line: number;
  /** Where the next line begins, in bytes. */
  readonly end: number;
}

/** Lines before the header that are looked through: what loggers write of themselves. */
export const HEAD_LINES = 60;

/**
 * Finds and reads the header of a log in its first lines: the first line that names all that a log needs, whatever a logger
 * wrote before it, with or without a line of units below.
 *
 * @throws BenchError as {@link readLogHeader}, of the line that is likeliest the header
 */
export function findLogHeader(
  file: string,
  lines: readonly HeadLine[],
  reading: LogReading,
): { header: LogHeader; format: CellFormat; end: number; line: number } {
  const plain = plainHeader(file, lines, reading);
  if (plain) return plain;
  const format = cellFormat(lines.map(({ text }) => text));
  const cells = lines.map(({ text }) => cellsOf(text, format.separator));
  const filled = lines.flatMap(({ text }, k) => (text.trim() === '' ? [] : [k]));
  const most = Math.max(...filled.map((k) => cells[k].length));
  let fault: unknown;
  for (const k of filled) {
    const below = filled.find((other) => other > k);
    const under = below === undefined ? [] : cells[below];
    const number = /^[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?$/;
    const hasUnits =
      under.some((cell) => cell !== '') && !under.some((cell) => number.test(cell) || isClock(cell));
    for (const units of hasUnits ? [false, true] : [false]) {
      const names = units ? cells[k].map((name, c) => (under[c] ? `${name} (${under[c]})` : name)) : cells[k];
      const rows = filled
        .filter((other) => other > (units ? (below as number) : k))
        .map((other) => cells[other]);
      const first = (index: number) => rows.find((row) => (row[index] ?? '') !== '')?.[index] ?? '';
      try {
        const header = readLogHeader(file, names, lines[k], reading, (index) => !isClock(first(index)));
        const { end, line } = lines[units ? (below as number) : k];
        const said = [
          k === filled[0] ? undefined : `${k} lines before the header left out`,
          formatInWords(format),
          header.understood.length > 0 ? `read ${listed(header.understood, 'and')}` : undefined,
        ].filter((words) => words !== undefined);
        return { header: { ...header, understood: said }, format, end, line: line + 1 };
      } catch (error) {
        if (!(error instanceof BenchError)) throw error;
        if (fault === undefined && cells[k].length === most) fault = error;
      }
    }
  }
  throw fault;
}

/** A first line of the bench's own names between commas, as most logs have; `undefined` where it is not. */
function plainHeader(file: string, lines: readonly HeadLine[], reading: LogReading) {
  const [{ text, line, end }, second] = lines;
  if (!/^[\w,]+$/.test(text) || isClock(second?.text.split(',')[text.split(',').indexOf(CLOCK)] ?? ''))
    return undefined;
  try {
    const header = readLogHeader(file, text.split(','), { text, line }, reading);
    const format: CellFormat = { separator: ',', decimal: '.' };
    return header.understood.length > 0 ? undefined : { header, format, end, line: line + 1 };
  } catch {
    return undefined;
  }
}

/**
 * Reads the header of a log: any column order, names of the bench or headings as people write them, unknown columns left
 * alone. `time` may be a clock's instead of seconds; what `held` gives may be missing.
 *
 * @param file     name for messages
 * @param names    the header's cells, unquoted
 * @param numeric  whether a column holds numbers rather than times of a clock
 * @throws BenchError naming the cell that gives a quantity twice, without a unit or in an unknown one, or listing
 *   the columns that are missing
 */
function readLogHeader(
  file: string,
  cells: readonly string[],
  { text, line }: Pick<HeadLine, 'text' | 'line'>,
  { columns, held = {}, isPart = false }: LogReading = {},
  numeric: (index: number) => boolean = () => true,
): LogHeader {
  let width = cells.length;
  while (width > 1 && cells[width - 1] === '') width--;
  const names = cells.slice(0, width);
  if (width > MOST_COLUMNS) {
    throw new BenchError(file, line, 1, `more than ${MOST_COLUMNS} columns; delete what is not needed`);
  }
  const refuse = (index: number, what: string) => {
    const at = Math.max(text.indexOf(names[index]), 0);
    return new BenchError(file, line, [...text.slice(0, at)].length + 1, what);
  };
  const read = readHeadings(names, plan, { columns, numeric, refuse });
  const bound = bindQuantities(names, read.names, columns, refuse);
  const { slot, seen } = bound;
  const clock = seen.has(0) ? -1 : bound.clock;
  if (clock >= 0) {
    slot[clock] = 0;
    seen.set(0, names[clock]);
  }
  const has = requiredQuantities.filter((_, which) => seen.has(which)).map(benchName);
  const blank = new Float64Array(requiredQuantities.length + bound.carried.length).fill(Number.NaN);
  // What another file has stands here as a number that nobody reads.
  const isRest = isPart && seen.has(0) && has.length + bound.carried.length > 1;
  const missing: string[] = [];
  requiredQuantities.forEach((quantity, which) => {
    const value = held[benchName(quantity)] ?? (isRest ? 0 : undefined);
    if (seen.has(which)) return;
    if (value === undefined) missing.push(benchName(quantity));
    else blank[which] = value;
  });
  if (missing.length > 0) {
    const unused = names.filter((_, index) => slot[index] < 0 && names[index] !== '');
    throw new BenchError(file, line, 1, missingInWords(missing, names, unused));
  }
  const { factor, offset, carried } = bound;
  return { names, slot, factor, offset, carried, clock, has, blank, understood: read.understood };
}

/**
 * Which quantity of a row each column fills: a slot of those that every log needs, a further one for what is carried
 * along, −1 for none; and the column of a clock, −1 where there is none.
 *
 * @param called  what each column is read as
 */
function bindQuantities(
  names: readonly string[],
  called: readonly (string | undefined)[],
  columns: LogReading['columns'],
  refuse: (index: number, what: string) => BenchError,
) {
  const slot = new Int32Array(names.length).fill(-1);
  const factor = new Float64Array(names.length).fill(1);
  const offset = new Float64Array(names.length);
  const seen = new Map<number, string>();
  const carried: string[] = [];
  let clock = -1;
  names.forEach((name, index) => {
    if (columns && Object.hasOwn(columns, name) && called[index] === undefined) return;
    if (called[index] === CLOCK) {
      clock = index;
      return;
    }
    const reading = readName(called[index] ?? name, quantities);
    if (reading.kind === 'other') return;
    const which = quantities.indexOf(reading.quantity);
    const required = which < requiredQuantities.length;
    if (reading.kind !== 'read') {
      if (!required || seen.has(which) || hasAnother(called, index, reading.quantity)) return;
      const accepted = acceptedNames(reading.quantity);
      throw refuse(
        index,
        reading.kind === 'no-unit'
          ? `column "${name}" has no unit; write ${accepted[0]} (or ${accepted.slice(1).join(', ')})`
          : `column "${name}" has a unit that is not known; accepted are ${accepted.join(', ')}`,
      );
    }
    const earlier = seen.get(which);
    if (earlier !== undefined) {
      throw refuse(index, `"${name}" and "${earlier}" are the same quantity; keep one of the two columns`);
    }
    seen.set(which, name);
    factor[index] = reading.conversion.factor;
    offset[index] = reading.conversion.offset;
    slot[index] = required ? which : requiredQuantities.length + carried.length;
    if (!required) carried.push(benchName(reading.quantity));
  });
  return { slot, factor, offset, seen, carried, clock };
}

function missingInWords(
  missing: readonly string[],
  names: readonly string[],
  unused: readonly string[],
): string {
  const hints = missing.map(
    (name) => `${name}${didYouMean(name, unused).replace('did you mean', 'is it the column')}`,
  );
  const found = names.filter((name) => name !== '').slice(0, 30);
  const header = found.length > 0 ? found.map(shown).join(', ') : 'no names';
  const settable = missing.some((name) => HELD.includes(name))
    ? '; what was set and not logged may stand in logs.csv'
    : '';
  return `missing ${missing.length === 1 ? 'column' : 'columns'} ${hints.join(', ')}; the header has ${header}${settable}`;
}

const MOST_COLUMNS = 1000;

/** What may be set on the bench instead of being logged. */
const HELD: readonly string[] = ['power_W', 'fan_rpm', 'ambient_C'];

function hasAnother(names: readonly (string | undefined)[], index: number, quantity: Quantity): boolean {
  return names.some((name, other) => {
    const reading = other === index || name === undefined ? undefined : readName(name, quantities);
    return reading?.kind === 'read' && reading.quantity === quantity;
  });
}
