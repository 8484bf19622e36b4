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
import { fault, type Row, type Table } from './table.ts';
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
  /** Columns that the reader does not know, by name. */
  readonly extras: { readonly name: string; readonly index: number }[] = [];

  constructor(table: Table) {
    this.table = table;
  }

  has(name: string): boolean {
    return this.numbers.has(name) || this.texts.has(name);
  }

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
    const written = readNumber(cell, bound.name, refuse);
    const value = toBenchUnit(written, bound.conversion);
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

/**
 * Finds which column of a table is which, converting the unit in a column's name.
 *
 * @throws BenchError at the header cell that names a quantity twice, in no unit or in an unknown one; at the header's
 *   first cell when required columns are missing
 */
export function bindColumns(table: Table, plan: ColumnPlan): BoundTable {
  const bound = new BoundTable(table);
  const names = table.header.cells;
  const texts = new Set(plan.texts.map((text) => text.name));
  const readings = names.map((name) => (texts.has(name) ? undefined : readName(name, plan.numbers)));
  const present = new Set<string>();
  for (const reading of readings) if (reading?.kind === 'read') present.add(reading.quantity.quantity);

  names.forEach((name, index) => {
    const reading = readings[index];
    const refuse = (what: string) => fault(table, table.header, index, what);
    if (name === '') return;
    if (reading === undefined) {
      bound.texts.set(name, index);
    } else if (reading.kind === 'read') {
      const key = benchName(reading.quantity);
      const earlier = bound.numbers.get(key);
      if (earlier) {
        throw refuse(
          `${shown(name)} and ${shown(earlier.name)} are the same quantity; keep one of the two columns`,
        );
      }
      const column = plan.numbers.find((candidate) => candidate.quantity === reading.quantity.quantity)!;
      bound.numbers.set(key, { plan: column, index, conversion: reading.conversion, name });
    } else {
      if (reading.kind !== 'other' && !present.has(reading.quantity.quantity)) {
        const column = plan.numbers.find((candidate) => candidate.quantity === reading.quantity.quantity)!;
        if (column.required || holdsNumbers(table, index)) {
          throw refuse(unitFault(`column ${shown(name)}`, name, reading));
        }
      }
      bound.extras.push({ name, index });
    }
  });
  refuseMissing(bound, plan);
  return bound;
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
 * A number as people write it in tables: digits with a point, perhaps an exponent.
 *
 * @param refuse  makes the error from what is wrong
 */
export function readNumber(cell: string, name: string, refuse: (what: string) => Error): number {
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

function holdsNumbers(table: Table, index: number): boolean {
  const filled = table.rows.find((row) => row.cells[index] !== '');
  return filled !== undefined && decimal.test(filled.cells[index]);
}

/** The column of that quantity under a heading for people, "Power (kW)", with the name that it would be read by. */
function writtenAs(name: string, extras: BoundTable['extras'], { numbers }: ColumnPlan): string {
  for (const extra of extras) {
    const [first = '', ...units] = extra.name.split(/[^\p{L}\p{N}]+/u).filter((part) => part !== '');
    const proper = [first.toLowerCase(), ...units].join('_');
    const reading = readName(proper, numbers);
    if (reading.kind === 'read' && benchName(reading.quantity) === name)
      return ` (is it the column ${shown(extra.name)}? its name would be ${proper})`;
  }
  return '';
}

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
    return `${name}${close || writtenAs(name, extras, plan)}`;
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
