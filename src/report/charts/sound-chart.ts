import { load, percent, plain } from '../../answers/text/wording.ts';
import type { SoundCurve } from '../answers.ts';
import { symbol } from '../page/marks.ts';
import {
  besidePoints,
  type Chart,
  type Ink,
  lettering,
  MOST_NAMED,
  type Shown,
  shortNames,
  thin,
  unmarked,
} from './chart.ts';
import { coolers, numbers, texts } from './chart-table.ts';
import { colourOf, inColour } from './emphasis.ts';
import { scatter, type Trace } from './figure.ts';
import { bandShape, chosen, edgeToEdge, layoutOf, NARROW, overCorner, remark } from './layout.ts';
import { riseScale } from './scale.ts';
import { smooth } from './smooth.ts';

/** Rise against metered sound at the chosen load, each cooler from its least stable to its greatest speed. */
export const soundChart: Chart = {
  id: 'sound',
  title: 'Rise against sound',
  savedTitle: (shown) => `${riseScale(shown).name} against sound at ${load(shown.state.power_W)}`,
  savedUnder: ({ state, compare }) =>
    `${state.source} as the source, every fan from its least stable to its greatest speed, room at ${plain(state.ambient_C)} °C; intervals at ${percent(compare.level)}`,
  roughly: true,
  follows: 'load',
  about: ({ compare, answers }) =>
    `Each curve runs from the cooler’s least stable to its greatest fan speed; from one mark to the next the speed grows by the same ratio. Levels are as metered, background included${answers.background_dBA === undefined ? '' : ` (${answers.background_dBA} dBA)`}. Bands are ${percent(compare.level)} intervals of the rise at each speed. What is not known of the sound itself is not in them: choose equal sound above for intervals that hold it. As a rule of thumb, 10 dBA more sounds twice as loud.${(compare.loads[0]?.order.length ?? 0) > MOST_NAMED ? ' Coolers are named where there is room.' : ''}`,
  label: ({ state }) => `Rise above ambient against metered sound level at ${load(state.power_W)}.`,
  has: (answers) => answers.hasSound,
  height: (_, width) => Math.round(Math.min(500, Math.max(320, width * 0.54))),
  table: (shown) => ({
    caption: `Rise against metered sound level at ${load(shown.state.power_W)}`,
    columns: [
      coolers('cooler'),
      numbers('fan', 'rpm', 0),
      numbers('sound', 'dBA', 1),
      numbers('rise', 'K', 2),
      numbers('low', 'K', 2),
      numbers('high', 'K', 2),
      texts('beyond what was run'),
    ],
    rows: curvesOf(shown).flatMap(({ cooler, points }) =>
      points.map((p) => [
        cooler,
        p.fan_rpm,
        p.sound_dBA,
        p.rise_K,
        p.low_K,
        p.high_K,
        p.extrapolated ? 'yes' : 'no',
      ]),
    ),
  }),
  draw: (shown, ink, size) => {
    const scale = riseScale(shown);
    const { speed, sound_dBA } = shown.state;
    const curves = curvesOf(shown).map((c) => ({ ...c, points: c.points.map((p) => raised(p, scale.add)) }));
    const { across, range } = endsOf(curves);
    const margin = { l: 58, r: 90, t: 26, b: 46 };
    const short = shortNames(
      curves.map((c) => c.cooler),
      size.width < NARROW ? 13 : 24,
    );
    const hollow = curves.some((c) => c.points.some((p) => p.extrapolated));
    const coloured = inColour(shown);
    const lit = curves.filter((c) => coloured.has(c.cooler));
    const ordered = [...curves.filter((c) => !coloured.has(c.cooler)), ...lit];
    return {
      data: [
        ...ordered.flatMap((curve) => tracesOf(shown, ink, curve)),
        ...besidePoints(
          lit.map((c) => {
            const last = c.points[c.points.length - 1];
            return {
              text: short(c.cooler),
              x: last.sound_dBA,
              y: last.rise_K,
              colour: lettering(ink.hue(c.place), ink),
            };
          }),
          { x: across, y: range },
          { width: size.width - margin.l - margin.r, height: size.height - margin.t - margin.b },
          margin.r,
          12,
        ),
      ],
      layout: {
        ...layoutOf(
          ink,
          size,
          margin,
          { title: 'sound as metered, dBA', range: across },
          { title: scale.axis(` at ${load(shown.state.power_W)}`), range },
        ),
        shapes: [
          ...lit.flatMap(({ place, points }) => {
            const [x, high, low] = (['sound_dBA', 'high_K', 'low_K'] as const).map((key) =>
              smooth(points.map((p) => p[key])),
            );
            return bandShape([{ x, high, low }], thin(ink.hue(place), 0.1));
          }),
          ...(speed === 'sound' ? [edgeToEdge({ x: sound_dBA }, chosen(ink))] : []),
        ],
        annotations: [
          ...(hollow ? [overCorner('hollow: a speed or load beyond those run', ink)] : []),
          ...(speed === 'sound'
            ? [
                remark(`${plain(sound_dBA)} dBA`, ink, {
                  x: sound_dBA,
                  yref: 'paper',
                  y: 0,
                  xanchor: 'left',
                  yanchor: 'bottom',
                  xshift: 4,
                }),
              ]
            : []),
        ],
      },
    };
  },
};

