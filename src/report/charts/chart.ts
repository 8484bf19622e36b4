import { groupedBy } from '../../bench/grouped.ts';
import type { Comparison } from '../../compare/comparison.ts';
import type { InSteps } from '../../numerics/in-steps.ts';
import type { Conditions } from '../../predict/conditions.ts';
import type { Answers } from '../answers.ts';
import type { PageState, View } from '../state.ts';
import type { ChartTable } from './chart-table.ts';
import { type Drawing, scatter, type Trace } from './figure.ts';

/** Colours at this moment: by day, by night or on paper. */
export interface Ink {
  text: string;
  quiet: string;
  rule: string;
  paper: string;
  /** Of what is not in question but stays in the picture. */
  pale: string;
  hue: (place: number) => string;
}

/** The answer to draw. */
export interface Shown {
  answers: Answers;
  state: PageState;
  conditions: Conditions;
  /** The comparison at the chosen load. */
  compare: Comparison;
  view: View;
  /** A control moves: fewer points will do. */
  rough?: boolean;
}

/** Room for a drawing, px. */
export interface Size {
  width: number;
  height: number;
  /** Drawn alone as a picture for an article: names stand in it whatever its width. */
  alone?: boolean;
}

/** One chart of the page: the drawing, its numbers as a table, and what it says of itself. */
export interface Chart {
  id: string;
  title: string;
  /** Heading of a saved picture, which stands without the page. */
  savedTitle: (shown: Shown) => string;
  /** What stands under the heading of a saved picture, after the bench's name: the condition shown, unless the chart has its own. */
  savedUnder?: (shown: Shown) => string;
  /** A paragraph under the title; `undefined` where nothing is to be explained. */
  about: (shown: Shown) => string;
  /** What the drawing says to those who cannot see it; the table holds the numbers. */
  label: (shown: Shown) => string;
  /** What a saved picture says besides, in words. */
  inWords?: (shown: Shown) => string;
  /** Whether the bench has what the chart is about. */
  has: (answers: Answers) => boolean;
  /** Whether it has something to show at this state of the controls; absent: always. */
  applies?: (shown: Shown) => boolean;
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
  /** Drawn with fewer points while a control moves. */
  roughly?: boolean;
  /** What its drawing stands on where that takes long: worked out step by step once the control rests, and found when it is drawn. */
  work?: (shown: Shown) => InSteps<unknown>;
}

/** The chart library reads names as markup. */
export const unmarked = (text: string): string => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;');

export const shortened = (text: string, most = 24): string =>
  text.length > most
    ? `${text.slice(0, Math.ceil(most * 0.6))}…${text.slice(-Math.floor(most * 0.35))}`
    : text;

/**
 * Names cut to a length so that no two become the same: where ends alone would, the part that tells them apart stays in.
 *
 * @param names  distinct names
 * @param most  letters that a name may have
 * @returns the short name of each
 * @example shortNames(['Alder Tower 120 mm', 'Alder Tower 140 mm'], 12)('Alder Tower 140 mm') // 'Alder…140 m…'
 */
export function shortNames(names: readonly string[], most: number): (name: string) => string {
  const alike = groupedBy(new Set(names), (name) => shortened(name, most));
  const chosen = new Map<string, string>();
  const taken = new Set([...alike].filter(([, group]) => group.length === 1).map(([short]) => short));
  for (const [short, group] of alike) {
    if (group.length === 1) chosen.set(group[0], short);
    else {
      for (const name of group) {
        const cut = aroundDifference(name, group, most);
        let own = cut;
        for (let k = 2; taken.has(own); k++) own = `${cut.slice(0, most - 3)} (${k})`;
        taken.add(own);
        chosen.set(name, own);
      }
    }
  }
  return (name) => chosen.get(name) ?? shortened(name, most);
}

