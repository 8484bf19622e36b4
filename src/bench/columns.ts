import { formatInWords } from './cell-format.ts';
import { type DateOrder, dateOrder } from './dates.ts';
import { readHeadings, type Saying, statedFor } from './headings.ts';
import { didYouMean } from './nearest-name.ts';
import {
  acceptedNames,
  benchName,
  type Conversion,
  type Quantity,
  type Reading,
  readName,
  toBenchUnit,
} from './quantity.ts';
import { fault, placeName, type Row, type Table } from './table.ts';
import { dimensions } from './unit-table.ts';
import { listed, shown } from './wording.ts';

/** A column of numbers: what it measures, in the bench's own unit, and what is a legal value of it. */
export interface NumberColumn extends Quantity {
  readonly required?: boolean;
  /** Least and greatest legal value in the bench's own unit, with what a value beyond them is called. */
  readonly low?: number;
  readonly high?: number;
  /** The lowest value itself is refused too. */
  readonly above?: boolean;
  readonly whole?: boolean;
}

export interface TextColumn {
  readonly name: string;
  readonly required?: boolean;
}

export interface ColumnPlan {
  readonly numbers: readonly NumberColumn[];
  readonly texts: readonly TextColumn[];
}

interface BoundNumber {
  readonly plan: NumberColumn;
  readonly index: number;
  readonly conversion: Conversion;
  /** As the file calls it. */
  readonly name: string;
}

/** A table whose columns are known: read its cells by the bench's own names. */
export class BoundTable {
  readonly table: Table;
  readonly numbers = new Map<string, BoundNumber>();
  readonly texts = new Map<string, number>();
  private readonly dateOrders = new Map<string, DateOrder | undefined>();
  /** Columns that the reader does not know, by name. */
  readonly extras: { readonly name: string; readonly index: number }[] = [];

  constructor(table: Table) {
    this.table = table;
  }

  /** Whether the table has the column. */
  has(name: string): boolean {
    return this.numbers.has(name) || this.texts.has(name);
  }

  /** A fault at the cell of a column in a row. */
  fault(row: Row, name: string, what: string): Error {
    const index = this.numbers.get(name)?.index ?? this.texts.get(name) ?? 0;
    return fault(this.table, row, index, what);
  }

  /** Trimmed text, `undefined` when the cell is empty or the column absent. */
  text(row: Row, name: string): string | undefined {
    const index = this.texts.get(name);
    return index === undefined || row.cells[index] === '' ? undefined : unguarded(row.cells[index]);
  }

  /** A name: text that is shown and compared, so without control characters. */
  name(row: Row, name: string): string | undefined {
    const text = this.text(row, name);
    if (text !== undefined && /\p{C}/u.test(text)) {
      throw this.fault(
        row,
        name,
        `${shown(text)} holds a line break or an invisible character; write ${name} without it`,
      );
    }
    const normal = text?.normalize('NFC');
    if (normal !== undefined && normal.length > 200) {
      throw this.fault(row, name, `${shown(normal)} is too long; ${name} holds at most 200 characters`);
    }
    return normal;
  }

  /** A name that is mostly a number: a spreadsheet's 1.0 is 1. */
  numberedName(row: Row, name: string): string | undefined {
    return this.name(row, name)?.replace(/^(\d+)[.,]0+$/, '$1');
  }

  /** In which order a column of dates has day and month, by all of its cells. */
  dateOrder(name: string): DateOrder | undefined {
    const index = this.texts.get(name);
    if (index === undefined) return undefined;
    if (!this.dateOrders.has(name))
      this.dateOrders.set(name, dateOrder(this.table.rows.map((row) => row.cells[index])));
    return this.dateOrders.get(name);
  }

  /** A name that may not be missing. */
  requiredName(row: Row, name: string): string {
    const text = this.name(row, name);
    if (text === undefined) throw this.fault(row, name, `${name} is empty; every row needs one`);
    return text;
  }

