/** How the cells of a table are written: what stands between them, and the decimal sign of their numbers. */
export interface CellFormat {
  readonly separator: ',' | ';' | '\t';
  readonly decimal: '.' | ',';
}

/** A number of either decimal sign. */
const number = /^[+-]?\d+([.,]\d+)?([eE][+-]?\d+)?$/;
/** Digits that a thousands sign might part: 1,800 or 1.800. */
const perhapsThousands = /^[+-]?[1-9]\d{0,2}[.,]\d{3}$/;

/** Cells of one line between separators that are not in quotes, the quotes taken off. */
export function cellsOf(line: string, separator: string): string[] {
  if (!line.includes('"')) return line.split(separator).map((cell) => cell.trim());
  const cells: string[] = [];
  let quoted = false;
  let from = 0;
  for (let i = 0; i <= line.length; i++) {
    if (line[i] === '"') quoted = !quoted;
    if (i < line.length && (quoted || line[i] !== separator)) continue;
    cells.push(
      line
        .slice(from, i)
        .trim()
        .replace(/^"(.*)"$/, '$1')
        .replaceAll('""', '"'),
    );
    from = i + 1;
  }
  return cells;
}

/**
 * How a table is written, from its first lines.
 *
 * The separator is the sign that gives the most lines as many cells as the commonest, more cells before fewer. Commas are
 * decimal signs only where they part no cells and some number has one that cannot part thousands: "61,5" can be nothing
 * but 61.5, while "1,800" alone is no evidence.
 *
 * @param lines  whole lines, the header among them; a few dozen are enough
 * @example cellFormat(['cooler;power_W', 'A;150,5']) // { separator: ';', decimal: ',' }
 */
export function cellFormat(lines: readonly string[]): CellFormat {
  const filled = lines.filter((line) => line.trim() !== '');
  let separator: CellFormat['separator'] = ',';
  let best = 0;
  for (const sign of ['\t', ';', ','] as const) {
    const lengths = new Map<number, number>();
    for (const line of filled) {
      const { length } = cellsOf(line, sign);
      if (length > 1) lengths.set(length, (lengths.get(length) ?? 0) + 1);
    }
    // A header of four names above a thousand rows of nothing else counts as one line of four.
    const even = Math.max(0, ...Array.from(lengths, ([length, count]) => count * (1 + Math.log(length))));
    if (even > best * (1 + 1e-9)) [separator, best] = [sign, even];
  }
  if (separator === ',') return { separator, decimal: '.' };
  const numbers = filled
    .flatMap((line) => cellsOf(line, separator))
    .filter((cell) => number.test(cell) && !perhapsThousands.test(cell));
  const commas = numbers.some((cell) => cell.includes(','));
  return { separator, decimal: commas ? ',' : '.' };
}

const names = { ',': 'commas', ';': 'semicolons', '\t': 'tabs' };

/** What was understood, for people; `undefined` for commas and decimal points, which need no word. */
export function formatInWords({ separator, decimal }: CellFormat): string | undefined {
  if (separator === ',') return undefined;
  return `cells between ${names[separator]}, decimal ${decimal === ',' ? 'commas' : 'points'}`;
}
