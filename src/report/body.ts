import { answer } from '../tables/answer.ts';
import { percent } from '../tables/wording.ts';
import { answerPieces } from './answer-rows.ts';
import type { Answers } from './answers.ts';
import { CHARTS } from './charts/all-charts.ts';
import type { Chart, Shown, View } from './charts/chart.ts';
import { tableHtml } from './charts/chart-table.ts';
import { controlsHtml } from './controls.ts';
import { evidence } from './evidence.ts';
import { crossingsTable } from './page/crossings.ts';
import { escapeHtml, prose, unparted } from './page/escape.ts';
import { markSprite, markSvg } from './page/marks.ts';
import { SAFETY_LINES } from './safety.ts';
import { conditionsOf, type PageState } from './state.ts';

/** What is drawn before the reader chooses. */
export const FIRST_VIEW: View = { measure: 'rise', hidden: new Set(), against: { kind: 'front' } };

/** The answer at a state of the controls. */
export function shownAt(answers: Answers, state: PageState, view: View): Shown {
  const conditions = conditionsOf(state, answers);
  return { answers, state, conditions, compare: answers.at(conditions, state.power_W), view };
}

/**
 * All that is between the page's head and its scripts: it says everything at the first state of the controls, so that it
 * reads and prints without its script, which then brings the controls to life.
 */
export function pageBody(shown: Shown): string {
  const { answers, state } = shown;
  return `${markSprite(answers.places.size)}
<header>
<p class="kicker">${escapeHtml(answers.bench.name)}</p>
<p class="conditions" id="conditions">${answerPieces(shown.compare, state, answers).conditions}</p>
</header>
<main>
${answerSection(shown)}
${CHARTS.filter((chart) => chart.has(answers))
  .map((chart) => chartSection(chart, shown))
  .join('\n')}
${answers.data.sections}
<section aria-labelledby="evidence-title">
<h2 id="evidence-title">The evidence</h2>
<div id="evidence">${evidenceOf(shown)}</div>
</section>
<section aria-labelledby="another-title" class="another" id="another">
<h2 id="another-title">Another bench</h2>
<p>A bench folder (bench.yaml with runs.csv or logs.csv), or one table of runs, is read and fitted here, inside this page. Nothing is uploaded, and no file is changed. It may be dropped anywhere on this section, and a table copied from a spreadsheet may be pasted below.</p>
<p><input class="unseen" type="file" id="folder" webkitdirectory multiple disabled><label class="button" for="folder">Open a bench folder</label>
<input class="unseen" type="file" id="table" accept=".csv,.tsv,.txt,text/*" disabled><label class="button" for="table">Open a table</label></p>
<p><textarea id="pasted" rows="2" placeholder="or paste a table" aria-label="Paste a table of runs" disabled></textarea></p>
<p><progress id="progress" max="1" value="0" aria-label="Progress of the fit" hidden></progress> <span id="progress-words" role="status"></span></p>
<p class="fault" id="folder-fault" role="alert"></p>
<pre id="read-as" hidden></pre>
</section>
<section aria-labelledby="safety-title" class="safety">
<h2 id="safety-title">Before the bench heats</h2>
<ul>${SAFETY_LINES.map((line) => `<li>${line}</li>`).join('')}</ul>
</section>
</main>`;
}

function answerSection(shown: Shown): string {
  const { answers, state, compare } = shown;
  const pieces = answerPieces(compare, state, answers);
  const level = unparted(percent(compare.level));
  return `<section id="answer" aria-labelledby="headline">
<h1 id="headline">${pieces.headline}</h1>
<p id="beneath" class="beneath">${pieces.beneath}</p>
${controlsHtml(state, answers)}
<p class="fault" id="fault" role="alert"></p>
<table class="order">
<caption id="order-caption">${pieces.caption}</caption>
<thead><tr><th scope="col">cooler</th><th scope="col" class="number">rise,&nbsp;K</th><th scope="col" class="drawing"><span class="unseen">interval drawn</span><span id="order-scale">${pieces.scale}</span></th><th scope="col" class="number wide">${level}, K</th><th scope="col" class="number wide">source at,&nbsp;°C</th><th scope="col">letters</th><th scope="col" class="number wide">chance of being coolest, %</th></tr></thead>
<tbody id="order-rows">${pieces.rows}</tbody>
</table>
<p class="foot${pieces.starred ? '' : ' blank'}" id="order-foot">* beyond the loads, speeds or source run on this cooler: an extrapolation</p>
<details id="remarks"${pieces.remarks === '' ? ' hidden' : ''}><summary>Remarks on this condition</summary><ul class="answers" id="remark-list">${pieces.remarks}</ul></details>
<p class="unseen" id="spoken" role="status"></p>
</section>`;
}

