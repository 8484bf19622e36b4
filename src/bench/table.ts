import { CsvError, parse } from 'csv-parse/browser/esm/sync';
import { BenchError } from './bench-error.ts';
import { type CellFormat, cellFormat } from './cell-format.ts';
import { counted, shown } from './wording.ts';

/** A row of a table: trimmed cells, and where the row begins. */
export interface Row {
  readonly cells: readonly string[];
  /** 1-based line of the row's first character. */
  readonly line: number;
  /** Index of the row's first character in `Table.text`. */
  readonly start: number;
}

/** A CSV file as text cells. Blank rows are gone; every row has as many cells as the header. */
export interface Table {
  readonly file: string;
  readonly text: string;
  readonly format: CellFormat;
  readonly header: Row;
  readonly rows: readonly Row[];
}

const limits = { bytes: 128 * 1024 * 1024, columns: 200, rows: 1_000_000, cell: 10_000 };

/**
 * Reads a small table: cells between commas, semicolons or tabs, quoted by RFC 4180, UTF-8 with or without byte order
 * mark, lines ended by LF, CR LF or CR.
 *
 * @throws BenchError at the cell or character that is wrong: not UTF-8, vertical bars between cells, a stray quote, an
 *   unnamed or repeated column, a row with another number of cells than the header, or a size beyond the limits
 *   (200 columns, a million rows, 10,000 characters a cell)
 * @example readTable('noise.csv', new TextEncoder().encode('cooler,fan_rpm\nA,900\n')).rows[0].cells // ['A', '900']
 */
export function readTable(file: string, bytes: Uint8Array): Table {
  const text = readText(file, bytes, limits.bytes).replace(/\r\n?/g, '\n');
  refuseBars(file, text);
  const source: Source = { file, text, format: cellFormat(firstLines(text)) };
  if (!text.includes('"')) return tableOf(source, unquotedRecords(source));
  // Rows of differing lengths are slow to read: where there are any, a fault among the first is found before the rest is.
  const even = splitRecords(source, { uneven: false });
  if (even) return tableOf(source, even);
  tableOf(source, splitRecords(source, { uneven: true, most: 2000 })!);
  return tableOf(source, splitRecords(source, { uneven: true })!);
}

/** A table's text and how it is written. */
export type Source = Pick<Table, 'file' | 'text' | 'format'>;

/** Lines by which the separator and the decimal sign are told. */
const FIRST_LINES = 200;

function firstLines(text: string): string[] {
  let end = 0;
  for (let k = 0; k < FIRST_LINES && end >= 0; k++) end = text.indexOf('\n', end + 1);
  return (end < 0 ? text : text.slice(0, end)).split('\n');
}

/** A table of records, the first of which is its header. @throws BenchError as {@link readTable} */
export function tableOf(source: Source, records: readonly Row[]): Table {
  const { file } = source;
  if (records.length === 0) {
    throw new BenchError(file, 1, 1, 'the file is empty; it must begin with a line of column names');
  }
  const [first, ...rest] = records;
  const header = trimHeader(source, first, rest);
  if (rest.length > limits.rows) {
    throw new BenchError(file, rest[limits.rows].line, 1, 'more than 1,000,000 rows; split the file');
  }
  const width = header.cells.length;
  const rows = rest.map((row) => {
    const overlong = row.cells.findIndex((cell) => cell.length > limits.cell);
    if (overlong >= 0)
      throw fault(source, row, overlong, 'the cell holds more than 10,000 characters; shorten it');
    if (row.cells.length < width) {
      throw fault(
        source,
        row,
        row.cells.length - 1,
        `the row ends here with ${counted(row.cells.length, 'cell')}, but the header has ${width}; fill in the missing cells (an empty cell still needs its separator)`,
      );
    }
    if (row.cells.slice(width).some((cell) => cell !== '')) {
      throw fault(
        source,
        row,
        width,
        `the row has ${row.cells.length} cells, but the header has ${width}; put quotes around a cell that holds a comma, and write decimals with a point (182.5)`,
      );
    }
    return row.cells.length === width ? row : { ...row, cells: row.cells.slice(0, width) };
  });
  return { ...source, header, rows };
}

