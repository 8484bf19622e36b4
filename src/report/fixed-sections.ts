import { roundToUncertainty } from '../answers/text/uncertainty.ts';
import { plain } from '../answers/text/wording.ts';
import type { Bench } from '../bench/bench.ts';
import { reductionOf } from '../logs/reduction-of.ts';
import { unevenness } from '../surfaces/unevenness.ts';
import { scrolling } from './evidence.ts';
import { escapeHtml } from './page/escape.ts';

/** More rows than this are left to the command line. */
const MOST_ROWS = 80;

/** What a bench shows that no control moves: its logs and its contact surfaces. Empty text where it has none. */
export function fixedSections(bench: Bench): string {
  return [logs(bench), contactSurfaces(bench)].filter((part) => part !== '').join('\n');
}

function section(id: string, title: string, body: string): string {
  return `<section aria-labelledby="${id}-title">\n<h2 id="${id}-title">${title}</h2>\n${body}\n</section>`;
}

export interface Column {
  name: string;
  /** Digits stand to the right, so that places stand under one another. */
  number?: boolean;
}

/** Rows as a table that its own region scrolls; a column with nothing in it is left out. */
export function scrolledTable(
  label: string,
  columns: readonly Column[],
  rows: readonly (readonly string[])[],
): string {
  const kept = columns.map((_, c) => c).filter((c) => c === 0 || rows.some((row) => row[c] !== ''));
  const kind = (c: number): string => (columns[c].number ? ' class="number"' : '');
  const head = kept.map((c) => `<th scope="col"${kind(c)}>${columns[c].name}</th>`).join('');
  const body = rows
    .map((row) => {
      const cells = kept.slice(1).map((c) => `<td${kind(c)}>${row[c]}</td>`);
      return `<tr><th scope="row">${row[0]}</th>${cells.join('')}</tr>`;
    })
    .join('');
  return scrolling(label, `<table><thead><tr>${head}</tr></thead><tbody>${body}</tbody></table>`);
}

const LOG_COLUMNS: readonly Column[] = [
  { name: 'run' },
  { name: 'cooler' },
  { name: 'load, W', number: true },
  { name: 'rise, K', number: true },
  { name: 'usable' },
  { name: 'time constants, s' },
  { name: 'known after, s', number: true },
  { name: 'remarks' },
];

/** Logs with their time constants, and how early each could have ended. */
function logs(bench: Bench): string {
  if (bench.logs.length === 0) return '';
  const { runs, hours_saved, hours_logged } = reductionOf(bench);
  const rows = runs
    .slice(0, MOST_ROWS)
    .map((run) => [
      escapeHtml(run.run),
      escapeHtml(run.cooler),
      `${plain(Math.round(run.power_W))}`,
      run.rise_K === null || run.u_K === null ? 'none' : roundToUncertainty(run.rise_K, run.u_K),
      run.usable ? (run.steady ? 'yes' : 'not steady, but known well enough') : 'no',
      run.time_constants_s.map((seconds) => plain(Math.round(seconds))).join(', '),
      run.early_stop_s === null ? 'never' : plain(Math.round(run.early_stop_s)),
      escapeHtml([...run.reasons, ...run.notes].join('; ')),
    ]);
  const rest =
    runs.length > MOST_ROWS
      ? `<p>${runs.length - MOST_ROWS} more are in the answer of the command reduce.</p>`
      : '';
  return section(
    'logs',
    'Logs and time constants',
    `<p>Each run’s rise is where its log is heading. Had every run ended when that was known, ${plain(Number(hours_saved.toFixed(1)))} of ${plain(Number(hours_logged.toFixed(1)))} hours would have been saved.</p>
${scrolledTable('Table of logs', LOG_COLUMNS, rows)}${rest}`,
  );
}

const SURFACE_COLUMNS: readonly Column[] = [
  { name: 'cooler' },
  { name: 'sample' },
  { name: 'flatness, µm', number: true },
  { name: 'shape' },
  { name: 'mean gap, µm', number: true },
  { name: 'cost at 200 W, K', number: true },
];

/** What the unevenness of the bases costs. */
function contactSurfaces(bench: Bench): string {
  if (bench.flatness.length === 0) return '';
  const { surfaces } = unevenness(bench);
  const rows = surfaces.map((one) => [
    escapeHtml(one.cooler),
    escapeHtml(one.sample),
    plain(Number(one.flatness_um.toFixed(1))),
    one.shape,
    plain(Number(one.mean_gap_um.toFixed(1))),
    `${one.rise_K.toFixed(1)} (${one.rise_low_K.toFixed(1)} to ${one.rise_high_K.toFixed(1)})`,
  ]);
  return section(
    'contact',
    'What the contact surfaces cost',
    `<p>The mean gap is the most that it can be, with the surfaces resting on their high points; the cost is what its paste adds to the rise.</p>
${scrolledTable('Table of contact surfaces', SURFACE_COLUMNS, rows)}`,
  );
}
