import type { CompareResult, Conditions } from '../../results.ts';
import type { Answers } from '../answers.ts';
import type { PageState } from '../state.ts';
import type { ChartTable } from './chart-table.ts';

export type PlotlyTrace = Record<string, unknown>;
export type PlotlyLayout = Record<string, unknown>;

/** Colours at this moment: by day, by night or on paper. */
export interface Ink {
  text: string;
  quiet: string;
  rule: string;
  paper: string;
  hue: (place: number) => string;
}

/** What the reader chose to see in the charts. */
export interface View {
  /** Rise in K, or rise per watt in K/W, which tells coolers apart that run close together. */
  measure: 'rise' | 'resistance';
  /** Coolers that are not drawn against load. */
  hidden: ReadonlySet<string>;
  /** Whose differences are drawn: those of the cooler in front, of a named one, or of every pair. */
  against: { kind: 'front' } | { kind: 'all' } | { kind: 'cooler'; cooler: string };
}

/** The answer to draw. */
export interface Shown {
  answers: Answers;
  state: PageState;
  conditions: Conditions;
  /** The comparison at the chosen load. */
  compare: CompareResult;
  view: View;
}

/** Room for a drawing, px. */
export interface Size {
  width: number;
  height: number;
  /** Drawn alone as a picture for an article: names stand in it whatever its width. */
  alone?: boolean;
}

export interface Drawing {
  data: PlotlyTrace[];
  layout: PlotlyLayout;
}

/** One chart of the page: the drawing, its numbers as a table, and what it says of itself. */
export interface Chart {
  id: string;
  title: string;
  /** Heading of a saved picture, which stands without the page. */
  savedTitle: (shown: Shown) => string;
  /** A paragraph under the title; `undefined` where nothing is to be explained. */
  about: (shown: Shown) => string;
  /** What the drawing says to those who cannot see it; the table holds the numbers. */
  label: (shown: Shown) => string;
  /** Whether the bench has what the chart is about. */
  has: (answers: Answers) => boolean;
  table: (shown: Shown) => ChartTable;
  draw: (shown: Shown, ink: Ink, size: Size) => Drawing;
  /** Height for a width, px. */
  height: (shown: Shown, width: number) => number;
  /** What the drawing depends on beside the source: the chosen load, the speed condition, or neither. */
  follows: 'load' | 'condition' | 'source';
  /**
   * Where the chosen load stands in a drawing of this size, px: the page lays its own line there, which moves in no time. A
   * drawing that stands alone holds the line itself.
   */
  loadAt?: (shown: Shown, size: Size) => { x: number; top: number; bottom: number };
  /** Its height grows with its rows, so that a picture of it cannot be of any height. */
  byRows?: boolean;
  /** Takes long to work out for a new condition, so it follows when the control rests. */
  atRest?: boolean;
}

/** The chart library reads names as markup. */
export const unmarked = (text: string): string => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;');

export const shortened = (text: string, most = 24): string =>
  text.length > most
    ? `${text.slice(0, Math.ceil(most * 0.6))}…${text.slice(-Math.floor(most * 0.35))}`
    : text;

/** The same colour with another opacity. @example thin('#102030', 0.5) // 'rgba(16,32,48,0.5)' */
export function thin(colour: string, opacity: number): string {
  const n = Number.parseInt(colour.slice(1), 16);
  return `rgba(${n >> 16},${(n >> 8) & 255},${n & 255},${opacity})`;
}

export interface Label {
  text: string;
  y: number;
  place: number;
}

/** Labels pushed apart so that none covers another, within the ends of the axis. */
export function parted(
  labels: readonly Label[],
  [bottom, top]: readonly [number, number],
  each: number,
): Label[] {
  const sorted = labels
    .filter((l) => Number.isFinite(l.y))
    .map((l) => ({ ...l, y: Math.max(bottom, Math.min(top, l.y)) }));
  sorted.sort((a, b) => a.y - b.y);
  for (let sweep = 0; sweep < 80; sweep++) {
    for (let i = 1; i < sorted.length; i++) {
      const lack = each - (sorted[i].y - sorted[i - 1].y);
      if (lack > 0) {
        sorted[i].y += lack / 2;
        sorted[i - 1].y -= lack / 2;
      }
    }
    const first = sorted[0];
    const last = sorted[sorted.length - 1];
    if (first && first.y < bottom) first.y = bottom;
    if (last && last.y > top) last.y = top;
  }
  return sorted;
}

/** A label beside a point of a drawing. */
export interface PointLabel {
  text: string;
  x: number;
  y: number;
  colour: string;
  /** Stands to the left of its point. */
  toLeft?: boolean;
}

/** Labels as one trace: far quicker to draw than as many annotations. */
export function labelTrace(labels: readonly PointLabel[], size = 12.5): PlotlyTrace {
  return {
    type: 'scatter',
    mode: 'text',
    x: labels.map((label) => label.x),
    y: labels.map((label) => label.y),
    text: labels.map(({ text, toLeft }) => (toLeft ? `${unmarked(text)}${GAP}` : `${GAP}${unmarked(text)}`)),
    textposition: labels.map(({ toLeft }) => (toLeft ? 'middle left' : 'middle right')),
    textfont: { size, color: labels.map((label) => label.colour) },
    cliponaxis: false,
    hoverinfo: 'skip',
  };
}

/** Keeps a label off its mark. */
const GAP = '\u2003';

/** Height of a line and middling width of a letter at the labels' size, px. */
const LINE = 15;
export const LETTER = 6.9;

/**
 * Labels beside their points, to the right where there is room, moved up or down until none covers another.
 *
 * @param ranges  ends of the axes
 * @param plot  size of the plotting area, px
 * @param over  px by which labels may reach over its right edge
 */
export function besidePoints(
  labels: readonly PointLabel[],
  ranges: { x: readonly [number, number]; y: readonly [number, number] },
  plot: Size,
  over: number,
): PlotlyTrace {
  const taken: { left: number; right: number; middle: number }[] = [];
  const px = (value: number, [low, high]: readonly [number, number], length: number): number =>
    ((value - low) / (high - low)) * length;
  const perPx = (ranges.y[1] - ranges.y[0]) / plot.height;
  const placed = [...labels]
    .sort((a, b) => b.y - a.y)
    .map(({ text, x, y, colour }): PointLabel => {
      const at = px(x, ranges.x, plot.width);
      const width = text.length * LETTER + 10;
      const toLeft = at + width > plot.width + over;
      const [left, right] = toLeft ? [at - width, at] : [at, at + width];
      const wanted = plot.height - px(y, ranges.y, plot.height);
      let middle = wanted;
      // Nearest free line: the wanted one, then one down, one up, and so on.
      for (let k = 0; k < 40; k++) {
        middle = wanted + (k % 2 === 1 ? 1 : -1) * Math.ceil(k / 2) * (LINE / 2);
        if (middle < LINE / 2 || middle > plot.height - LINE / 2) continue;
        if (!taken.some((t) => t.left < right && t.right > left && Math.abs(t.middle - middle) < LINE)) break;
      }
      taken.push({ left, right, middle });
      return { text, x, y: y + (wanted - middle) * perPx, colour, toLeft };
    });
  return labelTrace(placed);
}
