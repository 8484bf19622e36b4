import { symbol } from '../page/marks.ts';
import { type Ink, LETTER, type Shown, type Size, shortNames, thin, unmarked } from './chart.ts';
import { type ChartTable, coolers, texts } from './chart-table.ts';
import { colourOf } from './emphasis.ts';
import {
  type Annotation,
  type Drawing,
  errorBars,
  type Layout,
  type Shape,
  scatter,
  type Trace,
} from './figure.ts';
import { axis, layoutOf, NARROW, nameRoom, remark } from './layout.ts';

/** One cooler in one column: an estimate with its interval. */
export interface Cell {
  row: string;
  value: number;
  low: number;
  high: number;
  /** What stands beside it: tie letters, a number. */
  word?: string;
  beyond: boolean;
  /** Whose colour and mark it has. */
  cooler: string;
  /** What it says at the pointer. */
  says?: string;
}

/** One condition, drawn beside the others on a scale of its own. */
export interface Column {
  title: string;
  cells: readonly Cell[];
}

/** What stands side by side: the rows from top to bottom, and the conditions from left to right. */
export interface SideBySide {
  rows: readonly string[];
  columns: readonly Column[];
  unit: string;
  decimals: number;
  /** Whether the estimates stand beside their marks as numbers. */
  values?: boolean;
  /** Words under the columns. */
  title: string;
  /** Where an interval may run off. */
  range?: [number, number];
  /** A band in every column, such as what chance alone does. */
  band?: readonly [number, number];
  /** Every row in its colour, however many coolers the bench has. */
  lit?: boolean;
  /** An upright line in every column. */
  level?: number;
  /** Rows above which a new group begins. */
  groups?: readonly number[];
}

const ROW = 26;
const HEAD = 30;
const FOOT = 46;
/** Least width of a column, px: on a narrow screen columns stand beneath one another. */
const LEAST_COLUMN = 180;

/** How many columns stand beside one another at a width. */
function across(parts: SideBySide, width: number): number {
  const room = width - nameRoom(namesOf(parts, width)) - 12;
  return Math.max(1, Math.min(parts.columns.length, Math.floor(room / LEAST_COLUMN)));
}

const namesOf = ({ rows }: SideBySide, width: number): string[] =>
  rows.map(shortNames(rows, width < NARROW ? 15 : 26));

/** Height of such a drawing, px. */
export function heightOfColumns(parts: SideBySide, width: number): number {
  const tiers = Math.ceil(parts.columns.length / across(parts, width));
  return tiers * (HEAD + ROW * Math.max(1, parts.rows.length)) + FOOT;
}

/** A column in its place: its axes by name, and its ends as parts of the drawing. */
interface Spot {
  column: Column;
  x: string;
  y: string;
  /** Where its marks may stand, and where its words end. */
  from: number;
  to: number;
  end: number;
  top: number;
  bottom: number;
  /** With names to its left, and with numbers beneath. */
  isFirst: boolean;
  isLast: boolean;
}

/** Letters that a value takes with the air before what stands next to it. */
const VALUE = 6;

/** Letters of the longest word beside a mark. */
const lettersOf = ({ columns }: SideBySide): number =>
  Math.max(0, ...columns.flatMap(({ cells }) => cells.map(({ word }) => word?.length ?? 0)));

/** The columns beside and beneath one another, words to the right of each. */
function spotsOf(parts: SideBySide, beside: number, plot: { width: number; height: number }): Spot[] {
  const { columns } = parts;
  const tiers = Math.ceil(columns.length / beside);
  const words = lettersOf(parts) + (parts.values ? VALUE : 0);
  const forWords = words === 0 ? 0 : (words * LETTER + 10) / plot.width;
  const gap = 14 / plot.width;
  const each = (1 - gap * (beside - 1)) / beside;
  // A head between tiers as tall as the one above the first.
  const tierGap = HEAD / plot.height;
  const tall = (1 - tierGap * (tiers - 1)) / tiers;
  return columns.map((column, k) => {
    const [col, tier] = [k % beside, Math.floor(k / beside)];
    const from = col * (each + gap);
    const top = 1 - tier * (tall + tierGap);
    const name = k === 0 ? '' : String(k + 1);
    return {
      column,
      x: `x${name}`,
      y: `y${name}`,
      from,
      to: Math.max(from + 0.02, from + each - forWords),
      end: from + each,
      top,
      bottom: Math.max(0, top - tall),
      isFirst: col === 0,
      isLast: tier === tiers - 1,
    };
  });
}

/** One scale for all columns: where it is given, else over all intervals, with some air. */
function rangeOf({ columns, range }: SideBySide): [number, number] {
  const all = columns.flatMap((c) => c.cells);
  const [low, high] = range ?? [Math.min(...all.map((c) => c.low)), Math.max(...all.map((c) => c.high))];
  const air = (high - low || 1) * 0.05;
  return [low - air, high + air];
}

