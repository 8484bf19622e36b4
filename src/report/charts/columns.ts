import { symbol } from '../page/marks.ts';
import { type Ink, LETTER, type Shown, type Size, shortNames, thin, unmarked } from './chart.ts';
import type { ChartTable } from './chart-table.ts';
import { colourOf } from './emphasis.ts';
import { type Drawing, errorBars, type Layout, type Shape, scatter } from './figure.ts';
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
}

const ROW = 26;
const HEAD = 30;
const FOOT = 46;
/** Least width of a column, px: on a narrow screen columns stand beneath one another. */
const LEAST_COLUMN = 130;

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

/** Estimates with intervals, a column a condition, one row for each name, all on one scale. */
export function drawColumns(shown: Shown, ink: Ink, size: Size, parts: SideBySide): Drawing {
  const names = namesOf(parts, size.width);
  const beside = across(parts, size.width);
  const tiers = Math.ceil(parts.columns.length / beside);
  const left = nameRoom(names);
  const margin = { l: left, r: 12, t: HEAD, b: FOOT };
  const plot = { width: size.width - left - margin.r, height: size.height - margin.t - margin.b };
  const words = Math.max(0, ...parts.columns.flatMap((c) => c.cells.map((cell) => cell.word?.length ?? 0)));
  const forWords = words === 0 ? 0 : (words * LETTER + 10) / plot.width;
  const gap = 14 / plot.width;
  const each = (1 - gap * (beside - 1)) / beside;
  // A head between tiers as tall as the one above the first.
  const tierGap = HEAD / plot.height;
  const tall = (1 - tierGap * (tiers - 1)) / tiers;
  const all = parts.columns.flatMap((c) => c.cells);
  const [low, high] = parts.range ?? [
    Math.min(...all.map((c) => c.low)),
    Math.max(...all.map((c) => c.high)),
  ];
  const air = (high - low || 1) * 0.05;
  const range: [number, number] = [low - air, high + air];
  const colour = parts.lit
    ? (cooler: string) => ink.hue(shown.answers.places.get(cooler) ?? 0)
    : colourOf(shown, ink);
  const rowOf = new Map(parts.rows.map((name, i) => [name, i]));
  const count = parts.rows.length;
  const spots = parts.columns.map((column, k) => {
    const [col, tier] = [k % beside, Math.floor(k / beside)];
    const from = col * (each + gap);
    const top = 1 - tier * (tall + tierGap);
    const name = k === 0 ? '' : String(k + 1);
    return {
      column,
      x: `x${name}`,
      y: `y${name}`,
      from,
      to: from + each - forWords,
      end: from + each,
      top,
      bottom: top - tall,
      col,
      tier,
    };
  });
  const layout: Layout = layoutOf(ink, size, margin, { range }, { range: [count - 0.5, -0.5] });
  for (const { x, y, from, to, top, bottom, col, tier } of spots) {
    const last = tier === tiers - 1 || tier === Math.ceil(parts.columns.length / beside) - 1;
    layout[x.replace('x', 'xaxis')] = axis(ink, {
      range,
      more: {
        domain: [from, Math.max(from + 0.02, to)],
        anchor: y,
        ...(last ? {} : { tickvals: [], ticktext: [], tickmode: 'array' as const }),
      },
    });
    layout[y.replace('y', 'yaxis')] = axis(ink, {
      range: [count - 0.5, -0.5],
      bare: true,
      rows: { names: col === 0 ? names : names.map(() => ''), at: (row) => row },
      more: { domain: [Math.max(0, bottom), top], anchor: x },
    });
  }
  const { level, band } = parts;
  return {
    data: spots.flatMap(({ column, x, y }) => {
      const cells = column.cells.filter((cell) => rowOf.has(cell.row));
      const at = cells.map((cell) => rowOf.get(cell.row) ?? 0);
      const hues = cells.map((cell) => colour(cell.cooler));
      return [
        ...cells.map((cell, i) =>
          scatter({
            mode: 'markers',
            xaxis: x,
            yaxis: y,
            x: [cell.value],
            y: [at[i]],
            marker: {
              symbol: symbol(shown.answers.places.get(cell.cooler) ?? 0) + (cell.beyond ? '-open' : ''),
              size: 8,
              color: hues[i],
              line: { width: 1.5, color: hues[i] },
            },
            error_x: errorBars(
              [{ ...cell, low: Math.max(range[0], cell.low), high: Math.min(range[1], cell.high) }],
              hues[i],
              1.75,
              0,
            ),
            customdata: [cell.cooler],
            hovertemplate: `${unmarked(cell.says ?? `${cell.row}, ${column.title}: ${cell.value.toFixed(parts.decimals)} ${parts.unit} (${cell.low.toFixed(parts.decimals)} to ${cell.high.toFixed(parts.decimals)})`)}<extra></extra>`,
          }),
        ),
      ];
    }),
    layout: {
      ...layout,
      shapes: spots.flatMap(({ x, y, from, to, top, bottom }): Shape[] => [
        ...(band
          ? [
              {
                type: 'rect' as const,
                layer: 'below' as const,
                xref: x,
                yref: y,
                x0: band[0],
                x1: band[1],
                y0: -0.5,
                y1: count - 0.5,
                fillcolor: thin(ink.quiet, 0.12),
                line: { width: 0 },
              },
            ]
          : []),
        ...(level === undefined
          ? []
          : [
              {
                type: 'line' as const,
                xref: x,
                yref: y,
                x0: level,
                x1: level,
                y0: -0.5,
                y1: count - 0.5,
                line: { width: 1, color: ink.text },
              },
            ]),
        ...[Math.max(0, bottom), top].map(
          (y): Shape => ({
            type: 'line',
            xref: 'paper',
            yref: 'paper',
            x0: from,
            x1: to,
            y0: y,
            y1: y,
            line: { width: 1, color: ink.rule },
          }),
        ),
      ]),
      annotations: [
        ...spots.map(({ column, from, top }) =>
          remark(unmarked(column.title), ink, {
            xref: 'paper',
            x: from,
            yref: 'paper',
            y: top,
            xanchor: 'left',
            yanchor: 'bottom',
            yshift: 3,
          }),
        ),
        ...spots.flatMap(({ column, y, end }) =>
          column.cells.flatMap((cell) =>
            cell.word === undefined || !rowOf.has(cell.row)
              ? []
              : [
                  remark(unmarked(cell.word), ink, {
                    xref: 'paper',
                    x: end,
                    yref: y,
                    y: rowOf.get(cell.row),
                    xanchor: 'right',
                  }),
                ],
          ),
        ),
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

/** The numbers of it, one row a cell. */
export function columnsTable(caption: string, condition: string, parts: SideBySide): ChartTable {
  const unit = parts.unit === '°C' ? 'C' : parts.unit;
  const number = { unit, kind: 'number' as const, decimals: parts.decimals + 1 };
  return {
    caption,
    columns: [
      { name: 'cooler', kind: 'cooler' },
      { name: condition, kind: 'text' },
      { name: 'value', ...number },
      { name: 'low', ...number },
      { name: 'high', ...number },
      { name: 'beside', kind: 'text' },
      { name: 'beyond what was run', kind: 'text' },
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
