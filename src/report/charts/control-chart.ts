import type { ControlPoint, ControlSeries } from '../../session-results.ts';
import { load, plain } from '../../tables/wording.ts';
import type { Answers } from '../answers.ts';
import { type Chart, type Ink, type PlotlyTrace, thin, unmarked } from './chart.ts';
import { edgeToEdge, layoutOf, remark } from './layout.ts';

type Control = NonNullable<Answers['data']['control']>;

/**
 * The control chart of the reference cooler: whether the bench still reads what it used to. One drawing for the rise at the
 * mean load, one beneath for the part that is the same at every load, which is the sensors'.
 */
export const controlPanel: Chart = {
  id: 'control',
  title: 'The bench over the months',
  savedTitle: ({ answers }) => `Control chart of ${controlOf(answers).cooler}`,
  follows: 'source',
  about: ({ answers }) => aboutOf(controlOf(answers)),
  label: ({ answers }) => {
    const control = controlOf(answers);
    return `Control chart of ${control.cooler} over ${control.series[0].points.length} sessions. ${control.verdict}`;
  },
  has: ({ data }) => data.control !== null,
  height: ({ answers }, width) =>
    controlOf(answers).series.length * Math.round(Math.min(250, Math.max(190, width * 0.28))) + 40,
  table: ({ answers }) => {
    const { cooler, series } = controlOf(answers);
    return {
      caption: `Control chart of ${cooler}`,
      columns: [
        { name: 'charted', kind: 'text' },
        { name: 'session', kind: 'text' },
        { name: 'runs', kind: 'number' },
        { name: 'mounts', kind: 'number' },
        { name: 'shift', unit: 'K', kind: 'number', decimals: 3 },
        { name: 'moving average', unit: 'K', kind: 'number', decimals: 3 },
        { name: 'limit', unit: 'K', kind: 'number', decimals: 3 },
        { name: 'state', kind: 'text' },
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
    const sessions = series[0].points.map(sessionName);
    const parts = series.map((one, s) => ({ one, s, domain: domainOf(s, series.length) }));
    const across = {
      range: [-0.5, sessions.length - 0.5] as const,
      bare: true,
      rows: { names: sessions, at: (k: number) => k },
      more: {
        anchor: series.length > 1 ? 'y2' : 'y',
        ...(sessions.length > size.width / 70 && { tickangle: -40 }),
      },
    };
    const margin = { l: 60, r: 14, t: 26, b: sessions.length > size.width / 70 ? 84 : 46 };
    const uprights = parts.map(({ one, domain }) => ({
      title: 'shift, K',
      range: rangeOf(one),
      more: { domain },
    }));
    const layout = layoutOf(ink, size, margin, across, uprights[0]);
    if (uprights[1]) layout.yaxis2 = layoutOf(ink, size, margin, across, uprights[1]).yaxis;
    return {
      data: parts.flatMap(({ one, s }) => tracesOf(one, s === 0 ? 'y' : 'y2', control, ink)),
      layout: {
        ...layout,
        shapes: parts.map(({ s }) => ({
          ...edgeToEdge({ y: 0 }, { color: ink.text, width: 1 }),
          yref: s === 0 ? 'y' : 'y2',
        })),
        annotations: parts.map(({ one, domain }) =>
          remark(headOf(one, control), ink, {
            xref: 'paper',
            x: 0,
            yref: 'paper',
            y: domain[1],
            xanchor: 'left',
            yanchor: 'bottom',
          }),
        ),
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
  const line =
    form === 'EWMA'
      ? `Small marks are single sessions, the line their moving average, in which the newest counts ${plain(Math.round(weight * 100))} %.`
      : 'Marks are sessions, each judged alone.';
  return [
    verdict,
    `Each session’s reading of the reference cooler less what the sessions before it lead one to expect, which is the target at 0. ${line} The stepped lines are limits that a bench at rest crosses once in ${plain(Math.round(false_alarm_every))} sessions; a crossed one has a large hollow mark. The first session sets the target.`,
    ...warnings.map((one) => `${one}.`),
  ].join(' ');
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

function tracesOf({ points }: ControlSeries, yaxis: string, { form }: Control, ink: Ink): PlotlyTrace[] {
  const x = points.map((_, k) => k);
  const steps = (sign: number) => ({
    type: 'scatter',
    mode: 'lines',
    // A limit holds from half way to its neighbours.
    x: points.flatMap((_, k) => [k - 0.5, k + 0.5]),
    y: points.flatMap((p) => Array(2).fill(p.limit_K === null ? null : sign * p.limit_K)),
    yaxis,
    line: { color: ink.quiet, width: 1.25, dash: '5px,4px' },
    hoverinfo: 'skip',
  });
  const hovertemplate = points.map((p) => `${unmarked(p.verdict)}<extra></extra>`);
  const out = points.map((p, k) => ({ p, k })).filter(({ p }) => p.state === 'out of control');
  return [
    steps(1),
    steps(-1),
    {
      type: 'scatter',
      mode: 'markers',
      x,
      y: points.map((p) => (form === 'EWMA' ? p.value_K : null)),
      yaxis,
      marker: { symbol: 'circle', size: 6, color: thin(ink.text, 0.45) },
      hovertemplate,
    },
    {
      type: 'scatter',
      mode: 'lines+markers',
      x,
      y: points.map((p) => p.average_K),
      yaxis,
      line: { color: ink.text, width: 2 },
      marker: { symbol: 'square', size: 8, color: ink.text },
      hovertemplate,
    },
    {
      type: 'scatter',
      mode: 'markers',
      x: out.map(({ k }) => k),
      y: out.map(({ p }) => p.average_K),
      yaxis,
      marker: { symbol: 'diamond-open', size: 17, color: ink.text, line: { width: 2 } },
      hoverinfo: 'skip',
    },
  ];
}
