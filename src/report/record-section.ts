import type { ChartDecisions, DecisionRecord } from '../session-results.ts';
import { escapeHtml } from './page/escape.ts';

/**
 * The record of published charts as HTML: the identity of the data, and for each chart what was left out and why, and what was
 * put right since. Empty text where nothing was recorded.
 */
export function recordSection(record: DecisionRecord | null): string {
  if (record === null || record.charts.length === 0) return '';
  const warnings = record.warnings.map((one) => `<li>${escapeHtml(one)}</li>`).join('');
  return `<section aria-labelledby="record-title">
<h2 id="record-title">The record of published charts</h2>
<p>The data as they are now, as the SHA-256 of the list of the bench’s files with theirs: <span class="hash">${record.dataset}</span></p>
${record.charts.map(chartRecord).join('\n')}
${warnings === '' ? '' : `<ul class="warnings">${warnings}</ul>`}
</section>`;
}

function chartRecord({ chart, published, dataset, excluded, corrections, verdict }: ChartDecisions): string {
  const left = excluded.map(
    ({ name, reason, in_bench }) =>
      `<li>Left out: ${escapeHtml(name)}, because ${escapeHtml(reason)}${in_bench ? '' : ' (no longer in the bench)'}</li>`,
  );
  const right = corrections.map(
    ({ date, what, dataset: after }) =>
      `<li>Corrected on ${escapeHtml(date)}: ${escapeHtml(what)}${after === null ? '' : `; the data since: <span class="hash">${after}</span>`}</li>`,
  );
  const drawn =
    dataset === null
      ? '<li>The data it was drawn from were not noted</li>'
      : `<li>Drawn from the data <span class="hash">${dataset}</span></li>`;
  return `<h3>${escapeHtml(chart)}, ${escapeHtml(published)}</h3>
<p>${escapeHtml(verdict)}</p>
<ul class="record">${drawn}${left.join('')}${right.join('')}</ul>`;
}
