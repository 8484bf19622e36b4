import { load } from '../../answers/text/wording.ts';
import { type Ink, LETTER, type Shown, type Size, unmarked } from './chart.ts';
import type { Annotation, Axis, Layout, Shape } from './figure.ts';

/** Margins of a drawing, px. */
export interface Margin {
  l: number;
  r: number;
  t: number;
  b: number;
}

/** One axis of a drawing: its words, its ends, and what else the chart library is to know of it. */
export interface AxisOf {
  title?: string;
  range: readonly [number, number];
  /** Without its lines across the drawing. */
  bare?: boolean;
  /** Names of rows in place of numbers, each at its place on the axis. */
  rows?: { names: readonly string[]; at: (row: number) => number };
  more?: Partial<Axis>;
}

/** Drawings narrower than this have shorter names and titles, px. */
export const NARROW = 560;

/** What every drawing has in common. */
function baseLayout(ink: Ink, { width, height }: Size, margin: Margin): Omit<Layout, 'xaxis' | 'yaxis'> {
  return {
    width,
    height,
    margin,
    showlegend: false,
    hovermode: 'closest',
    dragmode: false,
    paper_bgcolor: 'rgba(0,0,0,0)',
    plot_bgcolor: 'rgba(0,0,0,0)',
    font: {
      family: 'system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", sans-serif',
      size: 12.5,
      color: ink.text,
    },
    hoverlabel: { bgcolor: ink.paper, bordercolor: ink.rule, font: { color: ink.text }, align: 'left' },
  };
}

/** The layout of a drawing with one axis across and one upright. */
export function layoutOf(ink: Ink, size: Size, margin: Margin, x: AxisOf, y: AxisOf): Layout {
  return { ...baseLayout(ink, size, margin), xaxis: axis(ink, x), yaxis: axis(ink, y) } as Layout;
}

/**
 * Axis that holds still and reads quietly. The chart library is told that labels may stand where they stand: left to find
 * out, it measures each of them at every redraw.
 */
export function axis(ink: Ink, { title, range, bare, rows, more }: AxisOf): Axis {
  return {
    color: rows ? ink.text : ink.quiet,
    gridcolor: ink.rule,
    linecolor: ink.rule,
    zeroline: false,
    fixedrange: true,
    ticks: rows ? '' : 'outside',
    ticklen: 4,
    tickcolor: ink.rule,
    tickangle: 0,
    ticklabeloverflow: 'allow',
    automargin: false,
    range: [...range],
    ...(title === undefined ? {} : { title: { text: title, standoff: 8, font: { color: ink.quiet } } }),
    ...(bare ? { showgrid: false } : {}),
    ...(rows && {
      tickmode: 'array',
      tickvals: rows.names.map((_, row) => rows.at(row)),
      ticktext: rows.names.map(unmarked),
    }),
    ...more,
  };
}

/** A line through the drawing from edge to edge: upright at an x, or level at a y. */
export function edgeToEdge(at: { x: number } | { y: number }, line: Shape['line']): Shape {
  return 'x' in at
    ? { type: 'line', xref: 'x', yref: 'paper', x0: at.x, x1: at.x, y0: 0, y1: 1, line }
    : { type: 'line', xref: 'paper', yref: 'y', x0: 0, x1: 1, y0: at.y, y1: at.y, line };
}

/** A curve's band: what lies between its upper and its lower bound. */
export interface Band {
  x: readonly number[];
  high: readonly number[];
  low: readonly number[];
}

/**
 * Bands of one colour as one filled outline beneath the curves: as a trace of its own each would cost the chart library ten
 * times as much, since it is never pointed at.
 *
 * @returns no shape where there is no band
 */
export function bandShape(bands: readonly Band[], fillcolor: string): Shape[] {
  const path = bands
    .map(({ x, high, low }) => {
      const known = [...x.keys()].filter((i) => Number.isFinite(high[i]) && Number.isFinite(low[i]));
      if (known.length < 2) return '';
      const there = known.map((i) => `${x[i]},${high[i]}`);
      const back = known.map((i) => `${x[i]},${low[i]}`).reverse();
      return `M${[...there, ...back].join('L')}Z`;
    })
    .join('');
  if (path === '') return [];
  return [{ type: 'path', layer: 'between', path, fillcolor, line: { width: 0 } }];
}

/** How the line of a chosen condition is drawn. */
export const chosen = (ink: Ink): Shape['line'] => ({ color: ink.text, width: 1, dash: '2px,3px' });

/** The line that marks the chosen load in a drawing that stands alone, and the load over it; on the page a line above the drawing does. */
export function loadLine(
  { state: { power_W } }: Shown,
  ink: Ink,
  { alone }: Size,
): { shapes: Shape[]; annotations: Annotation[] } {
  if (!alone) return { shapes: [], annotations: [] };
  return {
    shapes: [edgeToEdge({ x: power_W }, chosen(ink))],
    annotations: [remark(load(power_W), ink, { x: power_W, yref: 'paper', y: 1, yanchor: 'bottom' })],
  };
}

/** Place of the chosen load along an axis over these loads, px from the left of the drawing. */
export function loadPx(
  power_W: number,
  [from, to]: readonly [number, number],
  { width }: Size,
  margin: { l: number; r: number },
): number {
  const share = Math.min(1, Math.max(0, (power_W - from) / (to - from)));
  return margin.l + share * (width - margin.l - margin.r);
}

/** A quiet word inside a drawing. */
export function remark(text: string, ink: Ink, at: Partial<Annotation>): Annotation {
  return { text, showarrow: false, font: { color: ink.quiet, size: 12 }, ...at };
}

/** A word inside the upper or the lower left corner of a drawing. */
export function inCorner(text: string, ink: Ink, corner: 'top' | 'bottom'): Annotation {
  const y = corner === 'top' ? 1 : 0;
  return remark(text, ink, {
    xref: 'paper',
    x: 0,
    yref: 'paper',
    y,
    xanchor: 'left',
    yanchor: corner,
    xshift: 4,
  });
}

/** A word over the upper left corner of a drawing; `top` is where that ends, as a part of the whole. */
export function overCorner(text: string, ink: Ink, top = 1): Annotation {
  return remark(text, ink, {
    xref: 'paper',
    x: 0,
    yref: 'paper',
    y: top,
    xanchor: 'left',
    yanchor: 'bottom',
  });
}

/** Room for names to the left of a drawing, px: as much as the longest needs. */
export function nameRoom(names: readonly string[]): number {
  return Math.ceil(Math.max(30, ...names.map((name) => name.length * LETTER)) + 22);
}

/** Upright strokes between bounds, for the part of a band that rests on a condition; `phase` keeps those of several bands apart. */
export function hatchShape(bands: readonly Band[], step: number, phase: number, color: string): Shape[] {
  const path = bands
    .flatMap(({ x, high, low }) => {
      const strokes: string[] = [];
      const first = Math.ceil((x[0] - phase) / step) * step + phase;
      for (let at = first, i = 0; at <= x[x.length - 1]; at += step) {
        while (i + 2 < x.length && x[i + 1] < at) i++;
        const share = (at - x[i]) / (x[i + 1] - x[i]);
        const [from, to] = [low, high].map((bound) => bound[i] + share * (bound[i + 1] - bound[i]));
        if (Number.isFinite(from) && to > from) strokes.push(`M${at},${from}L${at},${to}`);
      }
      return strokes;
    })
    .join('');
  return path === '' ? [] : [{ type: 'path', layer: 'between', path, line: { width: 1, color } }];
}
