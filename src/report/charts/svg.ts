import { shapePath } from '../page/marks.ts';
import type { Annotation, Axis, Drawing, ErrorBars, Layout, Shape, Trace } from './figure.ts';

/** Where a value stands in the drawing, px. */
type Scale = (value: number) => number;

const at = (value: number): string => String(Math.round(value * 100) / 100);

/** One of many, or the one for all. */
const each = <T>(value: T | readonly T[], i: number): T =>
  Array.isArray(value) ? (value[i] as T) : (value as T);

/** Opens a tag with the attributes that are known. */
function tag(name: string, attributes: Record<string, string | number | undefined>, inner?: string): string {
  const list = Object.entries(attributes).flatMap(([key, value]) =>
    value === undefined ? [] : [` ${key}="${typeof value === 'number' ? at(value) : value}"`],
  );
  return inner === undefined ? `<${name}${list.join('')}/>` : `<${name}${list.join('')}>${inner}</${name}>`;
}

const dashes = (dash: string | undefined): string | undefined =>
  dash === undefined || dash === 'solid' ? undefined : dash.replaceAll('px', '');

/** Round values over a range, about so many. @example ticksOf([0, 42], 5) // [0, 10, 20, 30, 40] */
export function ticksOf([from, to]: readonly [number, number], about: number): number[] {
  const [low, high] = from < to ? [from, to] : [to, from];
  const raw = (high - low) / Math.max(1, about);
  if (!(raw > 0)) return [low];
  const decade = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((m) => m * decade).find((s) => s >= raw * 0.999) ?? 10 * decade;
  const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const first = Math.ceil(low / step - 1e-9);
  const count = Math.floor(high / step + 1e-9) - first + 1;
  // One value alone is no scale.
  if (count < 2 && about < 8) return ticksOf([from, to], Math.max(1, about) * 2);
  return Array.from({ length: count }, (_, k) => Number(((first + k) * step).toFixed(digits)));
}

/**
 * A drawing as SVG without the chart library: the same data, so the same picture.
 *
 * @param id  begins the ids inside, so that several may stand in one document
 * @param alone  with its own name space and size, as a file has it
 * @returns the element as text; texts of the drawing are taken to be markup already
 */
export function svgOf({ data, layout }: Drawing, id: string, { alone = false, paper = '' } = {}): string {
  const { width, height, font } = layout;
  return tag(
    'svg',
    {
      ...(alone ? { xmlns: 'http://www.w3.org/2000/svg', height: at(height) } : {}),
      width: alone ? at(width) : '100%',
      viewBox: `0 0 ${at(width)} ${at(height)}`,
      'font-family': font.family.replaceAll('"', "'"),
      'font-size': font.size,
      fill: font.color,
    },
    `${paper === '' ? '' : tag('rect', { width, height, fill: paper })}${innerSvg({ data, layout }, id)}`,
  );
}

/** What stands inside the element. */
export function innerSvg({ data, layout }: Drawing, id: string): string {
  const frame = frameOf(layout);
  const shapes = (layer: Shape['layer']): string =>
    (layout.shapes ?? [])
      .map((one) => ((one.layer ?? 'above') === layer ? shapeSvg(one, frame) : ''))
      .join('');
  const { l, t, plotWidth, plotHeight } = frame;
  const clip = `${id}-plot`;
  const clipped = (inner: string): string =>
    inner === '' ? '' : tag('g', { 'clip-path': `url(#${clip})` }, inner);
  const parts = data.map((trace) => traceSvg(trace, frame));
  return [
    tag(
      'clipPath',
      { id: clip },
      tag('rect', { x: l - 0.5, y: t - 0.5, width: plotWidth + 1, height: plotHeight + 1 }),
    ),
    clipped(shapes('below')),
    gridSvg(frame),
    clipped(shapes('between')),
    clipped(parts.map((part) => part.clipped).join('')),
    clipped(shapes('above')),
    axesSvg(frame),
    layout.showlegend ? legendSvg(data, frame) : '',
    parts.map((part) => part.free).join(''),
    (layout.annotations ?? []).map((one) => annotationSvg(one, frame)).join(''),
  ].join('');
}

interface Frame {
  layout: Layout;
  l: number;
  t: number;
  plotWidth: number;
  plotHeight: number;
  x: (name: string | undefined) => Scale;
  y: (name: string | undefined) => Scale;
}

