import { answerAt } from '../answers/text/answer.ts';
import { Answers } from './answers.ts';
import { ANY_BENCH, PUBLISH } from './any-bench.ts';
import { benchBody, benchHeader } from './body.ts';
import { escapeHtml, jsonBlock } from './page/escape.ts';
import { DAY, NIGHT } from './page/marks.ts';
import type { PageData } from './page-data.ts';
import { sha256Base64 } from './sha256.ts';
import { FIRST_VIEW, shownAt } from './shown.ts';
import { firstState } from './state.ts';

/** The fixed parts of the page that the build makes. */
export interface PageParts {
  scriptGzipBase64: string;
  /** SHA-256 of the unpacked script, base64. */
  scriptSha256: string;
  style: string;
  chartLibraryGzipBase64: string;
  /** SHA-256 of the unpacked chart library, base64. */
  chartLibrarySha256: string;
  /** What reads and fits another bench, as a worker. */
  engineGzipBase64: string;
}

/** Unpacks the page's script from its block and runs it. */
const STARTER = `const packed = document.getElementById('script-packed');
const bytes = Uint8Array.from(atob(packed.textContent), (c) => c.charCodeAt(0));
packed.remove();
new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'))).text().then((text) => {
  const script = document.createElement('script');
  script.textContent = text;
  document.head.append(script);
});`;

/** The policy: nothing is fetched, and only the page's own scripts run, each known by its hash. */
function policy(parts: PageParts): string {
  const hashes = [sha256Base64(STARTER), parts.scriptSha256, parts.chartLibrarySha256]
    .map((hash) => `'sha256-${hash}'`)
    .join(' ');
  return `default-src 'none'; script-src ${hashes}; worker-src blob:; img-src data: blob:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'`;
}

function hues(): string {
  const list = (colours: readonly string[]): string => colours.map((c, i) => `--hue-${i}:${c}`).join(';');
  return `:root{${list(DAY)}}@media screen and (prefers-color-scheme:dark){:root{${list(NIGHT)}}}`;
}

/**
 * The page as HTML: it says everything without its script, which then brings its controls to life and draws its charts.
 *
 * @returns one self-contained document
 */
export function pageDocument(data: PageData, parts: PageParts): string {
  const answers = new Answers(data);
  const shown = shownAt(answers, firstState(answers), FIRST_VIEW);
  const [sentence] = answerAt(shown.compare.loads[0], shown.compare);
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy(parts)}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="description" content="${escapeHtml(sentence)}">
<title>${escapeHtml(data.bench.name)}: coolers compared</title>
<style>${hues()}${parts.style}</style>
</head>
<body>
<a class="skip" href="#answer">To the answer</a>
<div id="page">
<header id="header">
${benchHeader(shown)}
</header>
<main>
<div id="bench">
${benchBody(shown)}
</div>
${ANY_BENCH}
</main>
${PUBLISH}
</div>
<script type="application/json" id="page-data">${jsonBlock(data)}</script>
<script type="text/plain" id="script-packed">${parts.scriptGzipBase64}</script>
<script>${STARTER}</script>
<script type="text/plain" id="plotly-packed">${parts.chartLibraryGzipBase64}</script>
<script type="text/plain" id="engine-packed">${parts.engineGzipBase64}</script>
</body>
</html>
`;
}
