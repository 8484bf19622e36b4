import { counted, load, plain } from '../../answers/text/wording.ts';
import type { ControlPoint, ControlSeries } from '../../months/control-chart.ts';
import type { Answers } from '../answers.ts';
import { type Chart, type Ink, LETTER, shortened, thin, unmarked } from './chart.ts';
import { numbers, texts } from './chart-table.ts';
import { type Annotation, scatter, type Trace } from './figure.ts';
import { edgeToEdge, layoutOf, overCorner, remark } from './layout.ts';

type Control = NonNullable<Answers['data']['control']>;

/**
 * The control chart of the reference cooler: whether the bench still reads what it used to. One drawing for the rise at the
 * mean load, one beneath for the part that is the same at every load, which is the sensors'.
 */
export const controlPanel: Chart = {
  id: 'control',
  title: 'The bench over the months',
  savedTitle: ({ answers }) => `Control chart of ${controlOf(answers).cooler}`,
  savedUnder: () => 'the reference cooler, session by session',
  follows: 'source',
  about: ({ answers }) => aboutOf(controlOf(answers)),
  label: ({ answers }) => {
    const control = controlOf(answers);
    return `Control chart of ${control.cooler} over ${counted(control.series[0].points.length, 'session')}. ${control.verdict}`;
  },
  has: ({ data }) => data.control !== null,
  height: ({ answers }, width) =>
    controlOf(answers).series.length * Math.round(Math.min(250, Math.max(190, width * 0.28))) +
    footOf(controlOf(answers), width).room,
  table: ({ answers }) => {
    const { cooler, series } = controlOf(answers);
    return {
      caption: `Control chart of ${cooler}`,
      columns: [
        texts('charted'),
        texts('session'),
        numbers('runs'),
        numbers('mounts'),
        numbers('shift', 'K', 3),
        numbers('moving average', 'K', 3),
        numbers('limit', 'K', 3),
        texts('state'),
      ],
      rows: series.flatMap(({ quantity, points }) =>
        points.map((p) => [
          quantity === 'rise' ? 'rise' : 'sensors',
          sessionName(p),
          p.runs,
          p.mounts,
          p.value_K,
          p.average_K,
          p.limit_K,
          p.state,
        ]),
      ),
    };
  },
  draw: ({ answers }, ink, size) => {
    const control = controlOf(answers);
    const { series } = control;
    const foot = footOf(control, size.width);
    const count = foot.names.length;
    const parts = series.map((one, s) => ({ one, s, domain: domainOf(s, series.length) }));
    const across = {
      title: 'session',
      range: [-0.5, count - 0.5] as const,
      bare: true,
      rows: { names: foot.names, at: (k: number) => k },
      more: { anchor: series.length > 1 ? 'y2' : 'y', tickangle: foot.tilted ? -TILT : 0 },
    };
    const margin = { ...SIDES, l: foot.left, t: 26, b: foot.room };
    const uprights = parts.map(({ one, domain }) => ({
      title: 'shift, K',
      range: rangeOf(one),
      more: { domain },
    }));
    const layout = layoutOf(ink, size, margin, across, uprights[0]);
    if (uprights[1]) layout.yaxis2 = layoutOf(ink, size, margin, across, uprights[1]).yaxis;
    return {
      data: parts.flatMap(({ one, s }) =>
        tracesOf(one, s === 0 ? 'y' : 'y2', control, ink, Math.min(1, foot.each / 14)),
      ),
      layout: {
        ...layout,
        shapes: parts.map(({ s }) => ({
          ...edgeToEdge({ y: 0 }, { color: ink.text, width: 1 }),
          yref: s === 0 ? 'y' : 'y2',
        })),
        annotations: parts.flatMap(({ one, s, domain }) => [
          overCorner(headOf(one, control), ink, domain[1]),
          ...limitWord(one, s === 0 ? 'y' : 'y2', ink),
        ]),
      },
    };
  },
};

function controlOf({ data }: Answers): Control {
  if (data.control === null) throw new Error('a control chart was asked for where there is none');
  return data.control;
}

const sessionName = ({ session }: ControlPoint): string => (session === '' ? 'unnamed' : session);

const headOf = ({ quantity }: ControlSeries, { power_W }: Control): string =>
  quantity === 'rise' ? `the rise at ${load(Math.round(power_W))}` : 'the same at every load: the sensors';

function aboutOf({ verdict, form, weight, false_alarm_every, warnings }: Control): string {
  const marks =
    form === 'EWMA'
      ? `Small dots are single sessions; the line is their moving average, in which the newest session counts ${plain(Math.round(weight * 100))} %.`
      : 'Marks are sessions, each judged alone.';
  return [
    verdict,
    `Drawn is how far the reference cooler reads from what the sessions before lead one to expect: 0 is no change. ${marks} The dashed lines are limits, which a bench that does not change crosses about once in ${plain(Math.round(false_alarm_every))} sessions. A session past them is out of control and has a large hollow mark. A hollow circle is a session that sets the target: none before it was run in the same way.`,
    ...warnings.map((one) => `${one}.`),
  ].join(' ');
}