/** The beginning of a name, and its part from the first word on that not all of a group have. */
function aroundDifference(name: string, group: readonly string[], most: number): string {
  let from = 0;
  while (from < name.length && group.every((other) => other[from] === name[from])) from++;
  // A number is told whole.
  while (from > 0 && /[\p{L}\p{N}]/u.test(name[from - 1])) from--;
  const room = Math.floor(most / 2);
  const part = name.slice(from, from + room);
  const tail = from + room < name.length ? `${part.slice(0, -1)}…` : part;
  const head = name.slice(0, Math.min(from, most - tail.length - 1)).trimEnd();
  return from === 0 ? shortened(tail, most) : `${head}…${tail}`;
}

/** The same colour with another opacity. @example thin('#102030', 0.5) // 'rgba(16,32,48,0.5)' */
export function thin(colour: string, opacity: number): string {
  if (colour.startsWith('var(')) return `color-mix(in srgb, ${colour} ${100 * opacity}%, transparent)`;
  const n = Number.parseInt(colour.slice(1), 16);
  return `rgba(${n >> 16},${(n >> 8) & 255},${n & 255},${opacity})`;
}

/**
 * A colour as letters have it: drawn towards that of the text until it stands out from the paper by 4.5 to 1, which small
 * letters need (WCAG 2.2, 1.4.3) and lines and marks do not.
 */
export function lettering(colour: string, { text, paper }: Pick<Ink, 'text' | 'paper'>): string {
  if (colour.startsWith('var(')) return `color-mix(in srgb, ${colour} 60%, ${text})`;
  let mixed = colour;
  for (let share = 0.1; contrast(mixed, paper) < 4.5 && share < 1; share += 0.1) {
    mixed = blend(colour, text, share);
  }
  return mixed;
}

const channels = (colour: string): number[] =>
  [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16));

/** A colour drawn towards another by a share. */
export function blend(colour: string, other: string, share: number): string {
  const [from, to] = [channels(colour), channels(other)];
  return `#${from
    .map((c, i) =>
      Math.round(c + share * (to[i] - c))
        .toString(16)
        .padStart(2, '0'),
    )
    .join('')}`;
}

/** Contrast of two colours, 1 to 21 (WCAG 2.2). */
export function contrast(one: string, other: string): number {
  const [dark, light] = [one, other].map(luminance).sort((a, b) => a - b);
  return (light + 0.05) / (dark + 0.05);
}