/** A fault at a cell: line and column of its first character. */
export function fault(table: Source, row: Row, column: number, what: string): BenchError {
  const place = placeOf(table, row, column);
  return new BenchError(table.file, place.line, place.column, what);
}

/** `file:line:column`, for a warning about a cell. */
export function placeName(table: Table, row: Row, column: number): string {
  const place = placeOf(table, row, column);
  return `${table.file}:${place.line}:${place.column}`;
}

/** UTF-8 text without its byte order mark. */
export function readText(file: string, bytes: Uint8Array, limit: number): string {
  if (bytes.length > limit) {
    throw new BenchError(
      file,
      1,
      1,
      `the file is larger than ${Math.round(limit / 1024)} KiB, which is more than is read`,
    );
  }
  const utf16 = (bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff);
  if (utf16) throw new BenchError(file, 1, 1, 'the file is UTF-16; save it as UTF-8');
  try {
    const text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
    const zero = text.indexOf('\0');
    if (zero < 0) return text;
    const { line, column } = lineAndColumn(text, zero);
    throw new BenchError(file, line, column, 'a zero byte; the file is not text, save it again as UTF-8');
  } catch (error) {
    if (error instanceof BenchError) throw error;
    const loose = new TextDecoder().decode(bytes);
    const { line, column } = lineAndColumn(loose, loose.indexOf('\uFFFD'));
    throw new BenchError(file, line, column, 'a character that is not UTF-8; save the file as UTF-8');
  }
}

function lineAndColumn(text: string, index: number): { line: number; column: number } {
  const before = text.slice(0, Math.max(index, 0)).split(/\r\n?|\n/);
  return { line: before.length, column: [...before[before.length - 1]].length + 1 };
}

/** The records of a table without a quote: no separator and no line end is anything but what it looks like. */
function unquotedRecords({ text, format }: Source): Row[] {
  const rows: Row[] = [];
  for (let start = 0, line = 1; start < text.length && rows.length < limits.rows + 2; line++) {
    const found = text.indexOf('\n', start);
    const end = found < 0 ? text.length : found;
    const cells = text.slice(start, end).split(format.separator);
    let blank = true;
    for (let k = 0; k < cells.length; k++) {
      cells[k] = cells[k].trim();
      if (cells[k] !== '') blank = false;
    }
    if (!blank) rows.push({ cells, line, start });
    start = end + 1;
  }
  return rows;
}

/** The records of a table; `undefined` where they are of differing lengths and `uneven` says that they may not be. */
function splitRecords(
  { file, text, format }: Source,
  { uneven, most = limits.rows + 2 }: { uneven: boolean; most?: number },
): Row[] | undefined {
  let parsed: { record: string[]; raw: string }[];
  try {
    parsed = parse(text, {
      delimiter: format.separator,
      raw: true,
      relax_column_count: uneven,
      record_delimiter: '\n',
      skip_empty_lines: true,
      to: most,
      trim: true,
    }) as unknown as { record: string[]; raw: string }[];
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    if (!uneven && error.code === 'CSV_RECORD_INCONSISTENT_FIELDS_LENGTH') return undefined;
    const { index, what } = quoteFault(text, format.separator);
    const { line, column } = lineAndColumn(text, index);
    throw new BenchError(file, line, column, what);
  }
  const rows: Row[] = [];
  let start = 0;
  let line = 1;
  for (const { record, raw } of parsed) {
    const cells = record.map((cell) => cell.trim());
    // The parser counts the empty lines before a record to it.
    const before = leadingLines(raw);
    if (cells.some((cell) => cell !== '')) {
      rows.push({ cells, line: line + before.lines, start: start + before.length });
    }
    start += raw.length;
    for (let at = raw.indexOf('\n'); at >= 0; at = raw.indexOf('\n', at + 1)) line++;
  }
  return rows;
}