  /** A number in the bench's own unit, `undefined` when the cell is empty or the column absent. */
  number(row: Row, name: string): number | undefined {
    const bound = this.numbers.get(name);
    if (!bound) return undefined;
    const cell = row.cells[bound.index];
    if (cell === '') return undefined;
    const refuse = (what: string) => fault(this.table, row, bound.index, what);
    const written = readNumber(cell, bound.name, refuse, this.table.format.decimal);
    const value = toBenchUnit(written, bound.conversion);
    if (bound.plan.dimension === 'speed' && value < 100 && /^[1-9]\d?[.,]\d{3}$/.test(cell)) {
      const digits = cell.replace(/[.,]/, '');
      throw refuse(
        `${shown(cell)} may be ${digits} with a sign between thousands, or ${written}; write ${digits} or ${written}`,
      );
    }
    if (!Number.isFinite(value)) throw refuse(`${shown(cell)} is too large a number for ${bound.name}`);
    const { plan } = bound;
    const asWritten = (limit: number) => plain((limit - bound.conversion.offset) / bound.conversion.factor);
    const is = `${bound.name} is ${cell}`;
    if (plan.above && plan.low !== undefined && value <= plan.low) {
      throw refuse(`${is}; it must be greater than ${asWritten(plan.low)}`);
    }
    if (plan.low !== undefined && value < plan.low) {
      if (plan.dimension === 'temperature' && value < -273.15)
        throw refuse(
          `${is}, which is below absolute zero; a temperature of at least ${asWritten(plan.low)} is accepted`,
        );
      throw refuse(
        plan.low === 0
          ? `${is}; it must not be negative`
          : `${is}; at least ${asWritten(plan.low)} is accepted`,
      );
    }
    if (plan.high !== undefined && value > plan.high)
      throw refuse(`${is}; at most ${asWritten(plan.high)} is accepted`);
    if (plan.whole && !Number.isInteger(value)) throw refuse(`${is}; a whole number is accepted`);
    return value;
  }

  /** The numbers that a row has of some columns, by their names. */
  numbersIn(row: Row, columns: readonly NumberColumn[]): Record<string, number> {
    const read = columns.map((column) => [benchName(column), this.number(row, benchName(column))] as const);
    return Object.fromEntries(read.filter(([, value]) => value !== undefined)) as Record<string, number>;
  }

  /** A number that may not be missing. */
  requiredNumber(row: Row, name: string): number {
    const value = this.number(row, name);
    if (value === undefined) {
      throw this.fault(
        row,
        name,
        `${this.numbers.get(name)?.name ?? name} is empty; every row needs a number here`,
      );
    }
    return value;
  }

  /** Cells of the unknown columns that are not empty; an object without prototype, so no name can harm. */
  extra(row: Row): Record<string, string> {
    const extra: Record<string, string> = Object.create(null);
    for (const { name, index } of this.extras)
      if (row.cells[index] !== '') extra[name] = unguarded(row.cells[index]);
    return extra;
  }
}

/** What may be known of a table beside its text. */
export interface TableOptions {
  /** `columns` of bench.yaml: heading to name. */
  readonly columns?: Readonly<Record<string, string>>;
  /** How a person says what headings are; default: as a line of bench.yaml. */
  readonly saying?: Saying;
  /** Takes what was understood of the table, in one line. */
  readonly warnings?: string[];
}

/** As a bench's tables are read: every remark is kept. */
export type ReadOptions = TableOptions & Required<Pick<TableOptions, 'warnings'>>;

/**
 * Finds which column of a table is which, by its name or by a heading that can mean nothing else, converting its unit.
 *
 * @throws BenchError at the header cell that names a quantity twice, in no unit or in an unknown one, that may mean two
 *   things or is nearly a known name; at the header's first cell when required columns are missing
 */
