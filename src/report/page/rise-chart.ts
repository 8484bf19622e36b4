import { symbol } from './marks.ts';
import type { PageData } from './page-data.ts';
import type { PlotlyLayout, PlotlyTrace } from './plotly.ts';

/** Colours of the page at this moment: by day, by night or on paper. */
export interface Ink {
  text: string;
  quiet: string;
  rule: string;
  paper: string;
  hue: (place: number) => string;
}

/** The same colour with another opacity. */
function thin(colour: string, opacity: number): string {
  const n = Number.parseInt(colour.slice(1), 16);
  return `rgba(${n >> 16},${(n >> 8) & 255},${n & 255},${opacity})`;
}

/** Stretches of a list over which a flag holds, each with its neighbours so that lines meet. */
function stretches(flags: readonly boolean[], wanted: boolean, overlap: boolean): [number, number][] {
  const found: [number, number][] = [];
  for (let i = 0; i < flags.length; i++) {
    if (flags[i] !== wanted) continue;
    let end = i;
    while (end + 1 < flags.length && flags[end + 1] === wanted) end++;
    found.push(overlap ? [Math.max(0, i - 1), Math.min(flags.length - 1, end + 1)] : [i, end]);
    i = end;
  }
  return found;
}

/** What the reader chose to see. */
export interface View {
  data: PageData;
  /** Rise in K, or rise per watt in K/W, which tells coolers apart that run close together. */
  measure: 'rise' | 'resistance';
  /** Whether each cooler is drawn, in the order of the bench. */
  drawn: readonly boolean[];
}

interface Curve {
  place: number;
  name: string;
  x: number[];
  y: number[];
  low: number[];
  high: number[];
  beyond: boolean[];
  runs: { x: number; y: number }[];
}

/** The curves that are drawn, in the unit of the view. */
function curves({ data, measure, drawn }: View): Curve[] {
  return data.coolers.flatMap((c, place) => {
    if (drawn[place] === false) return [];
    const per = (values: readonly number[]): number[] =>
      measure === 'rise' ? [...values] : values.map((value, i) => value / c.power_W[i]);
    return [
      {
        place,
        name: c.cooler,
        x: c.power_W,
        y: per(c.rise_K),
        low: per(c.low_K),
        high: per(c.high_K),
        beyond: c.extrapolated,
        runs: c.runs
          .filter((run) => measure === 'rise' || run.power_W > 0)
          .map((run) => ({ x: run.power_W, y: measure === 'rise' ? run.rise_K : run.rise_K / run.power_W })),
      },
    ];
  });
}

/** The chart library reads names as markup. */
const unmarked = (text: string): string => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;');

/**
 * Curves of rise against load: full line and darker band over the loads run, dashes and a paler band beyond, the runs
 * as the cooler's marks.
 */
export function riseTraces(view: View, ink: Ink): PlotlyTrace[] {
  const value = view.measure === 'rise' ? '%{y:.1f} K' : '%{y:.4f} K/W';
  const bands: PlotlyTrace[] = [];
  const lines: PlotlyTrace[] = [];
  for (const c of curves(view)) {
    const colour = ink.hue(c.place);
    const name = unmarked(c.name);
    for (const beyond of [true, false]) {
      for (const [from, to] of stretches(c.beyond, beyond, beyond)) {
        const x = c.x.slice(from, to + 1);
        bands.push({
          type: 'scatter',
          x: [...x, ...[...x].reverse()],
          y: [...c.high.slice(from, to + 1), ...c.low.slice(from, to + 1).reverse()],
          mode: 'lines',
          fill: 'toself',
          fillcolor: thin(colour, beyond ? 0.06 : 0.14),
          line: { width: 0 },
          hoverinfo: 'skip',
        });
        lines.push({
          type: 'scatter',
          x,
          y: c.y.slice(from, to + 1),
          mode: 'lines',
          name,
          line: {
            color: beyond ? thin(colour, 0.75) : colour,
            width: beyond ? 1.5 : 2.25,
            dash: beyond ? '5px,4px' : 'solid',
          },
          hovertemplate: `${value} at %{x} W${beyond ? ', beyond the loads run' : ''}<extra>%{fullData.name}</extra>`,
        });
      }
    }
    lines.push({
      type: 'scatter',
      x: c.runs.map((run) => run.x),
      y: c.runs.map((run) => run.y),
      mode: 'markers',
      name,
      marker: { symbol: symbol(c.place), size: 8, color: colour, line: { width: 1, color: ink.paper } },
      hovertemplate: `run: ${value} at %{x} W<extra>%{fullData.name}</extra>`,
    });
  }
  return [...bands, ...lines];
}

/**
 * Ends of the upright axis. Far beyond the source's limit, or where bands open wide, nothing is of use and the curves
 * that are would be pressed together.
 */
function uprightRange(view: View, shown: readonly Curve[]): [number, number] {
  const runs = shown.flatMap((c) => c.runs.map((run) => run.y));
  const tested = shown.flatMap((c) => [...c.low, ...c.high].filter((_, i) => !c.beyond[i % c.x.length]));
  const anchor = [...runs, ...tested].filter(Number.isFinite);
  const known: readonly number[] =
    anchor.length > 0 ? anchor : shown.flatMap((c) => c.y).filter(Number.isFinite);
  const highest = Math.max(...shown.flatMap((c) => c.high).filter(Number.isFinite), ...known);
  if (known.length === 0) return [0, 1];
  if (view.measure === 'resistance') {
    const [least, most] = [Math.min(...known), Math.max(...known)];
    return [least * 0.94, Math.max(most * 1.04, Math.min(highest, most * 1.25))];
  }
  const limit = view.data.limit_K;
  const top = Math.min(
    highest * 1.04,
    limit === undefined ? Number.POSITIVE_INFINITY : Math.max(limit, ...runs) * 1.12,
  );
  return [Math.min(0, ...runs), Math.max(top, 1)];
}