function frameOf(layout: Layout): Frame {
  const { l, r, t, b } = layout.margin;
  const [plotWidth, plotHeight] = [layout.width - l - r, layout.height - t - b];
  const scale =
    (axis: Axis, from: number, length: number): Scale =>
    (value) =>
      from + ((value - axis.range[0]) / (axis.range[1] - axis.range[0])) * length;
  const across = (axis: Axis): Scale => {
    const [start, end] = axis.domain ?? [0, 1];
    return scale(axis, l + start * plotWidth, (end - start) * plotWidth);
  };
  const upright = (axis: Axis): Scale => {
    const [start, end] = axis.domain ?? [0, 1];
    return scale(axis, t + (1 - start) * plotHeight, (start - end) * plotHeight);
  };
  const paper = (from: number, length: number): Scale => scale({ range: [0, 1] }, from, length);
  const scales = new Map<string, Scale>();
  for (const [key, axis] of Object.entries(layout)) {
    if (/^xaxis\d*$/.test(key)) scales.set(key.replace('axis', ''), across(axis as Axis));
    if (/^yaxis\d*$/.test(key)) scales.set(key.replace('axis', ''), upright(axis as Axis));
  }
  scales.set('paper x', paper(l, plotWidth));
  scales.set('paper y', paper(t + plotHeight, -plotHeight));
  const named = (name: string, letter: string): Scale =>
    scales.get(name === 'paper' ? `paper ${letter}` : name) ?? (() => 0);
  return {
    layout,
    l,
    t,
    plotWidth,
    plotHeight,
    x: (name = 'x') => named(name, 'x'),
    y: (name = 'y') => named(name, 'y'),
  };
}

interface Tick {
  at: number;
  text: string;
}

/** Ticks of an axis: its own, or round values. */
function ticks(axis: Axis, length: number, apart: number): Tick[] {
  const { tickvals, ticktext, range } = axis;
  if (tickvals) return tickvals.map((value, i) => ({ at: value, text: ticktext?.[i] ?? '' }));
  return ticksOf(range, length / apart).map((value) => ({
    at: value,
    text: String(value).replace('-', '−'),
  }));
}

interface DrawnAxis {
  axis: Axis;
  isX: boolean;
  scale: Scale;
  ticks: Tick[];
  /** Ends of the axis, and of what stands across from it, px. */
  from: number;
  to: number;
}

function axesOf({ layout, x, y, l, t, plotWidth, plotHeight }: Frame): DrawnAxis[] {
  return Object.entries(layout).flatMap(([key, value]): DrawnAxis[] => {
    const isX = /^xaxis\d*$/.test(key);
    if (!isX && !/^yaxis\d*$/.test(key)) return [];
    const axis = value as Axis;
    if (axis.visible === false) return [];
    const name = key.replace('axis', '');
    const scale = isX ? x(name) : y(name);
    const [start, end] = axis.domain ?? [0, 1];
    const length = (end - start) * (isX ? plotWidth : plotHeight);
    const [from, to] = isX
      ? [l + start * plotWidth, l + end * plotWidth]
      : [t + (1 - end) * plotHeight, t + (1 - start) * plotHeight];
    return [{ axis, isX, scale, ticks: ticks(axis, length, isX ? (axis.domain ? 48 : 75) : 42), from, to }];
  });
}

function gridSvg(frame: Frame): string {
  const { l, t, plotWidth, plotHeight } = frame;
  const all = axesOf(frame);
  return all
    .filter(({ axis }) => axis.showgrid !== false)
    .map(({ axis, isX, scale, ticks: list }) => {
      // Lines of one axis end where the axes across from it do.
      const across = all.find((other) => other.isX !== isX && other.axis.domain);
      const ends = across && !isX ? [across.from, across.to] : undefined;
      const d = list
        .map(({ at: value }) =>
          isX
            ? `M${at(scale(value))} ${at(t)}V${at(t + plotHeight)}`
            : `M${at(ends?.[0] ?? l)} ${at(scale(value))}H${at(ends?.[1] ?? l + plotWidth)}`,
        )
        .join('');
      return tag('path', { d, stroke: axis.gridcolor, 'stroke-width': 1, fill: 'none' });
    })
    .join('');
}

function axesSvg(frame: Frame): string {
  const { l, t, plotHeight } = frame;
  const foot = t + plotHeight;
  return axesOf(frame)
    .map(({ axis, isX, scale, ticks: list, from, to }) => {
      const angle = axis.tickangle ?? 0;
      const labels = list
        .map(({ at: value, text }) => {
          if (text === '') return '';
          const px = scale(value);
          const place = isX
            ? angle === 0
              ? { x: px, y: foot + 18, 'text-anchor': 'middle' }
              : { transform: `translate(${at(px)} ${at(foot + 12)}) rotate(${angle})`, 'text-anchor': 'end' }
            : { x: l - 9, y: px + 4, 'text-anchor': 'end' };
          return tag('text', { ...place, fill: axis.color }, text);
        })
        .join('');
      const title = axis.title?.text;
      const mid = (from + to) / 2;
      const put = isX
        ? { x: mid, y: foot + 38 }
        : { transform: `translate(${at(Math.max(14, l - 44))} ${at(mid)}) rotate(-90)` };
      const titled = title
        ? tag('text', { ...put, 'text-anchor': 'middle', fill: axis.title?.font?.color }, title)
        : '';
      return labels + titled;
    })
    .join('');
}