/** Estimates with intervals, a column a condition, one row for each name, all on one scale. */
export function drawColumns(shown: Shown, ink: Ink, size: Size, parts: SideBySide): Drawing {
  const names = namesOf(parts, size.width);
  const left = nameRoom(names);
  const margin = { l: left, r: 12, t: HEAD, b: FOOT };
  const plot = { width: size.width - left - margin.r, height: size.height - margin.t - margin.b };
  const spots = spotsOf(parts, across(parts, size.width), plot);
  const range = rangeOf(parts);
  const rows: [number, number] = [parts.rows.length - 0.5, -0.5];
  const rowOf = new Map(parts.rows.map((name, i) => [name, i]));
  const layout: Layout = layoutOf(ink, size, margin, { range }, { range: rows });
  for (const { x, y, from, to, top, bottom, isFirst, isLast } of spots) {
    layout[x.replace('x', 'xaxis')] = axis(ink, {
      range,
      more: {
        domain: [from, to],
        anchor: y,
        ...(isLast ? {} : { tickvals: [], ticktext: [], tickmode: 'array' as const }),
      },
    });
    layout[y.replace('y', 'yaxis')] = axis(ink, {
      range: rows,
      bare: true,
      rows: { names: isFirst ? names : names.map(() => ''), at: (row) => row },
      more: { domain: [bottom, top], anchor: x },
    });
  }
  return {
    data: spots.flatMap((spot) => marksIn(shown, ink, parts, spot, { range, rowOf })),
    layout: {
      ...layout,
      shapes: spots.flatMap((spot) => shapesIn(ink, parts, spot)),
      annotations: [
        ...spots.flatMap((spot) => wordsIn(ink, parts, spot, rowOf)),
        remark(unmarked(parts.title), ink, {
          xref: 'paper',
          x: 1,
          yref: 'paper',
          y: 0,
          xanchor: 'right',
          yanchor: 'top',
          yshift: -24,
        }),
      ],
    },
  };
}

type RowOf = ReadonlyMap<string, number>;

/** Marks with their intervals, which end at the edges of the scale. */
function marksIn(
  shown: Shown,
  ink: Ink,
  { lit, unit, decimals }: SideBySide,
  { column, x, y }: Spot,
  { range, rowOf }: { range: [number, number]; rowOf: RowOf },
): Trace[] {
  const { places } = shown.answers;
  const colour = lit ? (cooler: string) => ink.hue(places.get(cooler) ?? 0) : colourOf(shown, ink);
  return column.cells.flatMap((cell) => {
    const row = rowOf.get(cell.row);
    if (row === undefined) return [];
    const hue = colour(cell.cooler);
    const [value, low, high] = [cell.value, cell.low, cell.high].map((one) => one.toFixed(decimals));
    const says = cell.says ?? `${cell.row}, ${column.title}: ${value} ${unit} (${low} to ${high})`;
    return scatter({
      mode: 'markers',
      xaxis: x,
      yaxis: y,
      x: [cell.value],
      y: [row],
      marker: {
        symbol: symbol(places.get(cell.cooler) ?? 0) + (cell.beyond ? '-open' : ''),
        size: 8,
        color: hue,
        line: { width: 1.5, color: hue },
      },
      error_x: errorBars(
        [{ ...cell, low: Math.max(range[0], cell.low), high: Math.min(range[1], cell.high) }],
        hue,
        1.75,
        0,
      ),
      customdata: [cell.cooler],
      hovertemplate: `${unmarked(says)}<extra></extra>`,
    });
  });
}

/** The band, the upright line, and the lines above and beneath a column. */
function shapesIn(
  ink: Ink,
  { band, level, rows, groups = [] }: SideBySide,
  { x, y, from, to, top, bottom }: Spot,
): Shape[] {
  const upright = { xref: x, yref: y, y0: -0.5, y1: rows.length - 0.5 };
  const across = (yref: string, at: number): Shape => ({
    type: 'line',
    xref: 'paper',
    yref,
    x0: from,
    x1: to,
    y0: at,
    y1: at,
    line: { width: 1, color: ink.rule },
  });
  const shapes = [
    ...groups.map((row) => across(y, row - 0.5)),
    ...[bottom, top].map((at) => across('paper', at)),
  ];
  if (level !== undefined) {
    shapes.unshift({ type: 'line', ...upright, x0: level, x1: level, line: { width: 1, color: ink.text } });
  }
  if (band) {
    shapes.unshift({
      type: 'rect',
      layer: 'below',
      ...upright,
      x0: band[0],
      x1: band[1],
      fillcolor: thin(ink.quiet, 0.12),
      line: { width: 0 },
    });
  }
  return shapes;
}

/** The heading of a column, and what stands beside its marks. */
function wordsIn(
  ink: Ink,
  parts: SideBySide,
  { column, y, from, end, top }: Spot,
  rowOf: RowOf,
): Annotation[] {
  const letters = (lettersOf(parts) + 1) * LETTER;
  return [
    remark(unmarked(column.title), ink, {
      xref: 'paper',
      x: from,
      yref: 'paper',
      y: top,
      xanchor: 'left',
      yanchor: 'bottom',
      yshift: 3,
    }),
    ...column.cells.flatMap(({ word, value, row }) => {
      const at = { xref: 'paper', x: end, yref: y, y: rowOf.get(row), xanchor: 'right' } as const;
      if (at.y === undefined) return [];
      return [
        ...(parts.values ? [remark(value.toFixed(parts.decimals), ink, { ...at, xshift: -letters })] : []),
        ...(word === undefined ? [] : [remark(unmarked(word), ink, at)]),
      ];
    }),
  ];
}

/** The numbers of it, one row a cell. */
export function columnsTable(caption: string, condition: string, parts: SideBySide): ChartTable {
  const unit = parts.unit === '°C' ? 'C' : parts.unit;
  const number = { unit, kind: 'number' as const, decimals: parts.decimals + 1 };
  return {
    caption,
    columns: [
      coolers('cooler'),
      texts(condition),
      { name: 'value', ...number },
      { name: 'low', ...number },
      { name: 'high', ...number },
      texts('beside'),
      texts('beyond what was run'),
    ],
    rows: parts.columns.flatMap((column) =>
      column.cells.map((cell) => [
        cell.row,
        column.title,
        cell.value,
        cell.low,
        cell.high,
        cell.word ?? '',
        cell.beyond ? 'yes' : 'no',
      ]),
    ),
  };
}
