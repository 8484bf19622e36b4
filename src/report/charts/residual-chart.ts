import { counted } from '../../answers/text/wording.ts';
import { largest } from '../../numerics/extremes.ts';
import { symbol } from '../page/marks.ts';
import { besidePoints, type Chart, MOST_NAMED, type Shown, shortened, thin, unmarked } from './chart.ts';
import { coolers, numbers, texts } from './chart-table.ts';
import { colourOf } from './emphasis.ts';
import { scatter } from './figure.ts';
import { bandShape, edgeToEdge, layoutOf, overCorner } from './layout.ts';

/** Standard normal 97.5 % quantile, for the band of the bench's own scatter. */
const TWO_SIDED_95 = 1.959964;

/** Every run less its cooler's mean curve, against load, over the scatter that the bench leads one to expect. */
export const residualChart: Chart = {
  id: 'residuals',
  title: 'Residuals of the runs',
  savedTitle: () => 'Runs less the curves of their coolers',
  savedUnder: ({ state }) =>
    `every run with ${state.source} as the source, at its own load and fan speed, less the mean curve of its cooler`,
  follows: 'source',
  about: () =>
    'Each mark is a run less its cooler’s mean curve at the run’s own load and speed, and less what its session does to every reading where several sessions tell. The band is where 95 % of runs on fresh mounts of fresh samples should lie, from the scatter of this bench; runs outside it are named. Marks of one load stand side by side in the order of the bench, each in its cooler’s shape and colour.',
  label: ({ answers, conditions }) =>
    `Residuals of ${counted(answers.residuals(conditions).length, 'run')} against load, ${strange(answers.residuals(conditions), answers, conditions).length} of them outside the expected scatter.`,
  has: () => true,
  height: (_, width) => Math.round(Math.min(420, Math.max(300, width * 0.45))),
  table: ({ answers, conditions }) => ({
    caption: 'Runs less the curves of their coolers',
    columns: [
      coolers('cooler'),
      texts('run'),
      numbers('power', 'W'),
      numbers('fan', 'rpm', 0),
      numbers('measured rise', 'K', 2),
      numbers('residual', 'K', 2),
      numbers('expected within', 'K', 2),
    ],
    rows: answers
      .residuals(conditions)
      .map((r) => [
        r.cooler,
        r.run,
        r.power_W,
        r.fan_rpm,
        r.rise_K,
        r.residual_K,
        TWO_SIDED_95 * answers.freshScatter(conditions, r.power_W),
      ]),
  }),
  draw: (shown, ink, size) => {
    const { answers, conditions } = shown;
    const all = answers.residuals(conditions);
    const colour = colourOf(shown, ink);
    const most = largest(all.map((r) => r.power_W)) * 1.08;
    const field = answers.places.size;
    const spread = most * 0.045;
    const shifted = (power_W: number, place: number): number =>
      power_W + (field > 1 ? (place / (field - 1) - 0.5) * spread : 0);
    const grid = Array.from({ length: 25 }, (_, k) => (most * k) / 24);
    const edge = grid.map((P) => TWO_SIDED_95 * answers.freshScatter(conditions, P));
    const outside = strange(all, answers, conditions);
    const furthest = Math.max(...all.map((r) => Math.abs(r.residual_K)), ...edge) * 1.12;
    const coolers = [...new Set(all.map((r) => r.cooler))];
    // A picture that stands without the page says itself which mark is whose.
    const keyed = size.alone === true && coolers.length <= MOST_NAMED;
    const margin = { l: 64, r: 14, t: 26, b: keyed ? 92 : 46 };
    return {
      data: [
        ...coolers.map((cooler) => {
          const own = all.filter((r) => r.cooler === cooler);
          const place = own[0].place;
          return scatter({
            mode: 'markers',
            name: unmarked(cooler),
            x: own.map((r) => shifted(r.power_W, place)),
            y: own.map((r) => r.residual_K),
            text: own.map((r) => `run ${unmarked(r.run)}, ${r.power_W} W, ${r.fan_rpm} rpm`),
            marker: { symbol: symbol(place), size: 7.5, color: colour(cooler), opacity: 0.9 },
            hovertemplate: '%{y:.2f} K, %{text}<extra>%{fullData.name}</extra>',
            customdata: own.map(() => cooler),
          });
        }),
        ...besidePoints(
          outside.slice(0, 8).map((r) => ({
            text: shortened(`${r.cooler}, run ${r.run}`, 34),
            x: shifted(r.power_W, r.place),
            y: r.residual_K,
            colour: ink.text,
          })),
          { x: [0, most], y: [-furthest, furthest] },
          { width: size.width - margin.l - margin.r, height: size.height - margin.t - margin.b },
          10,
        ),
      ],
      layout: {
        ...layoutOf(
          ink,
          size,
          margin,
          { title: 'load, W', range: [0, most], bare: true },
          { title: 'run less curve, K', range: [-furthest, furthest] },
        ),
        ...(keyed && {
          showlegend: true,
          legend: { orientation: 'h', x: 0, xanchor: 'left', yref: 'container', y: 0.005, yanchor: 'bottom' },
        }),
        shapes: [
          ...bandShape([{ x: grid, high: edge, low: edge.map((e) => -e) }], thin(ink.quiet, 0.12)),
          edgeToEdge({ y: 0 }, { color: ink.text, width: 1 }),
        ],
        annotations: [overCorner('band: expected scatter, 95 %', ink)],
      },
    };
  },
};

type Residuals = ReturnType<Shown['answers']['residuals']>;

/** Runs outside the scatter that is expected of 95 % of them, the furthest first. */
function strange(all: Residuals, answers: Shown['answers'], conditions: Shown['conditions']): Residuals {
  const far = (r: Residuals[number]): number =>
    Math.abs(r.residual_K) / answers.freshScatter(conditions, r.power_W);
  return all.filter((r) => far(r) > TWO_SIDED_95).sort((a, b) => far(b) - far(a));
}
