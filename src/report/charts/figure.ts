/**
 * A drawing as plain data: what the charts make of an answer. The chart library draws it on the page, `svgOf` draws it without one.
 * The fields are the chart library's, as many as the charts use.
 */
export interface Drawing {
  data: Trace[];
  layout: Layout;
}

type Number = number | null;
/** One for all points, or one for each. */
type Each<T> = T | readonly T[];

export interface ErrorBars {
  type: 'data';
  symmetric: false;
  array: readonly number[];
  arrayminus: readonly number[];
  color: string;
  thickness: number;
  /** Half the length of its ends, px. */
  width: number;
}

/** Points joined by lines, marked or written, or bars that lie. */
export interface Trace {
  type: 'scatter' | 'bar';
  mode?: 'lines' | 'markers' | 'lines+markers' | 'text';
  orientation?: 'h';
  name?: string;
  x: readonly Number[];
  y: readonly Number[];
  xaxis?: string;
  yaxis?: string;
  /** Of a bar: where it starts, and its width across. */
  base?: number;
  width?: number;
  line?: { color?: string; width: number; dash?: string; simplify?: boolean };
  marker?: {
    color: Each<string>;
    symbol?: Each<string>;
    size?: Each<number>;
    opacity?: number;
    line?: { width: number; color?: Each<string> };
  };
  error_x?: ErrorBars;
  error_y?: ErrorBars;
  text?: Each<string>;
  textposition?: Each<string>;
  textfont?: { size: number; color: Each<string> };
  fill?: 'toself';
  fillcolor?: string;
  cliponaxis?: boolean;
  customdata?: readonly unknown[];
  hoverinfo?: string;
  hoveron?: string;
  hovertemplate?: Each<string>;
  showlegend?: boolean;
}

export interface Axis {
  range: [number, number];
  title?: { text: string; standoff?: number; font?: { color: string } };
  /** Share of the drawing that the axis takes. */
  domain?: [number, number];
  anchor?: string;
  visible?: boolean;
  color?: string;
  gridcolor?: string;
  linecolor?: string;
  tickcolor?: string;
  showgrid?: boolean;
  tickmode?: 'array';
  tickvals?: readonly number[];
  ticktext?: readonly string[];
  tickangle?: number;
  [more: string]: unknown;
}

export interface Shape {
  type: 'line' | 'rect' | 'path';
  xref?: string;
  yref?: string;
  x0?: number;
  x1?: number;
  y0?: number;
  y1?: number;
  path?: string;
  layer?: 'below' | 'between' | 'above';
  fillcolor?: string;
  line: { width: number; color?: string; dash?: string };
}

export interface Annotation {
  text: string;
  x?: number;
  y?: number;
  xref?: string;
  yref?: string;
  xanchor?: 'left' | 'center' | 'right';
  yanchor?: 'top' | 'middle' | 'bottom';
  xshift?: number;
  yshift?: number;
  showarrow: false;
  textangle?: number;
  font: { color: string; size: number };
}

export interface Layout {
  width: number;
  height: number;
  margin: { l: number; r: number; t: number; b: number };
  font: { family: string; size: number; color: string };
  xaxis: Axis;
  yaxis: Axis;
  xaxis2?: Axis;
  yaxis2?: Axis;
  shapes?: Shape[];
  annotations?: Annotation[];
  hoverlabel: { bgcolor: string; [more: string]: unknown };
  [more: string]: unknown;
}

/** Points of a drawing. */
export const scatter = (trace: Omit<Trace, 'type'>): Trace => ({ type: 'scatter', ...trace });

/** Bars from low to high about estimates. */
export function errorBars(
  of: readonly { value: number; low: number; high: number }[],
  color: string,
  thickness = 1.5,
  width = 5,
): ErrorBars {
  return {
    type: 'data',
    symmetric: false,
    array: of.map(({ value, high }) => high - value),
    arrayminus: of.map(({ value, low }) => value - low),
    color,
    thickness,
    width,
  };
}
