import { fixed } from '../../answers/text/uncertainty.ts';
import { escapeHtml } from '../page/escape.ts';
import { markSvg } from '../page/marks.ts';

/** A column of a chart's table: `cooler` names get their mark, numbers so many decimals for people. */
export interface TableColumn {
  name: string;
  unit?: string;
  kind: 'text' | 'cooler' | 'number';
  decimals?: number;
  /** How people read a number, where not by its decimals. */
  words?: (value: number) => string;
}

/** Columns of names of coolers, of texts and of numbers. */
export const coolers = (name: string): TableColumn => ({ name, kind: 'cooler' });
export const texts = (name: string): TableColumn => ({ name, kind: 'text' });
export const numbers = (name: string, unit = '', decimals?: number): TableColumn => ({
  name,
  unit,
  kind: 'number',
  decimals,
});

/** The numbers of a chart, whole; people see them rounded. */
export interface ChartTable {
  caption: string;
  columns: readonly TableColumn[];
  rows: readonly (readonly (string | number | null)[])[];
}

/**
 * The table as CSV (RFC 4180), numbers with every digit; what the table is about stands above it in lines that begin with `#`.
 *
 * A text that a spreadsheet would run as a formula, one that starts with `=`, `+`, `-`, `@`, a tab or a line feed, gets an
 * apostrophe in front.
 *
 * @example csvOf({ caption: '', columns: [{ name: 'cooler', kind: 'cooler' }], rows: [['=1+1']] }) // "cooler\r\n'=1+1\r\n"
 */
export function csvOf(table: ChartTable, about: readonly string[] = []): string {
  const header = table.columns.map(({ name, unit }) =>
    (unit ? `${name}_${unit}` : name).replaceAll(' ', '_'),
  );
  const lines = [
    ...about.map((line) => `# ${line.replace(/\s+/g, ' ')}`),
    ...[header, ...table.rows].map((cells) => cells.map(csvCell).join(',')),
  ];
  return `${lines.join('\r\n')}\r\n`;
}

function csvCell(cell: string | number | null): string {
  if (cell === null) return '';
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(cell) : '';
  const safe = /^[=+\-@\t\r\n]/.test(cell) ? `'${cell}` : cell;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** What stands around a table that is pasted into an article. */
interface Around {
  title: string;
  under: string;
  notes: readonly string[];
  credit: string;
}

/** The table as HTML without anything of the page. */
export function plainTableHtml(table: ChartTable, { title, under, notes, credit }: Around): string {
  const row = (cells: readonly string[], tag: string): string =>
    `<tr>${cells.map((cell) => `<${tag}>${escapeHtml(cell)}</${tag}>`).join('')}</tr>`;
  const [head, ...body] = textRows(table);
  return `<table><caption><strong>${escapeHtml(title)}.</strong> ${escapeHtml(under)}.</caption><thead>${row(head, 'th')}</thead><tbody>${body.map((cells) => row(cells, 'td')).join('')}</tbody></table><p>${escapeHtml([...notes, credit].join(' '))}</p>`;
}

/** The table as Markdown. */
export function tableMarkdown(table: ChartTable, { title, under, notes, credit }: Around): string {
  const safe = (text: string): string => text.replace(/[\\|*_`<[\]]/g, '\\$&');
  const row = (cells: readonly string[]): string => `| ${cells.map(safe).join(' | ')} |`;
  const [head, ...body] = textRows(table);
  const rule = table.columns.map(({ kind }) => (kind === 'number' ? '---:' : '---'));
  return [
    `**${safe(title)}.** ${safe(under)}.`,
    '',
    row(head),
    `| ${rule.join(' | ')} |`,
    ...body.map(row),
    '',
    safe([...notes, credit].join(' ')),
    '',
  ].join('\n');
}

/** Head and rows as people read them. */
const textRows = ({ columns, rows }: ChartTable): string[][] => [
  columns.map(({ name, unit }) => (unit ? `${name}, ${unit === 'C' ? '°C' : unit}` : name)),
  ...rows.map((cells) => cells.map((cell, i) => cellText(cell, columns[i]))),
];

const cellText = (cell: string | number | null, { decimals, words }: TableColumn): string =>
  typeof cell === 'number'
    ? words
      ? words(cell)
      : decimals === undefined
        ? String(cell)
        : fixed(cell, decimals).replace('-', '−')
    : (cell ?? '');

/** The table as HTML. */
export function tableHtml(table: ChartTable, places: ReadonlyMap<string, number>): string {
  const head = table.columns
    .map(
      ({ name, unit, kind }) =>
        `<th scope="col"${kind === 'number' ? ' class="number"' : ''}>${escapeHtml(name)}${unit ? `, ${escapeHtml(unit)}` : ''}</th>`,
    )
    .join('');
  const body = table.rows
    .map(
      (cells) => `<tr>${cells.map((cell, i) => htmlCell(cell, table.columns[i], i, places)).join('')}</tr>`,
    )
    .join('');
  return `<div class="scroll tall" tabindex="0" role="region" aria-label="${escapeHtml(table.caption)}"><table><caption class="unseen">${escapeHtml(table.caption)}</caption><thead><tr>${head}</tr></thead><tbody>${body}</tbody></table></div>`;
}

function htmlCell(
  cell: string | number | null,
  column: TableColumn,
  index: number,
  places: ReadonlyMap<string, number>,
): string {
  const text = escapeHtml(cellText(cell, column));
  if (typeof cell === 'number') return `<td class="number">${text}</td>`;
  if (column.kind !== 'cooler') return `<td>${text}</td>`;
  const named = `${markSvg(places.get(cell ?? '') ?? 0)}<span class="name">${text}</span>`;
  return index === 0 ? `<th scope="row">${named}</th>` : `<td>${named}</td>`;
}
