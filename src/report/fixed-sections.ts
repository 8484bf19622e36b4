import type { Bench, FlatnessMap } from '../bench/bench.ts';
import { flatness } from '../contact/flatness.ts';
import { beyondPlane, leastSquaresPlane } from '../contact/plane.ts';
import { reductionOf } from '../reduction/reduction-of.ts';
import { roundToUncertainty } from '../tables/uncertainty.ts';
import { plain } from '../tables/wording.ts';
import { escapeHtml } from './page/escape.ts';

/** More rows than this are left to the command line. */
const MOST_ROWS = 80;

/** What a bench shows that no control moves: its logs and its contact surfaces. Empty text where it has none. */
export function fixedSections(bench: Bench): string {
  return [logs(bench), contactSurfaces(bench)].filter((part) => part !== '').join('\n');
}

function section(id: string, title: string, body: string): string {
  return `<section aria-labelledby="${id}-title">\n<h2 id="${id}-title">${title}</h2>\n${body}\n</section>`;
}

function table(label: string, heads: readonly string[], rows: readonly (readonly string[])[]): string {
  const head = heads.map((text) => `<th scope="col">${text}</th>`).join('');
  const body = rows
    .map(
      ([first, ...rest]) =>
        `<tr><th scope="row">${first}</th>${rest.map((text) => `<td>${text}</td>`).join('')}</tr>`,
    )
    .join('');
  return `<div class="scroll" tabindex="0" role="region" aria-label="${label}"><table><thead><tr>${head}</tr></thead><tbody>${body}</tbody></table></div>`;
}

/** Logs with their time constants, and how early each could have ended. */
function logs(bench: Bench): string {
  if (bench.logs.length === 0) return '';
  const { runs, hours_saved, hours_logged } = reductionOf(bench);
  const rows = runs
    .slice(0, MOST_ROWS)
    .map((run) => [
      escapeHtml(run.run),
      escapeHtml(run.cooler),
      `${plain(Math.round(run.power_W))}`,
      run.rise_K === null || run.u_K === null ? 'none' : roundToUncertainty(run.rise_K, run.u_K),
      run.usable ? (run.steady ? 'yes' : 'not steady, but known well enough') : 'no',
      run.time_constants_s.map((seconds) => plain(Math.round(seconds))).join(', '),
      run.early_stop_s === null ? 'never' : plain(Math.round(run.early_stop_s)),
      escapeHtml([...run.reasons, ...run.notes].join('; ')),
    ]);
  const rest =
    runs.length > MOST_ROWS
      ? `<p>${runs.length - MOST_ROWS} more are in the answer of the command reduce.</p>`
      : '';
  return section(
    'logs',
    'Logs and time constants',
    `<p>Each run’s rise is where its log is heading. Had every run ended when that was known, ${plain(Number(hours_saved.toFixed(1)))} of ${plain(Number(hours_logged.toFixed(1)))} hours would have been saved.</p>
${table('Table of logs', ['run', 'cooler', 'load, W', 'rise, K', 'usable', 'time constants, s', 'known after, s', 'remarks'], rows)}${rest}`,
  );
}

/** Maps of the bases beside what their unevenness costs. */
function contactSurfaces(bench: Bench): string {
  if (bench.flatness.length === 0) return '';
  const { surfaces } = flatness(bench);
  const span_um = Math.max(
    ...bench.flatness.map(({ points }) => Math.max(...heights(points)) - Math.min(...heights(points))),
  );
  const figures = bench.flatness.map(
    (map) =>
      `<figure>${mapSvg(map, span_um)}<figcaption>${escapeHtml(`${map.cooler}, sample ${map.sample}`)}</figcaption></figure>`,
  );
  const rows = surfaces.map((one) => [
    escapeHtml(one.cooler),
    escapeHtml(one.sample),
    plain(Number(one.flatness_um.toFixed(1))),
    one.shape,
    plain(Number(one.mean_gap_um.toFixed(1))),
    `${one.rise_K.toFixed(1)} (${one.rise_low_K.toFixed(1)} to ${one.rise_high_K.toFixed(1)})`,
  ]);
  return section(
    'contact',
    'Contact surfaces',
    `<p>Depth of each base about its own plane: the darker, the higher, on one scale for all. The gap is the most that it can be, with surfaces resting on their high points.</p>
<div class="maps">${figures.join('')}</div>
${table('Table of contact surfaces', ['cooler', 'sample', 'flatness, µm', 'shape', 'mean gap, µm', 'cost at 200 W, K'], rows)}`,
  );
}

/** Height of each point above the least-squares plane, µm. */
function heights(points: FlatnessMap['points']): number[] {
  return beyondPlane(points, leastSquaresPlane(points)).map((depth) => -depth);
}

/** Measured points as squares, from the lowest (light) to the highest (dark); one scale for all maps of a bench. */
function mapSvg({ cooler, sample, points }: FlatnessMap, span_um: number): string {
  const high = heights(points);
  const [least, most] = [Math.min(...high), Math.max(...high)];
  const xs = points.map((point) => point.x_mm);
  const ys = points.map((point) => point.y_mm);
  const [left, top] = [Math.min(...xs), Math.min(...ys)];
  const width = Math.max(Math.max(...xs) - left, 1);
  const height = Math.max(Math.max(...ys) - top, 1);
  const side = Math.sqrt((width * height) / Math.max(points.length - 1, 1));
  const squares = points
    .map((point, i) => {
      const share = most > least ? (high[i] - least) / span_um : 0.5;
      return `<rect x="${(point.x_mm - left).toFixed(2)}" y="${(point.y_mm - top).toFixed(2)}" width="${side.toFixed(2)}" height="${side.toFixed(2)}" fill="currentColor" fill-opacity="${(0.06 + 0.9 * share).toFixed(3)}"/>`;
    })
    .join('');
  const label = escapeHtml(
    `Map of ${cooler}, sample ${sample}: ${(most - least).toFixed(0)} µm from the lowest to the highest point`,
  );
  return `<svg viewBox="0 0 ${(width + side).toFixed(2)} ${(height + side).toFixed(2)}" width="180" role="img" aria-label="${label}">${squares}</svg>`;
}
