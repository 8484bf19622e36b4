import { counted, plain } from '../answers/text/wording.ts';
import type { Bench } from '../bench/bench.ts';
import { COMPARISON_METHOD } from '../compare/compare.ts';
import { scrolling } from './evidence.ts';
import type { FileHash } from './file-hashes.ts';
import { escapeHtml } from './page/escape.ts';

/** What the basis of all answers is told from. */
export interface BasisFrom {
  bench: Bench;
  hashes: readonly FileHash[];
  version: string;
}

/** What every answer stands on, whatever the source: files, instruments and method. */
export function basis(from: BasisFrom): string {
  return [data(from), instruments(from.bench), method(from)].join('\n');
}

function data({ bench, hashes }: BasisFrom): string {
  const known = new Map(hashes.map((one) => [one.file, one.sha256]));
  const names = [...new Set([...bench.files, ...known.keys()])];
  const rows = names
    .map(
      (name) =>
        `<tr><th scope="row">${escapeHtml(name)}</th><td class="hash">${known.get(name) ?? 'not computed'}</td></tr>`,
    )
    .join('');
  return `<h3>Data</h3>
<p>${counted(bench.runs.length, 'run')} in the bench. A file whose SHA-256 is the one below is the file that was read, to the last bit.</p>
${scrolling('Files that were read', `<table><thead><tr><th scope="col">file</th><th scope="col">SHA-256</th></tr></thead><tbody>${rows}</tbody></table>`)}`;
}

function instruments({ instruments: i, heater }: Bench): string {
  const row = (name: string, value: string): string =>
    `<tr><th scope="row">${name}</th><td>${value}</td></tr>`;
  const temperature = ({ systematic_K, resolution_K }: Bench['instruments']['source_temperature']): string =>
    `${plain(systematic_K)} K shared by the runs of a session, ${plain(resolution_K)} K resolution`;
  const { systematic_dB, background_dBA, distance_mm } = i.sound_level;
  const sound = [
    `${plain(systematic_dB)} dB`,
    ...(background_dBA === undefined ? [] : [`background ${plain(background_dBA)} dBA`]),
    ...(distance_mm === undefined ? [] : [`at ${plain(distance_mm)} mm`]),
  ].join(', ');
  return `<h3>Instruments</h3>
<p>Standard uncertainties as bench.yaml states them.</p>
${scrolling('Instruments', `<table><tbody>${row('source temperature', temperature(i.source_temperature))}${row('room temperature', temperature(i.ambient_temperature))}${row('power', `${plain(i.power.systematic_percent)} %`)}${row('sound level', sound)}${row('leak of the heater', `${plain(heater.leak_W_per_K.value)} ± ${plain(heater.leak_W_per_K.uncertainty)} W/K`)}</tbody></table>`)}`;
}

function method({ version }: BasisFrom): string {
  return `<h3>Method</h3>
<p>Each cooler is fitted with several formulas of its thermal resistance by generalised least squares, in which mounts, samples, sessions, readings and what no formula says have a scatter each, estimated by restricted maximum likelihood over the whole bench; coolers with few runs lean on the others. The formulas are averaged with weights from how well each foretells a load that was left out. Beyond the loads run an air cooler may meet the limit of its heat pipes, which widens the interval upwards.</p>
<p>${escapeHtml(COMPARISON_METHOD)}</p>
<p>Computed by heatladder ${escapeHtml(version)}; the page and the command line run the same code.</p>`;
}