/** Room beside the drawings, px. */
const SIDES = { l: 60, r: 14 };

/** How steeply names stand that are too long to lie side by side, degrees. */
const TILT = 40;

/** Distance of tilted names along the axis at which their lines still stand apart, px. */
const TILTED_APART = 25;

interface Foot {
  names: string[];
  tilted: boolean;
  /** Height for the names, and width to the left of the drawings, which the first tilted name reaches into, px. */
  room: number;
  left: number;
  /** Distance between sessions, px. */
  each: number;
}

/** Names of the sessions under the drawings: side by side where they fit, else tilted, and thinned out where even that is too close. */
function footOf({ series }: Control, width: number): Foot {
  const each = (width - SIDES.l - SIDES.r) / series[0].points.length;
  const names = series[0].points.map((point) => shortened(sessionName(point), 18));
  const longest = Math.max(...names.map((name) => name.length)) * LETTER;
  const tilted = longest + 8 > each;
  const nth = tilted ? Math.ceil(TILTED_APART / each) : 1;
  const angle = (TILT * Math.PI) / 180;
  return {
    names: names.map((name, k) => (k % nth === 0 ? name : '')),
    tilted,
    room: 48 + (tilted ? Math.ceil(longest * Math.sin(angle)) : 0),
    left: tilted
      ? Math.max(SIDES.l, Math.ceil(names[0].length * LETTER * Math.cos(angle) - each / 2) + 10)
      : SIDES.l,
    each,
  };
}

/** The word beside the last limit, on the side from which the last sessions keep away. */
function limitWord({ points }: ControlSeries, yref: string, ink: Ink): Annotation[] {
  const last = points.findLastIndex((p) => p.limit_K !== null);
  if (last < 0) return [];
  const limit_K = points[last].limit_K ?? 0;
  const near = points
    .slice(Math.max(0, last - 2), last + 1)
    .flatMap((p) => [p.value_K ?? 0, p.average_K ?? 0])
    .filter((value) => Math.abs(value) > limit_K / 2);
  const below = near.filter((value) => value > 0).length * 2 > near.length;
  return [
    remark('limit', ink, {
      x: last + 0.5,
      y: (below ? -1 : 1) * limit_K,
      yref,
      xanchor: 'right',
      yanchor: below ? 'top' : 'bottom',
    }),
  ];
}

/** Heights of the drawings, from the top: parts of the whole. */
function domainOf(s: number, count: number): [number, number] {
  if (count === 1) return [0, 1];
  return s === 0 ? [0.57, 1] : [0, 0.43];
}

function rangeOf({ points }: ControlSeries): [number, number] {
  const all = points.flatMap((p) => [p.value_K, p.average_K, p.limit_K]).map((value) => Math.abs(value ?? 0));
  const most = Math.max(...all, 0.1) * 1.15;
  return [-most, most];
}

/** @param scale  of the marks, under 1 where sessions stand close */
function tracesOf(
  { points }: ControlSeries,
  yaxis: string,
  { form }: Control,
  ink: Ink,
  scale: number,
): Trace[] {
  const x = points.map((_, k) => k);
  const steps = (sign: number): Trace =>
    scatter({
      mode: 'lines',
      // A limit holds from half way to its neighbours.
      x: points.flatMap((_, k) => [k - 0.5, k + 0.5]),
      y: points.flatMap((p) => Array(2).fill(p.limit_K === null ? null : sign * p.limit_K)),
      yaxis,
      line: { color: ink.quiet, width: 1.25, dash: '5px,4px' },
      hoverinfo: 'skip',
    });
  const hovertemplate = points.map((p) => `${unmarked(p.verdict)}<extra></extra>`);
  const inState = (state: ControlPoint['state']) =>
    points.map((p, k) => ({ p, k })).filter(({ p }) => p.state === state);
  const [out, setting] = [inState('out of control'), inState('sets the target')];
  return [
    steps(1),
    steps(-1),
    scatter({
      mode: 'markers',
      x,
      y: points.map((p) => (form === 'EWMA' ? p.value_K : null)),
      yaxis,
      marker: { symbol: 'circle', size: Math.max(4, 6 * scale), color: thin(ink.text, 0.45) },
      hovertemplate,
    }),
    scatter({
      mode: 'lines+markers',
      x,
      y: points.map((p) => p.average_K),
      yaxis,
      line: { color: ink.text, width: 2 },
      marker: { symbol: 'square', size: Math.max(4, 8 * scale), color: ink.text },
      hovertemplate,
    }),
    scatter({
      mode: 'markers',
      x: setting.map(({ k }) => k),
      y: setting.map(() => 0),
      yaxis,
      marker: { symbol: 'circle-open', size: 9, color: ink.text, line: { width: 1.5 } },
      hovertemplate: setting.map(({ p }) => `${unmarked(p.verdict)}<extra></extra>`),
    }),
    scatter({
      mode: 'markers',
      x: out.map(({ k }) => k),
      y: out.map(({ p }) => p.average_K),
      yaxis,
      marker: { symbol: 'diamond-open', size: 17, color: ink.text, line: { width: 2 } },
      hoverinfo: 'skip',
    }),
  ];
}