interface Label {
  text: string;
  y: number;
  place: number;
}

/** Names at the ends of the curves, pushed apart so that none covers another. */
function endLabels(shown: readonly Curve[], [bottom, top]: [number, number], perLine: number): Label[] {
  const labels = shown
    .map(
      (c): Label => ({
        text: c.name,
        y: Math.max(bottom, Math.min(top, c.y[c.y.length - 1])),
        place: c.place,
      }),
    )
    .filter((label) => Number.isFinite(label.y))
    .sort((a, b) => a.y - b.y);
  for (let sweep = 0; sweep < 60; sweep++) {
    for (let i = 1; i < labels.length; i++) {
      const lack = perLine - (labels[i].y - labels[i - 1].y);
      if (lack > 0) {
        labels[i].y += lack / 2;
        labels[i - 1].y -= lack / 2;
      }
    }
    const over = (labels[labels.length - 1]?.y ?? top) - top;
    if (over > 0) labels[labels.length - 1].y -= over;
  }
  return labels;
}

const shortened = (text: string): string =>
  text.length > 22 ? `${text.slice(0, 12)}…${text.slice(-8)}` : text;

/** Axes, the loads run, the chosen load and the names, for a drawing of this size. */
export function riseLayout(
  view: View,
  ink: Ink,
  chosen_W: number,
  width: number,
  height: number,
): PlotlyLayout {
  const { data } = view;
  const shown = curves(view);
  const named = width >= 620 && shown.length <= 20;
  const loads = data.coolers[0]?.power_W ?? [0, 1];
  const [bottom, top] = uprightRange(view, shown);
  const limit_K =
    view.measure === 'rise' && data.limit_K !== undefined && data.limit_K < top ? data.limit_K : undefined;
  const margin = { l: 52, r: named ? 150 : 12, t: 12, b: 46 };
  const plotHeight = height - margin.t - margin.b;
  const tested = shown.flatMap((c) => c.x.filter((_, i) => !c.beyond[i]));
  const axis = {
    color: ink.quiet,
    gridcolor: ink.rule,
    linecolor: ink.rule,
    zeroline: false,
    fixedrange: true,
    ticks: 'outside',
    ticklen: 4,
    tickcolor: ink.rule,
  };
  return {
    width,
    height,
    margin,
    showlegend: false,
    hovermode: 'closest',
    dragmode: false,
    paper_bgcolor: 'rgba(0,0,0,0)',
    plot_bgcolor: 'rgba(0,0,0,0)',
    font: { family: 'system-ui, sans-serif', size: 12.5, color: ink.text },
    hoverlabel: { bgcolor: ink.paper, bordercolor: ink.rule, font: { color: ink.text } },
    xaxis: {
      ...axis,
      title: { text: 'load, W', standoff: 8 },
      range: [Math.min(...loads), Math.max(...loads)],
      showgrid: false,
    },
    yaxis: {
      ...axis,
      title: { text: view.measure === 'rise' ? 'rise above ambient, K' : 'rise per watt, K/W', standoff: 8 },
      range: [bottom, top],
    },
    // The chosen load comes first: the page moves it by its index.
    shapes: [
      {
        type: 'line',
        xref: 'x',
        yref: 'paper',
        x0: chosen_W,
        x1: chosen_W,
        y0: 0,
        y1: 1,
        line: { color: ink.text, width: 1, dash: '2px,3px' },
      },
      ...(limit_K !== undefined
        ? [
            {
              type: 'line',
              xref: 'paper',
              yref: 'y',
              x0: 0,
              x1: 1,
              y0: limit_K,
              y1: limit_K,
              line: { color: ink.quiet, width: 1 },
            },
          ]
        : []),
      ...(tested.length > 0
        ? [
            {
              type: 'rect',
              layer: 'below',
              xref: 'x',
              yref: 'paper',
              x0: Math.min(...tested),
              x1: Math.max(...tested),
              y0: 0,
              y1: 1,
              fillcolor: thin(ink.quiet, 0.07),
              line: { width: 0 },
            },
          ]
        : []),
    ],
    annotations: [
      ...(limit_K !== undefined
        ? [
            {
              x: 0,
              y: limit_K,
              xref: 'paper',
              yref: 'y',
              xanchor: 'left',
              yanchor: 'bottom',
              xshift: 4,
              text: `limit of the source, ${Math.round(limit_K + data.ambient_C)} °C`,
              showarrow: false,
              font: { color: ink.quiet, size: 12 },
            },
          ]
        : []),
      ...(tested.length > 0
        ? [
            {
              x: (Math.min(...tested) + Math.max(...tested)) / 2,
              y: 0,
              xref: 'x',
              yref: 'paper',
              yanchor: 'bottom',
              text: 'loads run',
              showarrow: false,
              font: { color: ink.quiet, size: 12 },
            },
          ]
        : []),
      ...(named
        ? endLabels(shown, [bottom, top], ((top - bottom) / plotHeight) * 16).map((label) => ({
            x: 1,
            y: label.y,
            xref: 'paper',
            yref: 'y',
            xanchor: 'left',
            xshift: 8,
            align: 'left',
            text: unmarked(shortened(label.text)),
            showarrow: false,
            font: { color: ink.hue(label.place), size: 12.5 },
          }))
        : []),
    ],
  };
}
