import { displayWidth, pad, shorten, wrap } from './text-width.ts';

/** A column: what it holds and its unit, which is written in the header and nowhere else. */
export interface Column {
  title: string;
  unit?: string;
  align: 'left' | 'right';
}

export interface TableOptions {
  /** Columns of the terminal. */
  width?: number;
  /** Blanks in front of every line. */
  indent?: number;
  /** Names are not cut shorter than this. */
  leastName?: number;
}

const GAP = 2;
/** A header up to this width stays on one line even over narrower cells. */
const LEAST_HEADER = 9;

/** Header text of a column in as few lines as fit over its cells; a header never widens a column much. */
function headerLines(column: Column, cellWidth: number): string[] {
  const text = column.unit === undefined ? column.title : `${column.title}, ${column.unit}`;
  const longestWord = Math.max(...text.split(' ').map(displayWidth));
  return wrap(text, Math.max(cellWidth, longestWord, LEAST_HEADER));
}

/** Shortened names, or the full ones where shortening would make two of them read the same. */
function shortNames(names: readonly string[], width: number): string[] {
  const short = names.map((name) => shorten(name, width));
  return new Set(short).size === new Set(names).size ? short : [...names];
}

/** Width of each column and its heading broken over lines to fit it. */
function layOut(
  columns: readonly Column[],
  cells: readonly string[][],
): { widths: number[]; headers: string[][] } {
  const headers: string[][] = [];
  const widths = columns.map((column, c) => {
    const cellWidth = Math.max(0, ...cells.map((row) => displayWidth(row[c])));
    headers[c] = headerLines(column, cellWidth);
    return Math.max(cellWidth, ...headers[c].map(displayWidth));
  });
  return { widths, headers };
}

const totalWidth = (widths: readonly number[], indent: number): number =>
  indent + widths.reduce((sum, w) => sum + w, 0) + GAP * Math.max(0, widths.length - 1);

/**
 * A table in plain text: numbers to the right, words to the left, headers broken over several lines rather than
 * widening their columns.
 *
 * The first column holds names. Where the table is too wide, names are shortened in the middle; where that does not
 * do, the columns that remain follow below, beside the names again.
 *
 * @returns lines without a trailing line end
 * @throws RangeError if a row has another number of cells than there are columns
 */
export function table(
  columns: readonly Column[],
  rows: readonly (readonly string[])[],
  options: TableOptions = {},
): string {
  const { width = 80, indent = 2, leastName = 14 } = options;
  for (const row of rows) {
    if (row.length !== columns.length) {
      throw new RangeError(`a row has ${row.length} cells but the table has ${columns.length} columns`);
    }
  }
  let cells = rows.map((row) => [...row]);
  let { widths, headers } = layOut(columns, cells);
  const excess = totalWidth(widths, indent) - width;
  if (excess > 0 && widths[0] > leastName) {
    const names = shortNames(
      cells.map((row) => row[0]),
      Math.max(leastName, widths[0] - excess),
    );
    cells = cells.map((row, r) => [names[r], ...row.slice(1)]);
    ({ widths, headers } = layOut(columns, cells));
  }
  const blocks: number[][] = [];
  let block = [0];
  for (let c = 1; c < columns.length; c++) {
    const wider = [...block, c];
    if (
      block.length > 1 &&
      totalWidth(
        wider.map((i) => widths[i]),
        indent,
      ) > width
    ) {
      blocks.push(block);
      block = [0, c];
    } else {
      block = wider;
    }
  }
  blocks.push(block);
  return blocks.map((indices) => printBlock(columns, cells, headers, widths, indices, indent)).join('\n\n');
}

function printBlock(
  columns: readonly Column[],
  cells: readonly string[][],
  headers: readonly string[][],
  widths: readonly number[],
  indices: readonly number[],
  indent: number,
): string {
  const line = (texts: readonly string[]): string =>
    (
      ' '.repeat(indent) +
      indices.map((c, i) => pad(texts[i], widths[c], columns[c].align)).join(' '.repeat(GAP))
    ).trimEnd();
  const depth = Math.max(...indices.map((c) => headers[c].length));
  const lines: string[] = [];
  for (let d = 0; d < depth; d++) {
    lines.push(line(indices.map((c) => headers[c][d - (depth - headers[c].length)] ?? '')));
  }
  lines.push(line(indices.map((c) => '-'.repeat(widths[c]))));
  for (const row of cells) lines.push(line(indices.map((c) => row[c])));
  return lines.join('\n');
}
