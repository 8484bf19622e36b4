import { percent } from '../answers/text/wording.ts';
import { answerPieces, crossingsOf, orderAnswers } from './answer-rows.ts';
import type { Answers } from './answers.ts';
import { CHARTS, isShown } from './charts/all-charts.ts';
import { barsChart } from './charts/bars-chart.ts';
import type { Chart, Shown } from './charts/chart.ts';
import { tableHtml } from './charts/chart-table.ts';
import { differenceChart } from './charts/difference-chart.ts';
import { planChart } from './charts/plan-chart.ts';
import { svgOf } from './charts/svg.ts';
import { controlsHtml, runOptions } from './controls.ts';
import { escapeHtml, prose, unparted } from './page/escape.ts';
import { namedInk } from './page/ink.ts';
import { markSprite } from './page/marks.ts';

/**
 * All of the page that is of its bench: it says everything at the first state of the controls, so that it reads and prints without
 * the page's script, which then brings the controls to life. Places of charts that this bench has nothing for are hidden: another
 * bench may have it.
 */
export function benchBody(shown: Shown): string {
  const { data, places } = shown.answers;
  return `${answerSection(shown)}
${CHARTS.filter((chart) => chart !== FIRST_CHART)
  .map((chart) => chartSection(chart, shown))
  .join('\n')}
<div id="sections">${data.sections}</div>
<section aria-labelledby="evidence-title">
<h2 id="evidence-title">The evidence</h2>
<div id="evidence">${data.evidence[shown.state.source]}</div>
<div id="basis">${data.basis}</div>
</section>
<div id="marks">${markSprite(places.size)}</div>`;
}

/** What stands above it: whose bench it is, and at which condition. */
export const benchHeader = (shown: Shown): string =>
  `<p class="kicker" id="kicker">${escapeHtml(shown.answers.bench.name)}</p>
<p class="conditions" id="conditions">${answerPieces(shown).html.conditions}</p>`;

function answerSection(shown: Shown): string {
  const { answers, state, compare } = shown;
  const { html, starred } = answerPieces(shown);
  return `<section id="answer" aria-labelledby="headline">
<div id="strange-runs">${answers.data.strange}</div>
<h1 id="headline">${html.headline}</h1>
<p id="beneath" class="beneath">${html.beneath}</p>
${controlsHtml(state, answers)}
<p class="fault" id="fault" role="alert"></p>
<div class="figure" id="section-${FIRST_CHART.id}">
<h2 id="${FIRST_CHART.id}-title" class="unseen">${FIRST_CHART.title}</h2>
${figureHtml(FIRST_CHART, shown, drawnFirst(shown))}
<p class="quiet" id="${FIRST_CHART.id}-about">${prose(FIRST_CHART.about(shown))}</p>
</div>
<table class="order">
<caption id="order-caption">${html['order-caption']}</caption>
<thead><tr><th scope="col">cooler</th><th scope="col" class="number">rise,&nbsp;K</th><th scope="col" class="drawing"><span class="unseen">interval drawn</span><span id="order-scale">${html['order-scale']}</span></th><th scope="col" class="number wide"><span id="order-level">${unparted(percent(compare.level))}</span>, K</th><th scope="col" class="number wide">source at,&nbsp;°C</th><th scope="col">letters</th><th scope="col" class="number wide">chance of being coolest, %</th></tr></thead>
<tbody id="order-rows">${html['order-rows']}</tbody>
</table>
<p class="foot${starred ? '' : ' blank'}" id="order-foot">* beyond the loads, speeds or source run on this cooler: an extrapolation</p>
<details id="remarks"${html['remark-list'] === '' ? ' hidden' : ''}><summary>Remarks on this condition</summary><ul class="answers" id="remark-list">${html['remark-list']}</ul></details>
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

function chartSection(chart: Chart, shown: Shown): string {
  const { id, title } = chart;
  const { answers } = shown;
  const has = chart.has(answers);
  return `<section class="figure" id="section-${id}" aria-labelledby="${id}-title"${isShown(chart, shown) ? '' : ' hidden'}>
<h2 id="${id}-title">${title}</h2>
${chart === differenceChart ? `<ul class="answers" id="order-answers">${has ? orderAnswers(shown) : ''}</ul>` : ''}
<p id="${id}-about">${has ? prose(chart.about(shown)) : ''}</p>
${ownControls(id, answers)}
${figureHtml(chart, shown)}
${chart === differenceChart ? `<h3>Loads at which two coolers change places</h3><div id="crossings">${has ? crossingsOf(shown) : ''}</div>` : ''}
${chart === planChart ? `<div id="plan-runs">${answers.data.plan?.runs ?? ''}</div>` : ''}
</section>`;
}

/** A chart's place, what is drawn in it already, and what may be done with it. */
function figureHtml(chart: Chart, shown: Shown, drawn = ''): string {
  const { id, title } = chart;
  return `<div class="frame"><div class="chart" id="${id}-chart" role="img" aria-label="${chart.has(shown.answers) ? escapeHtml(chart.label(shown)) : ''}" data-chart="${id}">${drawn}</div><div class="paper" id="${id}-paper" aria-hidden="true"></div>${chart.loadAt ? `<div class="load-line" id="${id}-line" hidden></div>` : ''}</div>
<div class="under"><details data-table="${id}"><summary>The numbers of this chart<span class="unseen">: ${escapeHtml(title)}</span></summary><div id="${id}-table">${chart === FIRST_CHART ? tableHtml(chart.table(shown), shown.answers.places) : ''}</div></details>
<button type="button" data-publish="${id}" aria-label="${escapeHtml(title)}: save or copy" disabled>Save or copy</button></div>`;
}

/** The choices that a chart has for itself. */
function ownControls(id: string, { data }: Answers): string {
  const runs = { log: data.logs, parting: data.partings }[id];
  if (runs) {
    return `<div class="choice"><span><label for="${id}-run">Run</label> <select id="${id}-run">${runOptions(runs)}</select></span></div>`;
  }
  if (id === 'rise') {
    return `<div class="choice"><fieldset><legend>Drawn as</legend>
<label><input type="radio" name="measure" value="rise" checked> rise, K, or °C</label>
<label><input type="radio" name="measure" value="resistance"> rise per watt, K/W</label>
</fieldset></div>`;
  }
  if (id === 'plan') {
    return `<form class="choice" id="plan-goal"><span><label for="plan-hours">Hours on the bench</label> <input id="plan-hours" type="number" min="1" max="200" step="0.5" value="${data.plan?.asked_h ?? 8}" required disabled></span> <button type="submit" disabled>Plan for the load, fans and source shown above</button></form>`;
  }
  if (id === 'pairs') {
    return '<div class="choice"><label><input type="checkbox" id="all-pairs"> every pair</label></div>';
  }
  return '';
}
