import { answer } from '../answers/text/answer.ts';
import { nameOfStrange, strangeInWords } from '../answers/text/strange-line.ts';
import { load, percent } from '../answers/text/wording.ts';
import { answerPieces } from './answer-rows.ts';
import type { Answers } from './answers.ts';
import { CHARTS } from './charts/all-charts.ts';
import { barsChart } from './charts/bars-chart.ts';
import type { Chart, Shown } from './charts/chart.ts';
import { tableHtml } from './charts/chart-table.ts';
import { differenceChart } from './charts/difference-chart.ts';
import { planChart } from './charts/plan-chart.ts';
import { svgOf } from './charts/svg.ts';
import { controlsHtml } from './controls.ts';
import { evidence } from './evidence.ts';
import { crossingsTable } from './page/crossings.ts';
import { escapeHtml, prose, unparted } from './page/escape.ts';
import { namedInk } from './page/ink.ts';
import { markSprite } from './page/marks.ts';
import type { PageData } from './page-data.ts';
import { conditionsOf, type PageState, type View } from './state.ts';

/** What is drawn before the reader chooses. */
export const FIRST_VIEW: View = { measure: 'rise', unit: 'K', chosen: [], allPairs: false };

/** The answer at a state of the controls. */
export function shownAt(answers: Answers, state: PageState, view: View): Shown {
  const conditions = conditionsOf(state, answers);
  return { answers, state, conditions, compare: answers.at(conditions, state.power_W), view };
}

/**
 * All of the page that is of its bench: it says everything at the first state of the controls, so that it reads and prints without
 * the page's script, which then brings the controls to life.
 */
export function benchBody(shown: Shown): string {
  const { answers } = shown;
  return `${answerSection(shown)}
${CHARTS.filter((chart) => chart !== FIRST_CHART && chart.has(answers))
  .map((chart) => chartSection(chart, shown))
  .join('\n')}
${answers.data.sections}
<section aria-labelledby="evidence-title">
<h2 id="evidence-title">The evidence</h2>
<div id="evidence">${evidenceOf(shown)}</div>
${answers.data.basis}
</section>
${markSprite(answers.places.size)}`;
}

/** What stands above it: whose bench it is, and at which condition. */
export const benchHeader = (shown: Shown): string =>
  `<p class="kicker">${escapeHtml(shown.answers.bench.name)}</p>
<p class="conditions" id="conditions">${answerPieces(shown).conditions}</p>`;

function answerSection(shown: Shown): string {
  const { answers, state, compare } = shown;
  const pieces = answerPieces(shown);
  const level = unparted(percent(compare.level));
  return `<section id="answer" aria-labelledby="headline">
${strangeHtml(answers.data)}
<h1 id="headline">${pieces.headline}</h1>
<p id="beneath" class="beneath">${pieces.beneath}</p>
${controlsHtml(state, answers)}
<p class="fault" id="fault" role="alert"></p>
<div class="figure" id="section-${FIRST_CHART.id}">
<h2 id="${FIRST_CHART.id}-title" class="unseen">${FIRST_CHART.title}</h2>
${figureHtml(FIRST_CHART, shown, drawnFirst(shown))}
<p class="quiet" id="${FIRST_CHART.id}-about">${prose(FIRST_CHART.about(shown))}</p>
</div>
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

/** The chart that stands in the answer itself: it is drawn with the page, so that it is there before any script. */
const FIRST_CHART = barsChart;

/** Width of the page's column on a desk, px. */
const COLUMN = 912;

function drawnFirst(shown: Shown): string {
  const size = { width: COLUMN, height: FIRST_CHART.height(shown, COLUMN) };
  return svgOf(FIRST_CHART.draw(shown, namedInk, size), 'first');
}

/** Runs and mounts that stand out, with what leaves them out, and those that are left out, with what puts them back. */
function strangeHtml({ strange, asked }: PageData): string {
  const row = (words: string, what: string, name: string, button: string): string =>
    `<li>${prose(words)} <button type="button" data-${what}="${escapeHtml(name)}" aria-label="${escapeHtml(`${button}: ${name}`)}" disabled>${button}</button></li>`;
  const rows = [
    ...strange.map((one) => row(`${strangeInWords(one)}.`, 'without', nameOfStrange(one), 'leave out')),
    ...(asked.without ?? []).map((name) => row(`Left out: ${name}.`, 'back', name, 'put back')),
  ];
  return rows.length === 0
    ? ''
    : `<ul class="strange" id="strange" aria-label="Strange runs">${rows.join('')}</ul>`;
}

function chartSection(chart: Chart, shown: Shown): string {
  const { id, title } = chart;
  const isOrder = chart === differenceChart;
  return `<section class="figure" id="section-${id}" aria-labelledby="${id}-title"${chart.applies?.(shown) === false ? ' hidden' : ''}>
<h2 id="${id}-title">${title}</h2>
${isOrder ? `<ul class="answers" id="order-answers">${orderAnswers(shown)}</ul>` : ''}
<p id="${id}-about">${prose(chart.about(shown))}</p>
${ownControls(id, shown.answers)}
${figureHtml(chart, shown)}
${isOrder ? `<h3>Loads at which two coolers change places</h3><div id="crossings">${crossingsOf(shown)}</div>` : ''}
${chart === planChart ? (shown.answers.data.plan?.runs ?? '') : ''}
</section>`;
}

/** A chart's place, what is drawn in it already, and what may be done with it. */
function figureHtml(chart: Chart, shown: Shown, drawn = ''): string {
  const { id, title } = chart;
  return `<div class="frame"><div class="chart" id="${id}-chart" role="img" aria-label="${escapeHtml(chart.label(shown))}" data-chart="${id}">${drawn}</div><div class="paper" id="${id}-paper" aria-hidden="true"></div>${chart.loadAt ? `<div class="load-line" id="${id}-line" hidden></div>` : ''}</div>
<div class="under"><details data-table="${id}"><summary>The numbers of this chart<span class="unseen">: ${escapeHtml(title)}</span></summary><div id="${id}-table">${chart === FIRST_CHART ? tableHtml(chart.table(shown), shown.answers.places) : ''}</div></details>
<button type="button" data-publish="${id}" aria-label="${escapeHtml(title)}: save or copy" disabled>Save or copy</button></div>`;
}

/** The choices that a chart has for itself. */
function ownControls(id: string, { data }: Answers): string {
  if (id === 'log') {
    const options = data.logs.map(
      ({ run, cooler, power_W }) =>
        `<option value="${escapeHtml(run)}">${escapeHtml(`${run}: ${cooler}, ${load(Math.round(power_W))}`)}</option>`,
    );
    return `<div class="choice"><span><label for="log-run">Run</label> <select id="log-run">${options.join('')}</select></span></div>`;
  }
  if (id === 'rise') {
    return `<div class="choice"><fieldset><legend>Drawn as</legend>
<label><input type="radio" name="measure" value="rise" checked> rise, K, or °C</label>
<label><input type="radio" name="measure" value="resistance"> rise per watt, K/W</label>
</fieldset></div>`;
  }
  if (id === 'pairs') {
    return '<div class="choice"><label><input type="checkbox" id="all-pairs"> every pair</label></div>';
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

export function evidenceOf({ answers, conditions }: Shown): string {
  return evidence({
    fit: answers.fit(conditions),
    warnings: [...new Set([...answers.bench.warnings, ...answers.posterior(conditions.source).warnings])],
    places: answers.places,
  });
}
