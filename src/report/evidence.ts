import { conciseUncertainty, interval, roundToUncertainty } from '../answers/text/uncertainty.ts';
import { counted, fromTo, mountsNamed } from '../answers/text/wording.ts';
import type { ScatterComponent } from '../fit/scatter.ts';
import type { Fitted, ModelFit } from '../predict/fit-result.ts';
import { shownModels } from '../predict/fit-result.ts';
import { escapeHtml } from './page/escape.ts';
import { markSvg } from './page/marks.ts';

/** What the evidence is told from. */
export interface EvidenceFrom {
  fit: Fitted;
  warnings: readonly string[];
  places: ReadonlyMap<string, number>;
}

/** What the answers on a source stand on: runs and resistances, models with weights, scatter, warnings. What holds for all is `basis`. */
export function evidence(from: EvidenceFrom): string {
  return [
    resistances(from.fit, from.places),
    models(from.fit, from.places),
    scatter(from.fit),
    warningList(from.warnings),
  ].join('\n');
}

/** A table that scrolls in a region of its own, both named for those who do not see the heading above. */
export const scrolling = (label: string, table: string): string =>
  `<div class="scroll" tabindex="0" role="region" aria-label="${label}">${table.replace('<table', `<table aria-label="${label}"`)}</div>`;

const named = (name: string, places: ReadonlyMap<string, number>): string =>
  `${markSvg(places.get(name) ?? 0)}<span class="name">${escapeHtml(name)}</span>`;

function resistances(fit: Fitted, places: ReadonlyMap<string, number>): string {
  const rows = fit.coolers
    .map(
      (c) =>
        `<tr><th scope="row">${named(c.cooler, places)}</th><td>${c.kind}</td><td class="number">${c.runs}</td><td class="number">${mountsNamed(c)}</td><td class="number">${c.samples}</td><td class="number">${fromTo(c.power_low_W, c.power_high_W)}</td><td class="number">${roundToUncertainty(c.resistance_K_per_W, c.resistance_u_K_per_W)}</td></tr>`,
    )
    .join('');
  return `<h3>Runs and resistances</h3>
<p>${counted(
    fit.coolers.reduce((sum, one) => sum + one.runs, 0),
    'run',
  )} with heat on this source, ${counted(fit.coolers.length, 'cooler')}. Resistance from the source into the air at the greatest load run and full speed, with its standard uncertainty.</p>
${scrolling('Runs and resistances', `<table><thead><tr><th scope="col">cooler</th><th scope="col">kind</th><th scope="col" class="number">runs</th><th scope="col" class="number">mounts</th><th scope="col" class="number">samples</th><th scope="col" class="number">loads run, W</th><th scope="col" class="number">resistance, K/W</th></tr></thead><tbody>${rows}</tbody></table>`)}`;
}

function parameters(model: ModelFit): string {
  return Object.entries(model.parameters)
    .map(([name, p]) => {
      const unit = p.unit === '1' || p.unit === '' ? '' : ` ${p.unit}`;
      return `<span class="parameter">${escapeHtml(name)} ${conciseUncertainty(p.value, p.standard_error)}${escapeHtml(unit)}</span>`;
    })
    .join(', ');
}

function models(fit: Fitted, places: ReadonlyMap<string, number>): string {
  const rows = fit.coolers
    .flatMap((c) =>
      shownModels(c).map((m, i, all) => {
        const head =
          i === 0
            ? `<th scope="rowgroup" rowspan="${all.length}">${named(c.cooler, places)}${notes(c.notes)}</th>`
            : '';
        const fault = m.converged ? '' : ` <em>did not converge: ${escapeHtml(m.reason)}</em>`;
        return `<tr>${head}<td class="number">${Math.round(m.weight * 100)}</td><td>${escapeHtml(m.title)}${fault}${notes(m.warnings)}</td><td class="parameters">${parameters(m)}</td></tr>`;
      }),
    )
    .join('');
  return `<h3>Models and their weights</h3>
<p>Each curve is an average over these models; those under 1 % are left out here. Digits in brackets are the standard error of the last digits.</p>
${scrolling('Models and their weights', `<table class="models"><thead><tr><th scope="col">cooler</th><th scope="col" class="number">weight, %</th><th scope="col">model</th><th scope="col">parameters</th></tr></thead><tbody>${rows}</tbody></table>`)}`;
}

const notes = (list: readonly string[]): string =>
  [...new Set(list)].map((note) => `<span class="note">${escapeHtml(note)}</span>`).join('');

function scatter(fit: Fitted): string {
  const row = (name: string, part: ScatterComponent): string =>
    `<tr><th scope="row">${name}</th><td class="number">${Number.isFinite(part.value) ? Number(part.value.toPrecision(2)) : 'not known'}</td><td class="number">${interval(part.low, part.high)}</td><td>${part.assumed ? 'assumed: too few repeats to tell' : 'from the runs'}</td></tr>`;
  return `<h3>Scatter of the bench</h3>
<p>Standard deviations. The first three are scatters of resistance: what they do to the rise grows with the load.</p>
${scrolling(
  'Scatter of the bench',
  `<table><thead><tr><th scope="col">between</th><th scope="col" class="number">value</th><th scope="col" class="number">95 % interval</th><th scope="col">known from</th></tr></thead><tbody>${row('mounts of a sample, K/W', fit.scatter.mount_K_per_W)}${row('samples of a cooler, K/W', fit.scatter.sample_K_per_W)}${row('sessions, K/W', fit.scatter.session_K_per_W)}${row('readings of a mount, K', fit.scatter.reading_K)}</tbody></table>`,
)}`;
}

function warningList(warnings: readonly string[]): string {
  if (warnings.length === 0) return '';
  return `<h3>Warnings</h3>\n<ul class="warnings">${warnings.map((w) => `<li>${escapeHtml(w)}</li>`).join('')}</ul>`;
}
