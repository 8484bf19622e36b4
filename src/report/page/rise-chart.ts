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

/**
 * Curves of rise against load: full line and darker band over the loads run, dashes and a paler band beyond, the runs
 * as the cooler's marks.
 */
export function riseTraces(data: PageData, ink: Ink): PlotlyTrace[] {
  const traces: PlotlyTrace[] = [];
  data.coolers.forEach((c, place) => {
    const colour = ink.hue(place);
    for (const [beyond, fill] of [
      [true, 0.07],
      [false, 0.15],
    ] as const) {
      for (const [from, to] of stretches(c.extrapolated, beyond, beyond)) {
        const x = c.power_W.slice(from, to + 1);
        traces.push({
          type: 'scatter',
          x: [...x, ...[...x].reverse()],
          y: [...c.high_K.slice(from, to + 1), ...c.low_K.slice(from, to + 1).reverse()],
          mode: 'lines',
          fill: 'toself',
          fillcolor: thin(colour, fill),
          line: { width: 0 },
          hoverinfo: 'skip',
        });
      }
    }
  });
  data.coolers.forEach((c, place) => {
    const colour = ink.hue(place);
    for (const beyond of [true, false]) {
      for (const [from, to] of stretches(c.extrapolated, beyond, beyond)) {
        traces.push({
          type: 'scatter',
          x: c.power_W.slice(from, to + 1),
          y: c.rise_K.slice(from, to + 1),
          mode: 'lines',
          name: c.cooler.replaceAll('<', '&lt;'),
          line: {
            color: beyond ? thin(colour, 0.75) : colour,
            width: beyond ? 1.5 : 2.25,
            dash: beyond ? '5px,4px' : 'solid',
          },
          hovertemplate: `%{y:.1f} K at %{x} W${beyond ? ', beyond the loads run' : ''}<extra>%{fullData.name}</extra>`,
        });
      }
    }
    traces.push({
      type: 'scatter',
      x: c.runs.map((r) => r.power_W),
      y: c.runs.map((r) => r.rise_K),
      mode: 'markers',
      name: c.cooler.replaceAll('<', '&lt;'),
      marker: { symbol: symbol(place), size: 8, color: colour, line: { width: 1, color: ink.paper } },
      hovertemplate: 'run: %{y:.1f} K at %{x} W<extra>%{fullData.name}</extra>',
    });
  });
  return traces;
}

interface Label {
  text: string;
  y: number;
  place: number;
}

/** Names at the ends of the curves, pushed apart so that none covers another. */
function endLabels(data: PageData, top: number, kelvinPerLine: number): Label[] {
  const labels = data.coolers
    .map((c, place): Label => ({ text: c.cooler, y: Math.min(top, c.rise_K[c.rise_K.length - 1]), place }))
    .filter((label) => Number.isFinite(label.y))
    .sort((a, b) => a.y - b.y);
  for (let sweep = 0; sweep < 40; sweep++) {
    for (let i = 1; i < labels.length; i++) {
      const lack = kelvinPerLine - (labels[i].y - labels[i - 1].y);
      if (lack > 0) {
        labels[i].y += lack / 2;
        labels[i - 1].y -= lack / 2;
      }
    }
  }
  return labels;
}

const shortened = (text: string): string =>
  text.length > 22 ? `${text.slice(0, 12)}…${text.slice(-8)}` : text;

/** Axes, the loads run, the chosen load and the names, for a drawing of this size. */
export function riseLayout(
  data: PageData,
  ink: Ink,
  chosen_W: number,
  width: number,
  height: number,
): PlotlyLayout {
  const named = width >= 620;
  const loads = data.coolers[0]?.power_W ?? [];
  const tops = data.coolers
    .flatMap((c) => [...c.high_K, ...c.runs.map((r) => r.rise_K)])
    .filter(Number.isFinite);
  const bottoms = data.coolers
    .flatMap((c) => [...c.low_K, ...c.runs.map((r) => r.rise_K)])
    .filter(Number.isFinite);
  const runTops = data.coolers.flatMap((c) => c.runs.map((r) => r.rise_K)).filter(Number.isFinite);
  // Far beyond the source's limit nothing is of use, and the curves below it would be pressed together.
  const top = Math.min(
    Math.max(1, ...tops) * 1.04,
    data.limit_K === undefined ? Number.POSITIVE_INFINITY : Math.max(data.limit_K, ...runTops) * 1.12,
  );
  const bottom = Math.min(0, ...bottoms);
  const margin = { l: 46, r: named ? 150 : 12, t: 12, b: 46 };
  const plotHeight = height - margin.t - margin.b;
  const tested = data.coolers.flatMap((c) => c.power_W.filter((_, i) => !c.extrapolated[i]));
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
    yaxis: { ...axis, title: { text: 'rise above ambient, K', standoff: 8 }, range: [bottom, top] },
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
      ...(data.limit_K !== undefined && data.limit_K < top
        ? [
            {
              type: 'line',
              xref: 'paper',
              yref: 'y',
              x0: 0,
              x1: 1,
              y0: data.limit_K,
              y1: data.limit_K,
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
      ...(data.limit_K !== undefined && data.limit_K < top
        ? [
            {
              x: 0,
              y: data.limit_K,
              xref: 'paper',
              yref: 'y',
              xanchor: 'left',
              yanchor: 'bottom',
              xshift: 4,
              text: `limit of the source, ${Math.round(data.limit_K + data.ambient_C)} °C`,
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
        ? endLabels(data, top, ((top - bottom) / plotHeight) * 16).map((label) => ({
            x: 1,
            y: label.y,
            xref: 'paper',
            yref: 'y',
            xanchor: 'left',
            xshift: 8,
            align: 'left',
            text: shortened(label.text).replaceAll('<', '&lt;'),
            showarrow: false,
            font: { color: ink.hue(label.place), size: 12.5 },
          }))
        : []),
    ],
  };
}
