/**
 * Writes a table as CSV by RFC 4180, but with LF between rows: commas between cells, quotes where a
 * cell holds a comma, a quote or a line break.
 *
 * Text that a spreadsheet would run as a formula (it begins with `=`, `+`, `@`, `-`, a tab or a line break and is not
 * a number) is written with a leading apostrophe, which `readBench` takes off again. Numbers are written with all their digits; `undefined` and `null`
 * are empty cells.
 *
 * @param columns  names of the header, in order
 * @param rows     one object a row; keys that are not columns are left out
 * @throws RangeError if a number is not finite: a table holds numbers or nothing
 * @example writeTable(['run', 'power_W'], [{ run: 'a,b', power_W: 182.5 }]) // 'run,power_W\n"a,b",182.5\n'
 */
export function writeTable(
  columns: readonly string[],
  rows: readonly Readonly<Record<string, string | number | boolean | null | undefined>>[],
): string {
  const lines = [columns.map(cell).join(',')];
  for (const row of rows) {
    lines.push(columns.map((column) => cell(Object.hasOwn(row, column) ? row[column] : undefined)).join(','));
  }
  return `${lines.join('\n')}\n`;
}

function cell(value: string | number | boolean | null | undefined): string {
  if (value === undefined || value === null) return '';
  if (typeof value === 'number') {
    if (!Number.isFinite(value)) throw new RangeError(`a table cell must be a finite number, not ${value}`);
    return String(value);
  }
  let text = String(value);
  const isNumber = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/.test(text);
  if ((/^'*[=+@-]/.test(text) || /^[\t\r\n]/.test(text)) && !isNumber) text = `'${text}`;
  return /[",\r\n]|^\s|\s$/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