function leadingLines(raw: string): { lines: number; length: number } {
  const found = { lines: 0, length: 0 };
  for (let at = 0; at < raw.length && raw[at].trim() === ''; at++) {
    if (raw[at] !== '\n') continue;
    found.lines++;
    found.length = at + 1;
  }
  return found;
}

/** Where the quoting goes wrong: the parser knows that it does, this finds the character. */
function quoteFault(text: string, separator: string): { index: number; what: string } {
  let opened = -1;
  let blank = true;
  for (let i = 0; i < text.length; i++) {
    const c = text[i];
    if (opened >= 0) {
      if (c !== '"') continue;
      if (text[i + 1] === '"') {
        i++;
        continue;
      }
      const after = /^[^\S\n]*/.exec(text.slice(i + 1, i + 200))?.[0].length ?? 0;
      const next = text[i + 1 + after];
      if (next !== undefined && next !== separator && next !== '\n') {
        return {
          index: i + 1 + after,
          what: 'text after the closing quote of a cell; write a quote inside a quoted cell twice ("")',
        };
      }
      opened = -1;
      blank = false;
    } else if (c === '"') {
      if (!blank) {
        return {
          index: i,
          what: 'a quote in the middle of a cell; put quotes around the whole cell and write the inner quote twice ("")',
        };
      }
      opened = i;
    } else if (c === separator || c === '\n') blank = true;
    else if (c.trim() !== '') blank = false;
  }
  return {
    index: Math.max(opened, 0),
    what: 'a quote is opened here and never closed; close it, or write a quote inside a cell twice ("")',
  };
}

function placeOf({ text, format }: Source, row: Row, column: number): { line: number; column: number } {
  let line = row.line;
  let lineStart = row.start;
  let field = 0;
  let quoted = false;
  let i = row.start;
  for (; i < text.length && field < column; i++) {
    const c = text[i];
    if (c === '"') quoted = !quoted;
    else if (c === '\n') {
      if (!quoted) break;
      line++;
      lineStart = i + 1;
    } else if (c === format.separator && !quoted) field++;
  }
  while (text[i] === ' ' || (text[i] === '\t' && format.separator !== '\t')) i++;
  return { line, column: [...text.slice(lineStart, i)].length + 1 };
}

/** A header parted by vertical bars, which may as well stand inside a cell. */
function refuseBars(file: string, text: string): void {
  const start = text.length - text.trimStart().length;
  const lineEnd = text.indexOf('\n', start);
  const first = text.slice(start, lineEnd < 0 ? undefined : lineEnd);
  const at = first.indexOf('|');
  if (at < 0 || /[,;\t]/.test(first)) return;
  throw new BenchError(
    file,
    text.slice(0, start).split('\n').length,
    [...first.slice(0, at)].length + 1,
    'cells are separated by vertical bars; save the table with commas, semicolons or tabs between cells',
  );
}

function trimHeader(source: Source, header: Row, rows: readonly Row[]): Row {
  let width = header.cells.length;
  while (width > 1 && header.cells[width - 1] === '') width--;
  if (width > limits.columns) {
    throw fault(source, header, limits.columns, `${width} columns; at most ${limits.columns} are read`);
  }
  const seen = new Map<string, number>();
  for (let column = 0; column < width; column++) {
    const name = header.cells[column];
    if (name.length > 200)
      throw fault(source, header, column, 'a column name of more than 200 characters; shorten it');
    if (name === '') {
      if (rows.some((row) => (row.cells[column] ?? '') !== '')) {
        throw fault(source, header, column, 'a column without a name; name it or delete the column');
      }
      continue;
    }
    if (seen.has(name)) {
      throw fault(
        source,
        header,
        column,
        `column ${shown(name)} appears twice; delete or rename one of the two`,
      );
    }
    seen.set(name, column);
  }
  return { ...header, cells: header.cells.slice(0, width) };
}
