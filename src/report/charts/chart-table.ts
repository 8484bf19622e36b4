import { fixed } from '../../tables/uncertainty.ts';
import { escapeHtml } from '../page/escape.ts';
import { markSvg } from '../page/marks.ts';

/** A column of a chart's table: `cooler` names get their mark, numbers so many decimals for people. */
export interface TableColumn {
  name: string;
  unit?: string;
  kind: 'text' | 'cooler' | 'number';
  decimals?: number;
}

/** The numbers of a chart, whole; people see them rounded. */
export interface ChartTable {
  caption: string;
  columns: readonly TableColumn[];
  rows: readonly (readonly (string | number | null)[])[];
}

/**
 * The table as CSV (RFC 4180), numbers with every digit.
 *
 * A text that a spreadsheet would run as a formula, one that starts with `=`, `+`, `-`, `@`, a tab or a line feed, gets an
 * apostrophe in front.
 *
 * @example csvOf({ caption: '', columns: [{ name: 'cooler', kind: 'cooler' }], rows: [['=1+1']] }) // "cooler\r\n'=1+1\r\n"
 */
export function csvOf(table: ChartTable): string {
  const header = table.columns.map(({ name, unit }) =>
    (unit ? `${name}_${unit}` : name).replaceAll(' ', '_'),
  );
  const lines = [header, ...table.rows].map((cells) => cells.map(csvCell).join(','));
  return `${lines.join('\r\n')}\r\n`;
}

function csvCell(cell: string | number | null): string {
  if (cell === null) return '';
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(cell) : '';
  const safe = /^[=+\-@\t\r\n]/.test(cell) ? `'${cell}` : cell;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

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
  { kind, decimals }: TableColumn,
  index: number,
  places: ReadonlyMap<string, number>,
): string {
  if (typeof cell === 'number') {
    const text = decimals === undefined ? String(cell) : fixed(cell, decimals).replace('-', '−');
    return `<td class="number">${text}</td>`;
  }
  const text = cell === null ? '' : escapeHtml(cell);
  if (kind !== 'cooler') return `<td>${text}</td>`;
  const named = `${markSvg(places.get(cell ?? '') ?? 0)}<span class="name">${text}</span>`;
  return index === 0 ? `<th scope="row">${named}</th>` : `<td>${named}</td>`;
}