function shapeSvg(
  { type, xref, yref, x0 = 0, x1 = 0, y0 = 0, y1 = 0, path, fillcolor, line }: Shape,
  frame: Frame,
): string {
  const [x, y] = [frame.x(xref), frame.y(yref)];
  const stroke =
    line.width > 0
      ? { stroke: line.color, 'stroke-width': line.width, 'stroke-dasharray': dashes(line.dash) }
      : {};
  if (type === 'line') {
    return tag('path', {
      d: `M${at(x(x0))} ${at(y(y0))}L${at(x(x1))} ${at(y(y1))}`,
      ...stroke,
      fill: 'none',
    });
  }
  if (type === 'rect') {
    const [left, right] = [x(x0), x(x1)].sort((a, b) => a - b);
    const [top, bottom] = [y(y0), y(y1)].sort((a, b) => a - b);
    return tag('rect', {
      x: left,
      y: top,
      width: right - left,
      height: bottom - top,
      fill: fillcolor ?? 'none',
      ...stroke,
    });
  }
  const d = (path ?? '').replace(
    /(-?[\d.e+-]+),(-?[\d.e+-]+)/g,
    (_, a, b) => `${at(x(Number(a)))} ${at(y(Number(b)))}`,
  );
  return tag('path', { d, fill: fillcolor ?? 'none', ...stroke });
}

/** A trace in two parts: what the edge of the drawing cuts, and what may reach over it. */
function traceSvg(trace: Trace, frame: Frame): { clipped: string; free: string } {
  const [x, y] = [frame.x(trace.xaxis), frame.y(trace.yaxis)];
  if (trace.type === 'bar') return { clipped: barsSvg(trace, x, y), free: '' };
  const mode = trace.mode ?? 'lines';
  if (mode === 'text') {
    const texts = textsSvg(trace, x, y, frame.layout.hoverlabel.bgcolor);
    return trace.cliponaxis === false ? { clipped: '', free: texts } : { clipped: texts, free: '' };
  }
  const lines = mode.includes('lines') ? linesSvg(trace, x, y) : '';
  const errors = errorsSvg(trace, x, y);
  return { clipped: lines + errors + (mode.includes('markers') ? marksSvg(trace, x, y) : ''), free: '' };
}

function linesSvg({ x: xs, y: ys, line, fill, fillcolor }: Trace, x: Scale, y: Scale): string {
  let d = '';
  let down = false;
  xs.forEach((value, i) => {
    const other = ys[i];
    if (value === null || other === null || !Number.isFinite(value) || !Number.isFinite(other)) {
      down = false;
      return;
    }
    d += `${down ? 'L' : 'M'}${at(x(value))} ${at(y(other))}`;
    down = true;
  });
  if (d === '') return '';
  const width = line?.width ?? 2;
  return tag('path', {
    d,
    fill: fill ? fillcolor : 'none',
    ...(width > 0
      ? {
          stroke: line?.color,
          'stroke-width': width,
          'stroke-dasharray': dashes(line?.dash),
          'stroke-linejoin': 'round',
        }
      : {}),
  });
}

function barsSvg({ x: xs, y: ys, width = 0.8, base = 0, marker }: Trace, x: Scale, y: Scale): string {
  return xs
    .map((value, i) => {
      const [left, right] = [x(base), x(base + (value ?? 0))].sort((a, b) => a - b);
      const [top, bottom] = [y((ys[i] ?? 0) - width / 2), y((ys[i] ?? 0) + width / 2)].sort((a, b) => a - b);
      return tag('rect', {
        x: left,
        y: top,
        width: right - left,
        height: bottom - top,
        fill: each(marker?.color ?? '', i),
        stroke: each(marker?.line?.color ?? 'none', i),
        'stroke-width': marker?.line?.width,
      });
    })
    .join('');
}