function chartSection(chart: Chart, shown: Shown): string {
  const { id, title } = chart;
  return `<section class="figure" id="section-${id}" aria-labelledby="${id}-title">
<h2 id="${id}-title">${id === 'places' ? 'Where the order changes' : title}</h2>
${id === 'places' ? `<ul class="answers" id="order-answers">${orderAnswers(shown)}</ul>` : ''}
<p id="${id}-about">${prose(chart.about(shown))}</p>
${ownControls(id, shown)}
<div class="frame"><div class="chart" id="${id}-chart" role="img" aria-label="${escapeHtml(chart.label(shown))}" data-chart="${id}"></div>${chart.loadAt ? `<div class="load-line" id="${id}-line" hidden></div>` : ''}</div>
<div class="under"><details data-table="${id}"><summary>The numbers of this chart</summary><div id="${id}-table">${tableHtml(chart.table(shown), shown.answers.places)}</div></details>
<div class="exports" role="group" aria-label="${escapeHtml(title)}: save as">${EXPORTS.map(({ format, words, spoken }) => `<button type="button" data-save="${id}" data-format="${format}" aria-label="${spoken}" disabled>${words}</button>`).join('')}</div></div>
${id === 'places' ? `<h3>Loads at which two coolers change places</h3><div id="crossings">${crossingsOf(shown)}</div>` : ''}
</section>`;
}

const EXPORTS = [
  { format: 'svg', words: 'SVG', spoken: 'Save as SVG' },
  { format: 'png-1920', words: 'PNG 1920', spoken: 'Save as PNG, 1920 by 1080' },
  { format: 'png-3840', words: 'PNG 3840', spoken: 'Save as PNG, 3840 by 2160' },
  { format: 'csv', words: 'CSV', spoken: 'Save the numbers as CSV' },
] as const;

/** The choices that a chart has for itself. */
function ownControls(id: string, { answers, state }: Shown): string {
  const coolers = answers.posterior(state.source).coolers.map((one) => one.data.cooler.cooler);
  if (id === 'rise') {
    return `<div class="choice" id="rise-choice">
<fieldset><legend>Drawn as</legend>
<label><input type="radio" name="measure" value="rise" checked> rise, K</label>
<label><input type="radio" name="measure" value="resistance"> rise per watt, K/W</label>
</fieldset>
<fieldset id="drawn"><legend>Coolers drawn</legend>
${coolers.map((name) => `<label><input type="checkbox" value="${escapeHtml(name)}" checked> ${markSvg(answers.places.get(name) ?? 0)}<span class="name">${escapeHtml(name)}</span></label>`).join('\n')}
</fieldset>
</div>`;
  }
  if (id === 'pairs') {
    return `<div class="choice"><span><label for="against">Drawn for</label> <select id="against"><option value="front">the cooler in front</option><option value="all">every pair</option>${coolers.map((name) => `<option value="cooler:${escapeHtml(name)}">${escapeHtml(name)}</option>`).join('')}</select></span></div>`;
  }
  return '';
}

/** The answers over all loads, as list items. */
export function orderAnswers(shown: Shown): string {
  return answer(shown.answers.overLoads(shown.conditions))
    .map((sentence) => `<li>${prose(sentence)}</li>`)
    .join('');
}

export function crossingsOf(shown: Shown): string {
  return crossingsTable(shown.answers.overLoads(shown.conditions), shown.answers.places);
}

export function evidenceOf({ answers, conditions, compare }: Shown): string {
  return evidence({
    fit: answers.fit(conditions),
    warnings: [...new Set([...answers.bench.warnings, ...answers.posterior(conditions.source).warnings])],
    places: answers.places,
    method: compare.method,
    files: answers.bench.files,
    hashes: answers.data.hashes,
    version: answers.data.version,
    bench: answers.bench,
  });
}