/** Ends of the axes. Down to a standstill everything runs hot: what was run sets the upright one. */
function endsOf(curves: readonly SoundCurve[]): { across: [number, number]; range: [number, number] } {
  const points = curves.flatMap((c) => c.points);
  const rises = points.map((p) => p.rise_K);
  const levels = points.map((p) => p.sound_dBA);
  const within = points.filter((p) => !p.extrapolated);
  const known = (within.length > 0 ? within : points).flatMap((p) => [p.low_K, p.high_K]);
  const [low, high] = [Math.min(...known), Math.max(...known)];
  return {
    across: [Math.min(...levels) - 0.5, Math.max(...levels) + 0.3],
    range: [
      Math.min(low, ...rises) - (high - low) * 0.05,
      Math.min(high + (high - low) * 0.3, Math.max(high, ...rises) + (high - low) * 0.05),
    ],
  };
}

/** A cooler's curve as a line with its marks. */
function tracesOf(shown: Shown, ink: Ink, { cooler, place, points }: SoundCurve): Trace[] {
  const color = colourOf(shown, ink)(cooler);
  const isLit = inColour(shown).has(cooler);
  const marked = points.filter((p) => p.marked);
  return [
    scatter({
      mode: 'lines',
      x: smooth(points.map((p) => p.sound_dBA)),
      y: smooth(points.map((p) => p.rise_K)),
      line: { color, width: isLit ? 2 : 1.25, simplify: false },
      hoverinfo: 'skip',
    }),
    scatter({
      mode: 'markers',
      name: unmarked(cooler),
      x: marked.map((p) => p.sound_dBA),
      y: marked.map((p) => p.rise_K),
      text: marked.map((p) => `${Math.round(p.fan_rpm)} rpm`),
      customdata: marked.map(() => cooler),
      marker: {
        symbol: marked.map((p) => (p.extrapolated ? `${symbol(place)}-open` : symbol(place))),
        size: isLit ? 7 : 5,
        color,
      },
      hovertemplate: `%{y:.1f} ${riseScale(shown).unit} at %{x:.1f} dBA, %{text}<extra>%{fullData.name}</extra>`,
    }),
  ];
}

const raised = (p: SoundCurve['points'][number], add: number): SoundCurve['points'][number] => ({
  ...p,
  rise_K: p.rise_K + add,
  low_K: p.low_K + add,
  high_K: p.high_K + add,
});

function curvesOf(shown: Shown): SoundCurve[] {
  return shown.answers.soundCurves(shown.conditions, shown.state.power_W, shown.rough);
}