function marksSvg({ x: xs, y: ys, marker }: Trace, x: Scale, y: Scale): string {
  if (!marker) return '';
  const marks = xs.map((value, i) => {
    const other = ys[i];
    if (value === null || other === null || !Number.isFinite(value) || !Number.isFinite(other)) return '';
    const symbol = each(marker.symbol ?? 'circle', i);
    const open = symbol.endsWith('-open');
    const size = each(marker.size ?? 8, i);
    const colour = each(marker.color, i);
    const edge = marker.line;
    const width = (edge?.width ?? 1) * (8 / size);
    const stroke = open
      ? { stroke: colour, 'stroke-width': width }
      : edge?.color !== undefined
        ? { stroke: each(edge.color, i), 'stroke-width': width }
        : {};
    return tag('path', {
      d: shapePath(symbol.replace('-open', '')),
      transform: `translate(${at(x(value))} ${at(y(other))}) scale(${at(size / 8)})`,
      fill: open ? 'none' : colour,
      ...stroke,
    });
  });
  return marker.opacity === undefined
    ? marks.join('')
    : tag('g', { opacity: marker.opacity }, marks.join(''));
}

function errorsSvg({ x: xs, y: ys, error_x, error_y }: Trace, x: Scale, y: Scale): string {
  const bars = (error: ErrorBars | undefined, along: Scale, across: Scale, flat: boolean): string => {
    if (!error) return '';
    const d = xs
      .map((value, i) => {
        const other = ys[i];
        if (value === null || other === null) return '';
        const [own, beside] = flat ? [value, across(other)] : [other, across(value)];
        const ends = [along(own - error.arrayminus[i]), along(own + error.array[i])];
        const cap = (end: number): string =>
          error.width === 0
            ? ''
            : flat
              ? `M${at(end)} ${at(beside - error.width)}v${at(2 * error.width)}`
              : `M${at(beside - error.width)} ${at(end)}h${at(2 * error.width)}`;
        const line = flat
          ? `M${at(ends[0])} ${at(beside)}H${at(ends[1])}`
          : `M${at(beside)} ${at(ends[0])}V${at(ends[1])}`;
        return line + cap(ends[0]) + cap(ends[1]);
      })
      .join('');
    return tag('path', { d, stroke: error.color, 'stroke-width': error.thickness, fill: 'none' });
  };
  return bars(error_x, x, y, true) + bars(error_y, y, x, false);
}

/** Names of marks under the drawing, in lines. */
function legendSvg(data: readonly Trace[], { layout, l, plotWidth }: Frame): string {
  const named = data.filter(({ name, marker, showlegend }) => name && marker && showlegend !== false);
  const widest = Math.max(...named.map(({ name = '' }) => name.length)) * 7 + 30;
  const each = Math.max(1, Math.floor(plotWidth / widest));
  const from = layout.height - 17 * Math.ceil(named.length / each);
  return named
    .map((trace, k) => {
      const [x, y] = [l + (k % each) * widest, from + 17 * Math.floor(k / each)];
      const mark = marksSvg(
        { ...trace, x: [0], y: [0] },
        () => x + 6,
        () => y,
      );
      return mark + tag('text', { x: x + 18, y: y + 4, fill: layout.font.color }, trace.name);
    })
    .join('');
}

const ANCHORS = { left: 'start', center: 'middle', right: 'end' } as const;

function textsSvg(
  { x: xs, y: ys, text = '', textposition = 'middle center', textfont, cliponaxis }: Trace,
  x: Scale,
  y: Scale,
  paper: string,
): string {
  const size = textfont?.size ?? 12.5;
  // Names that stand over curves are cut free of them.
  const halo = cliponaxis === false ? { stroke: paper, 'stroke-width': 3, 'paint-order': 'stroke' } : {};
  return xs
    .map((value, i) => {
      const other = ys[i];
      if (value === null || other === null) return '';
      // A label to the left ends at its point.
      const [, side] = each(textposition, i).split(' ');
      const anchor = side === 'left' ? 'end' : side === 'right' ? 'start' : 'middle';
      return tag(
        'text',
        {
          x: x(value),
          y: y(other) + size * 0.35,
          'text-anchor': anchor,
          'font-size': size,
          fill: each(textfont?.color ?? '', i),
          'xml:space': 'preserve',
          ...halo,
        },
        each(text, i),
      );
    })
    .join('');
}

function annotationSvg(one: Annotation, frame: Frame): string {
  const {
    text,
    x = 0,
    y = 0,
    xref,
    yref,
    xshift = 0,
    yshift = 0,
    font,
    xanchor = 'center',
    yanchor = 'middle',
  } = one;
  if (text === '') return '';
  const drop = { top: font.size, middle: font.size * 0.35, bottom: -font.size * 0.3 }[yanchor];
  return tag(
    'text',
    {
      x: frame.x(xref)(x) + xshift,
      y: frame.y(yref)(y) - yshift + drop,
      'text-anchor': ANCHORS[xanchor],
      'font-size': font.size,
      fill: font.color,
    },
    text,
  );
}
