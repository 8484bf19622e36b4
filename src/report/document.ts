import { answer, answerAt } from '../tables/answer.ts';
import { load, percent } from '../tables/wording.ts';
import { evidence } from './evidence.ts';
import { crossingsTable } from './page/crossings.ts';
import { escapeHtml, jsonBlock, prose, unparted } from './page/escape.ts';
import { DAY, markSvg, NIGHT } from './page/marks.ts';
import { orderCaption, orderRows, orderScale, pairRows } from './page/order-table.ts';
import { type PageData, unpackCompare } from './page/page-data.ts';
import { placeStrips } from './page/place-strips.ts';
import { riseTable } from './page/rise-table.ts';
import { SAFETY_LINES } from './safety.ts';
import { sha256Base64 } from './sha256.ts';

/** The fixed parts of the page that the build makes. */
export interface PageParts {
  script: string;
  style: string;
  chartLibraryGzipBase64: string;
  /** SHA-256 of the unpacked chart library, base64. */
  chartLibrarySha256: string;
}

/** The policy: nothing is fetched, and only the page's own scripts run, each known by its hash. */
function policy(script: string, parts: PageParts): string {
  const hashes = [sha256Base64(script), parts.chartLibrarySha256].map((hash) => `'sha256-${hash}'`).join(' ');
  return `default-src 'none'; script-src ${hashes}; worker-src blob:; img-src data: blob:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'`;
}

function hues(): string {
  const list = (colours: readonly string[]): string => colours.map((c, i) => `--hue-${i}:${c}`).join(';');
  return `:root{${list(DAY)}}@media screen and (prefers-color-scheme:dark){:root{${list(NIGHT)}}}`;
}

/**
 * The page as HTML: it says everything without its script, which then makes the load a control and draws the chart.
 *
 * @returns one self-contained document
 */
export function pageDocument(data: PageData, parts: PageParts): string {
  const compare = unpackCompare(data.compare);
  const places = new Map(data.coolers.map((c, i) => [c.cooler, i]));
  const at = compare.loads[data.start];
  const script = parts.script.replace(/<\/(script)/gi, '<\\/$1').replace(/<!--/g, '<\\!--');
  const bench = escapeHtml(data.bench);
  const level = unparted(percent(data.level));
  const [headline, ...rest] = at === undefined ? answer(compare) : answerAt(at, compare);
  const words = at === undefined ? '' : load(at.power_W);
  const otherRuns = data.coolers.reduce((sum, c) => sum + c.otherRuns, 0);
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy(script, parts)}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>${bench}: coolers compared</title>
<style>${hues()}${parts.style}</style>
</head>
<body>
<a class="skip" href="#answer">To the answer</a>
<header>
<p class="kicker">${bench}</p>
<p class="conditions">${escapeHtml(data.source)} as the source, ${escapeHtml(data.condition)}, room at ${data.ambient_C}\u00a0°C, intervals at ${level}</p>
</header>
<main>
<section id="answer" aria-labelledby="headline">
<h1 id="headline">${prose(headline ?? '')}</h1>
<p id="beneath" class="beneath" aria-live="polite">${prose(rest.join(' '))}</p>
<div class="control">
<label for="load">Load</label>
<input id="load" type="range" min="0" max="${Math.max(0, compare.loads.length - 1)}" step="1" value="${data.start}" aria-valuetext="${words}" disabled>
<output id="load-shown" for="load">${words}</output>
</div>
<table class="order">
<caption id="order-caption">${at === undefined ? '' : prose(orderCaption(at, data.level))}</caption>
<thead><tr><th scope="col">cooler</th><th scope="col" class="number">rise, K</th><th scope="col" class="drawing"><span class="unseen">interval drawn</span><span id="order-scale">${at === undefined ? '' : orderScale(at)}</span></th><th scope="col" class="number wide">${level}, K</th><th scope="col">letters</th><th scope="col" class="number wide">chance of the least rise, %</th></tr></thead>
<tbody id="order-rows">${at === undefined ? '' : orderRows(at, places)}</tbody>
</table>
<p class="foot">* beyond the loads run on this cooler: an extrapolation</p>
</section>

<section aria-labelledby="rise-title">
<h2 id="rise-title">Rise against load</h2>
<p>Full lines run over the loads tested on each cooler, dashes beyond them; bands are ${level} intervals of the true mean. Marks are the runs as read, an offset of the sensor included, which the curves leave out${otherRuns > 0 ? `; ${otherRuns} runs at other speeds or sources are fitted too but not drawn` : ''}.</p>
<div class="choice" id="choice">
<fieldset><legend>Drawn as</legend>
<label><input type="radio" name="measure" value="rise" checked> rise, K</label>
<label><input type="radio" name="measure" value="resistance"> rise per watt, K/W</label>
</fieldset>
<fieldset id="drawn"><legend>Coolers drawn</legend>
${data.coolers.map((c, i) => `<label><input type="checkbox" value="${i}" checked> ${markSvg(i)}<span class="name">${escapeHtml(c.cooler)}</span></label>`).join('\n')}
</fieldset>
</div>
<div id="rise-chart" class="chart" role="img" aria-label="Rise above ambient against load for ${data.coolers.length} coolers, with bands and runs. The table below holds the numbers."></div>
<details><summary>The numbers of this chart</summary>
${riseTable(data.coolers)}
</details>
</section>

<section aria-labelledby="change-title">
<h2 id="change-title">Where the order changes</h2>
<ul class="answers">${answer(compare)
    .map((sentence) => `<li>${prose(sentence)}</li>`)
    .join('')}</ul>
<h3>Places each cooler may hold</h3>
<p>Each strip runs from the least to the greatest load; its top edge is the first place, its bottom edge the last. A thin bar is a place the test is sure of; a tall one is a tie. Paler parts lie beyond the loads run.</p>
${placeStrips(compare, places)}
<h3>Loads at which two coolers change places</h3>
${crossingsTable(compare, places)}
</section>

<section aria-labelledby="pairs-title">
<h2 id="pairs-title">Differences between coolers</h2>
<p>The true mean of the first less that of the second. The intervals of all pairs hold together at ${level}, so any that stays clear of nought is told apart.</p>
<details id="pairs"><summary>All pairs at <span class="load-here">${words}</span></summary>
<div class="scroll" tabindex="0" role="region" aria-label="Every pair at the chosen load"><table><thead><tr><th scope="col">cooler</th><th scope="col">less</th><th scope="col" class="number">difference, K</th><th scope="col" class="drawing"><span class="unseen">interval drawn</span></th><th scope="col" class="number wide">${level}, K</th><th scope="col">verdict</th></tr></thead><tbody id="pair-rows">${at === undefined ? '' : pairRows(compare, data.start, places)}</tbody></table></div>
</details>
</section>

<section aria-labelledby="evidence-title">
<h2 id="evidence-title">The evidence</h2>
${evidence(data.fit, data.warnings, places)}
</section>

<section aria-labelledby="safety-title" class="safety">
<h2 id="safety-title">Before the bench heats</h2>
<ul>${SAFETY_LINES.map((line) => `<li>${line}</li>`).join('')}</ul>
</section>
</main>
<script type="application/json" id="page-data">${jsonBlock(data)}</script>
<script type="text/plain" id="plotly-packed">${parts.chartLibraryGzipBase64}</script>
<script>${script}</script>
</body>
</html>
`;
}