function luminance(colour: string): number {
  const [r, g, b] = channels(colour).map((c) => {
    const part = c / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
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
  /** Ends of an upright error bar through the point, which no label covers. */
  bar?: readonly [number, number];
  /** Stands to the left of its point. */
  toLeft?: boolean;
}

/** Labels as one trace: far quicker to draw than as many annotations. */
export function labelTrace(labels: readonly PointLabel[], size = 12.5): Trace {
  return scatter({
    mode: 'text',
    x: labels.map((label) => label.x),
    y: labels.map((label) => label.y),
    text: labels.map(({ text, toLeft }) => (toLeft ? `${unmarked(text)}${GAP}` : `${GAP}${unmarked(text)}`)),
    textposition: labels.map(({ toLeft }) => (toLeft ? 'middle left' : 'middle right')),
    textfont: { size, color: labels.map((label) => label.colour) },
    cliponaxis: false,
    hoverinfo: 'skip',
    showlegend: false,
  });
}

/** Keeps a label off its mark. */
const GAP = '\u2003';
const GAP_PX = 13;

/** Height of a line and middling width of a letter at the labels' size, px. */
const LINE = 15;
export const LETTER = 6.9;

/** More names than this are not forced into a drawing: those that find no room near their points are left to pointer and table. */
export const MOST_NAMED = 20;

/** How far a name may stand from its point where names are many, lines. */
const FAR = 3;

/** Half of a mark with some air, px. */
const MARK = 8;

/**
 * Labels beside their points, to the right where there is room and else to the left, moved up or down until none covers
 * another or a point. A label that stands more than a line away is joined to its point by a thin line.
 *
 * @param ranges  ends of the axes
 * @param plot  size of the plotting area, px
 * @param over  px by which labels may reach over its right edge
 * @param leftCost  by how many half lines a label rather moves than stands to the left: many where curves come from there
 */
export function besidePoints(
  labels: readonly PointLabel[],
  ranges: { x: readonly [number, number]; y: readonly [number, number] },
  plot: Size,
  over: number,
  leftCost = 1,
): Trace[] {
  const px = (value: number, [low, high]: readonly [number, number], length: number): number =>
    ((value - low) / (high - low)) * length;
  const perPx = (ranges.y[1] - ranges.y[0]) / plot.height;
  const points = labels.map((label) => ({
    label,
    at: px(label.x, ranges.x, plot.width),
    wanted: plot.height - px(label.y, ranges.y, plot.height),
  }));
  const down = (value: number): number => plot.height - px(value, ranges.y, plot.height);
  const taken = points.flatMap(({ at, wanted, label: { bar } }) => [
    box(at - MARK, at + MARK, wanted, MARK),
    ...(bar ? [{ left: at - 5, right: at + 5, top: down(bar[1]), bottom: down(bar[0]) }] : []),
  ]);
  const many = labels.length > MOST_NAMED;
  const placed = points
    .toSorted((a, b) => b.label.y - a.label.y)
    .flatMap(({ label, at, wanted }): PointLabel[] => {
      const width = label.text.length * LETTER + 4;
      const sides = [
        ...(at + GAP_PX + width <= plot.width + over ? [false] : []),
        ...(at - GAP_PX - width >= 0 ? [true] : []),
      ];
      if (sides.length === 0 && !many) sides.push(at > plot.width / 2);
      const put = (toLeft: boolean, middle: number): PointLabel => {
        taken.push(boxOf(toLeft, middle));
        return { ...label, y: label.y + (wanted - middle) * perPx, toLeft };
      };
      const boxOf = (toLeft: boolean, middle: number) =>
        toLeft
          ? box(at - GAP_PX - width, at - MARK - 1, middle, LINE / 2)
          : box(at + MARK + 1, at + GAP_PX + width, middle, LINE / 2);
      // Nearest free line: the wanted one, then one down, one up, and so on.
      const steps = [...Array(many ? 4 * FAR : 40).keys()];
      const places = sides
        .flatMap((toLeft) => steps.map((k) => ({ toLeft, k, cost: k + (toLeft ? leftCost : 0) })))
        .sort((a, b) => a.cost - b.cost);
      for (const { toLeft, k } of places) {
        const middle = wanted + (k % 2 === 1 ? 1 : -1) * Math.ceil(k / 2) * (LINE / 2);
        if (middle < LINE / 2 || middle > plot.height - LINE / 2) continue;
        const own = boxOf(toLeft, middle);
        if (!taken.some((other) => meet(own, other))) return [put(toLeft, middle)];
      }
      return many ? [] : [put(sides[0], Math.min(plot.height - LINE / 2, Math.max(LINE / 2, wanted)))];
    });
  const reach = ((GAP_PX - 3) * (ranges.x[1] - ranges.x[0])) / plot.width;
  const leaders = placed.flatMap((label) => {
    const from = labels.find(({ text, x }) => text === label.text && x === label.x)?.y ?? label.y;
    if (Math.abs(label.y - from) <= LINE * perPx) return [];
    return scatter({
      mode: 'lines',
      x: [label.x, label.x + (label.toLeft ? -reach : reach)],
      y: [from, label.y],
      line: { color: label.colour, width: 0.75 },
      cliponaxis: false,
      hoverinfo: 'skip',
    });
  });
  return [...leaders, labelTrace(placed)];
}

interface Box {
  left: number;
  right: number;
  top: number;
  bottom: number;
}

const box = (left: number, right: number, middle: number, half: number): Box => ({
  left,
  right,
  top: middle - half,
  bottom: middle + half,
});

const meet = (a: Box, b: Box): boolean =>
  a.left < b.right && a.right > b.left && a.top < b.bottom && a.bottom > b.top;
