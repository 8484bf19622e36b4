import { SAFETY_LINES } from './safety.ts';

const EXPORTS = [
  ['svg', 'SVG', 'SVG'],
  ['png-1920', 'PNG 1920', 'PNG, 1920 by 1080'],
  ['png-3840', 'PNG 3840', 'PNG, 3840 by 2160'],
  ['csv', 'CSV', 'CSV, the numbers with every digit'],
] as const;

const COPIES = [
  ['figure', 'figure with caption'],
  ['html', 'table as HTML'],
  ['markdown', 'table as Markdown'],
] as const;

/** What the page says whatever bench it shows: how another is opened, and what has to be seen to before any heats. */
export const ANY_BENCH = `<section aria-labelledby="another-title" class="another" id="another">
<h2 id="another-title">Another bench</h2>
<p>A bench folder (bench.yaml with runs.csv or logs.csv), or one table of runs, is read and fitted here, inside this page. Nothing is uploaded, and no file is changed. It may be dropped anywhere on the page, and a table copied from a spreadsheet may be pasted below.</p>
<p><input class="unseen" type="file" id="folder" webkitdirectory multiple disabled><label class="button" for="folder">Open a bench folder</label>
<input class="unseen" type="file" id="table" accept=".csv,.tsv,.txt,text/*" disabled><label class="button" for="table">Open a table</label></p>
<p><textarea id="pasted" rows="2" placeholder="or paste a table" aria-label="Paste a table of runs" disabled></textarea></p>
<div id="given"><p><progress id="progress" max="1" value="0" aria-label="Progress of the fit" hidden></progress> <span id="progress-words" role="status"></span></p>
<p class="fault" id="given-fault" role="alert"></p></div>
<pre id="read-as" hidden></pre>
</section>
<section aria-labelledby="safety-title" class="safety">
<h2 id="safety-title">Before the bench heats</h2>
<ul>${SAFETY_LINES.map((line) => `<li>${line}</li>`).join('')}</ul>
</section>`;

/** Where a chart is made ready for an article. */
export const PUBLISH = `<dialog id="publish" aria-labelledby="publish-title">
<div class="bar"><h2 id="publish-title">For an article</h2><button type="button" id="publish-close">Close</button></div>
<img id="preview" alt="">
<p class="fields"><label>Title <input id="own-title" type="text" maxlength="200"></label>
<label>Credit <input id="own-credit" type="text" maxlength="200"></label></p>
<fieldset class="looks"><legend>Drawn</legend><label><input type="radio" name="look" value="light" checked> light</label><label><input type="radio" name="look" value="dark"> dark</label></fieldset>
<div class="exports" role="group" aria-label="Save as">Save ${EXPORTS.map(([format, words, spoken]) => `<button type="button" data-format="${format}" aria-label="Save as ${spoken}">${words}</button>`).join('')}</div>
<div class="exports" role="group" aria-label="Copy">Copy ${COPIES.map(([what, words]) => `<button type="button" data-copy="${what}">${words}</button>`).join('')}</div>
<p id="publish-told" role="status"></p>
</dialog>`;
