import type { ChartDecisions, DecisionRecord } from '../months/decision-record.ts';
import { escapeHtml } from './page/escape.ts';

/**
 * The record of published charts as HTML: the identity of the data, and for each chart what was left out and why, and what was
 * put right since. Empty text where nothing was recorded.
 */
export function recordSection(record: DecisionRecord | null): string {
  if (record === null || record.charts.length === 0) return '';
  return `<section aria-labelledby="record-title">
<h2 id="record-title">The record of published charts</h2>
<p>The bench’s files as they are now have this identity, the SHA-256 of the list of the files, each with its own: <span class="hash">${record.dataset}</span></p>
${record.charts.map(chartRecord).join('\n')}
</section>`;
}

/** A date that is not broken at its hyphens. */
const dated = (date: string): string => `<time>${escapeHtml(date)}</time>`;

function chartRecord({ chart, published, dataset, excluded, corrections, verdict }: ChartDecisions): string {
  const left = excluded.map(
    ({ name, reason, in_bench }) =>
      `<li>Left out: ${escapeHtml(name)}, because ${escapeHtml(reason)}${in_bench ? '' : ' (no run and no mount of the bench now)'}</li>`,
  );
  const right = corrections.map(
    ({ date, what, dataset: after }) =>
      `<li>Corrected on ${dated(date)}: ${escapeHtml(what)}${after === null ? '' : `; identity of the files since: <span class="hash">${after}</span>`}</li>`,
  );
  const drawn =
    dataset === null
      ? '<li>Which files it was drawn from was not noted</li>'
      : `<li>Drawn from the files of the identity <span class="hash">${dataset}</span></li>`;
  return `<h3>${escapeHtml(chart)}, published ${dated(published)}</h3>
<p>${escapeHtml(verdict)}</p>
<ul class="record">${drawn}${left.join('')}${right.join('')}</ul>`;
}