export function bindColumns(table: Table, plan: ColumnPlan, options: TableOptions = {}): BoundTable {
  const bound = new BoundTable(table);
  const headings = table.header.cells;
  const { names, understood } = readHeadings(headings, plan, {
    columns: options.columns,
    saying: options.saying,
    numeric: (index) => holdsNumbers(table, index),
    refuse: (index, what) => fault(table, table.header, index, what),
  });
  const texts = new Set(plan.texts.map((text) => text.name));
  const readings = headings.map((heading, index) => {
    const name = names[index] ?? heading;
    return texts.has(name) ? undefined : readName(name, plan.numbers);
  });
  const present = new Set<string>();
  for (const reading of readings) if (reading?.kind === 'read') present.add(reading.quantity.quantity);

  headings.forEach((heading, index) => {
    const reading = readings[index];
    const refuse = (what: string) => fault(table, table.header, index, what);
    if (heading === '') return;
    const unread = statedFor(heading, options.columns) === '';
    if (reading === undefined && !unread) {
      const name = names[index] ?? heading;
      const earlier = bound.texts.get(name);
      if (earlier !== undefined)
        throw refuse(
          `${shown(heading)} and ${shown(headings[earlier])} are both ${name}; keep one of the two columns`,
        );
      bound.texts.set(name, index);
    } else if (reading?.kind === 'read' && !unread) {
      const key = benchName(reading.quantity);
      const earlier = bound.numbers.get(key);
      if (earlier) {
        throw refuse(
          `${shown(heading)} and ${shown(earlier.name)} are the same quantity; keep one of the two columns`,
        );
      }
      const column = plan.numbers.find((candidate) => candidate.quantity === reading.quantity.quantity)!;
      bound.numbers.set(key, { plan: column, index, conversion: reading.conversion, name: heading });
    } else {
      if (reading && reading.kind !== 'read' && reading.kind !== 'other' && !unread) {
        const column = plan.numbers.find((candidate) => candidate.quantity === reading.quantity.quantity)!;
        const needed = column.required || holdsNumbers(table, index);
        if (needed && !present.has(reading.quantity.quantity)) {
          throw refuse(unitFault(`column ${shown(heading)}`, names[index] ?? heading, reading));
        }
      }
      bound.extras.push({ name: names[index] ?? heading, index });
    }
  });
  refuseMissing(bound, plan);
  const said = [formatInWords(table.format), understood.length > 0 && `read ${listed(understood, 'and')}`];
  const words = said.filter(Boolean).join('; ');
  if (words !== '') options.warnings?.push(`${placeName(table, table.header, 0)}: ${words}`);
  if (options.warnings) warnOfUnits(bound, options.warnings);
  return bound;
}

/** Hz is read as revolutions per second: say so, because a tachometer signal has two pulses for each. */
function warnOfUnits(bound: BoundTable, warnings: string[]): void {
  for (const { name, plan, index } of bound.numbers.values()) {
    if (plan.dimension === 'speed' && /Hz\W*$/.test(name)) {
      const place = placeName(bound.table, bound.table.header, index);
      warnings.push(
        `${place}: ${name} is read as revolutions per second; a tachometer signal has two pulses for each`,
      );
    }
  }
}

/** Takes off the apostrophe that `writeTable` puts before text that a spreadsheet would run as a formula. */
function unguarded(text: string): string {
  return /^'+[=+@-]/.test(text) ? text.slice(1) : text;
}

/** What is wrong with a name that has no unit or one that is not read, and the names that are accepted. */
export function unitFault(
  called: string,
  name: string,
  reading: Exclude<Reading, { kind: 'read' | 'other' }>,
): string {
  const accepted = acceptedNames(reading.quantity);
  if (reading.kind === 'no-unit') return `${called} has no unit; write ${listed(accepted)}`;
  const { what } = dimensions[reading.quantity.dimension];
  return `${called}: ${shown(reading.suffix)} is not a known unit of ${what}; accepted: ${listed(accepted)}${didYouMean(name, accepted)}`;
}

const decimal = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;

