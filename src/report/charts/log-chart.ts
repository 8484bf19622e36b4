import { load, plain } from '../../answers/text/wording.ts';
import type { LoggedRun } from '../logged-runs.ts';
import { symbol } from '../page/marks.ts';
import { type Chart, type Ink, type Shown, thin, unmarked } from './chart.ts';
import { numbers } from './chart-table.ts';
import { type Layout, type Shape, scatter } from './figure.ts';
import { edgeToEdge, layoutOf, remark } from './layout.ts';

const MINUTE = 60;

/** The log that is looked at: the one chosen, or the first. */
const logOf = ({ answers, view }: Shown): LoggedRun =>
  answers.data.logs.find((one) => one.run === view.log) ?? answers.data.logs[0];

/** The fitted rise at a time since the load step, K. */
const fittedRise = ({ asymptote_K, amplitudes_K, time_constants_s }: LoggedRun, t_s: number): number =>
  amplitudes_K.reduce((rise, a, k) => rise - a * Math.exp(-t_s / time_constants_s[k]), asymptote_K);

/** One run's log since its load step, with the response fitted to it and where that is heading. */
export const logChart: Chart = {
  id: 'log',
  title: 'A log and its response',
  savedTitle: (shown) =>
    `Log of run ${logOf(shown).run}: ${logOf(shown).cooler} at ${load(Math.round(logOf(shown).power_W))}`,
  savedUnder: () => 'rise above the air that the source saw, since the load step',
  follows: 'source',
  about: (shown) => {
    const { asymptote_K, u_K, time_constants_s, early_stop_s, usable } = logOf(shown);
    const taus = time_constants_s.map((tau) => plain(Math.round(tau))).join(', ');
    const early =
      early_stop_s === null
        ? ''
        : ` The upright line is when the end was known well enough: after ${plain(Math.round(early_stop_s))} s.`;
    return `Marks are the log in blocks, the line is the response fitted to it: exponentials with time constants of ${taus} s. It is heading for ${asymptote_K.toFixed(2)} K (95 %: ± ${(1.96 * u_K).toFixed(2)} K), the level band.${usable ? '' : ' This run is not usable as it stands.'}${early}`;
  },
  label: (shown) => `Rise against time of run ${logOf(shown).run}, with the fitted response.`,
  has: ({ data }) => data.logs.length > 0,
  height: (_, width) => Math.round(Math.min(420, Math.max(300, width * 0.45))),
  table: (shown) => {
    const log = logOf(shown);
    return {
      caption: `Log of run ${log.run}`,
      columns: [numbers('time', 's', 1), numbers('rise', 'K', 2), numbers('fitted', 'K', 2)],
      rows: log.time_s.map((t, k) => [t, log.rise_K[k], fittedRise(log, t)]),
    };
  },
  draw: (shown, ink, size) => {
    const log = logOf(shown);
    const place = shown.answers.places.get(log.cooler) ?? 0;
    const end_s = log.time_s[log.time_s.length - 1];
    // Close at first, where the response bends most.
    const fine = Array.from({ length: 120 }, (_, k) => end_s * (k / 119) ** 2);
    const fitted = fine.map((t) => fittedRise(log, t));
    const half = 1.96 * log.u_K;
    const all = [...log.rise_K, ...fitted, log.asymptote_K + half, log.asymptote_K - half];
    const [low, high] = [Math.min(0, ...all), Math.max(...all)];
    const air = (high - low) * 0.04;
    const minutes = end_s / MINUTE;
    return {
      data: [
        scatter({
          mode: 'markers',
          x: log.time_s.map((t) => t / MINUTE),
          y: log.rise_K,
          marker: { symbol: symbol(place), size: 6, color: thin(ink.hue(place), 0.7) },
          hovertemplate: '%{y:.2f} K after %{x:.1f} min<extra></extra>',
        }),
        scatter({
          mode: 'lines',
          x: fine.map((t) => t / MINUTE),
          y: fitted,
          line: { color: ink.text, width: 1.75, simplify: false },
          hoverinfo: 'skip',
        }),
      ],
      layout: {
        ...layoutOf(
          ink,
          size,
          { l: 58, r: 16, t: 14, b: 46 },
          { title: 'time since the load step, min', range: [0, minutes], bare: true },
          { title: 'rise above the air, K', range: [low - air, high + air] },
        ),
        ...ahead(log, ink),
      },
    };
  },
};

/** Where the response is heading, and when that was known well enough. */
function ahead(
  { asymptote_K, u_K, early_stop_s }: LoggedRun,
  ink: Ink,
): Pick<Layout, 'shapes' | 'annotations'> {
  const half = 1.96 * u_K;
  const shapes: Shape[] = [
    {
      type: 'rect',
      layer: 'below',
      xref: 'paper',
      yref: 'y',
      x0: 0,
      x1: 1,
      y0: asymptote_K - half,
      y1: asymptote_K + half,
      fillcolor: thin(ink.quiet, 0.25),
      line: { width: 0 },
    },
    edgeToEdge({ y: asymptote_K }, { color: ink.quiet, width: 1, dash: '5px,4px' }),
  ];
  const annotations = [
    remark(unmarked(`heading for ${asymptote_K.toFixed(2)} K`), ink, {
      xref: 'paper',
      x: 1,
      y: asymptote_K - half,
      xanchor: 'right',
      yanchor: 'top',
      xshift: -4,
      yshift: -7,
    }),
  ];
  if (early_stop_s === null) return { shapes, annotations };
  const x = early_stop_s / MINUTE;
  shapes.push(edgeToEdge({ x }, { color: ink.text, width: 1, dash: '2px,3px' }));
  annotations.push(
    remark('known well enough', ink, {
      x,
      yref: 'paper',
      y: 0,
      xanchor: 'left',
      yanchor: 'bottom',
      xshift: 4,
    }),
  );
  return { shapes, annotations };
}