/**
 * A number as people write it in tables: digits with a decimal sign, perhaps an exponent.
 *
 * @param refuse  makes the error from what is wrong
 * @param sign    the decimal sign of the file
 */
export function readNumber(
  written: string,
  name: string,
  refuse: (what: string) => Error,
  sign: '.' | ',' = '.',
): number {
  let cell = written;
  if (sign === ',') {
    if (/^[+-]?[1-9]\d{0,2}\.\d{3}$/.test(cell)) {
      const [one, other] = [cell.replace('.', ''), cell.replace('.', ',')];
      throw refuse(
        `${shown(cell)} may be ${one} with a point between thousands, or ${other} with a decimal point; write ${one} or ${other}`,
      );
    }
    if (decimal.test(cell) && cell.includes('.')) {
      throw refuse(
        `${shown(cell)} has a decimal point where other numbers of the file have commas; write ${cell.replace('.', ',')}`,
      );
    }
    if (/^[+-]?(\d+,?\d*|,\d+)([eE][+-]?\d+)?$/.test(cell)) cell = cell.replace(',', '.');
  }
  const value = decimal.test(cell) ? Number(cell) : Number.NaN;
  if (Number.isFinite(value)) return value;
  if (decimal.test(cell)) throw refuse(`${shown(cell)} is too large a number for ${name}`);
  if (/^[+-]?\d+,\d+$/.test(cell)) {
    const thousands = /^[+-]?[1-9]\d{0,2},\d{3}$/.test(cell);
    throw refuse(
      `${shown(cell)} looks like a decimal comma; write ${cell.replace(',', '.')} with a point${thousands ? `, or ${cell.replace(',', '')} if the comma groups thousands` : ''}`,
    );
  }
  if (/^[+-]?\d{1,3}([.,' \u00a0\u202f]\d{3})+([.,]\d+)?$/.test(cell)) {
    throw refuse(
      `${shown(cell)} groups its thousands; write ${name} in digits with at most one point, such as 1200.5`,
    );
  }
  if (/^[+-]?(nan|inf|infinity|∞|#n\/a|n\/a|na|none|null|-)$/i.test(cell)) {
    throw refuse(
      `${shown(cell)} is not a number; ${name} needs one (delete the row if there was no reading)`,
    );
  }
  if (/^[+-]?(\d+\.?\d*|\.\d+)\s*[^\d\s.,]+$/.test(cell)) {
    throw refuse(
      `${shown(cell)} is a number with something after it; write the number alone, the unit is in the name ${name}`,
    );
  }
  throw refuse(`${shown(cell)} is not a number; ${name} needs one, such as 182.5`);
}

function plain(value: number): string {
  return String(Number(value.toPrecision(6)));
}

/** Whether the first filled cell of a column is a number. */
function holdsNumbers(table: Table, index: number): boolean {
  const filled = table.rows.find((row) => row.cells[index] !== '');
  return filled !== undefined && /^[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?$/.test(filled.cells[index]);
}

/** Refuses a table without its required columns, with what may be meant. */
function refuseMissing(bound: BoundTable, plan: ColumnPlan): void {
  const required = [
    ...plan.texts.filter((text) => text.required).map((text) => text.name),
    ...plan.numbers.filter((number) => number.required).map(benchName),
  ];
  const missing = required.filter((name) => !bound.has(name));
  if (missing.length === 0) return;
  const { table, extras } = bound;
  const hints = missing.map((name) => {
    const close = didYouMean(
      name,
      extras.map((extra) => extra.name),
    ).replace('did you mean', 'is it the column');
    return `${name}${close}`;
  });
  const found = table.header.cells
    .filter((name) => name !== '')
    .slice(0, 30)
    .map(shown)
    .join(', ');
  throw fault(
    table,
    table.header,
    0,
    `missing ${missing.length === 1 ? 'column' : 'columns'} ${listed(hints, 'and')}; the header has ${found || 'no names'}`,
  );
}
