import { BEYOND_MARK, chance, listOf, load, percent } from '../../answers/text/wording.ts';
import type { OrderEntry } from '../../compare/comparison.ts';
import { symbol } from '../page/marks.ts';
import { type Chart, LETTER, type Shown, shortNames, thin, unmarked } from './chart.ts';
import { coolers, numbers, texts } from './chart-table.ts';
import { colourOf, focusOf, STANDING_WORDS, standings } from './emphasis.ts';
import { errorBars, scatter, type Trace } from './figure.ts';
import { axis, layoutOf, NARROW, nameRoom, remark } from './layout.ts';
import { type RiseScale, riseScale } from './scale.ts';

/**
 * Bars of the rise at the chosen load with intervals, values and tie letters.
 *
 * Bars stand in order of their estimates, but no place is printed: coolers that share a letter have none. Values and letters stand in
 * columns beside the bars, where no interval runs through them.
 */
export const barsChart: Chart = {
  id: 'bars',
  title: 'The order as a chart',
  savedTitle: ({ state, view }) =>
    `${view.unit === 'K' ? 'Rise above ambient' : 'Source temperature'} at ${load(state.power_W)}`,
  follows: 'load',
  byRows: true,
  about: (shown) => {
    const { compare, view } = shown;
    const focus = focusOf(shown);
    const what = view.unit === 'K' ? 'the rise above ambient' : 'the temperature of the source in that room';
    const beside =
      focus === undefined
        ? ''
        : ` The last column is how each stands to ${focus}: a tie, or told apart as cooler or warmer.`;
    const beyond = entries(compare).some((e) => e.extrapolated)
      ? ' Paler bars and a star: beyond the loads, speeds or source run, so extrapolated.'
      : '';
    return `Bars are ${what}, lines and brackets its ${percent(compare.level)} intervals. Coolers that share a letter are not told apart, and their order is then no ranking.${beside}${beyond}`;
  },
  inWords: ({ compare }) => tiesInWords(entries(compare)),
  label: ({ state, compare }) =>
    `Bars of the rise above ambient of ${compare.loads[0]?.order.length ?? 0} coolers at ${load(state.power_W)}, with intervals and tie letters.`,
  has: () => true,
  height: ({ compare }) => 76 + 30 * (compare.loads[0]?.order.length ?? 1),
  table: (shown) => {
    const { compare, state, answers } = shown;
    const prices = new Map(answers.bench.coolers.map((one) => [one.cooler, one.price]));
    const priced = [...prices.values()].some((price) => price !== undefined);
    const standing = standings(shown);
    return {
      caption: `Rise above ambient at ${load(state.power_W)}`,
      columns: [
        coolers('cooler'),
        numbers('rise', 'K', 2),
        numbers('low', 'K', 2),
        numbers('high', 'K', 2),
        numbers('source', 'C', 1),
        texts('letters'),
        { name: 'chance of being coolest', kind: 'number', words: (p) => `${chance(p)} %` },
        texts('beyond what was run'),
        ...(standing.size > 0 ? [texts(`beside ${focusOf(shown)}`)] : []),
        ...(priced ? [numbers('price', '', 2)] : []),
      ],
      rows: entries(compare).map((e) => [
        e.cooler,
        e.rise_K,
        e.mean_low_K,
        e.mean_high_K,
        state.ambient_C + e.rise_K,
        e.tiers.join(' '),
        e.p_best,
        e.extrapolated ? 'yes' : 'no',
        ...(standing.size > 0 ? [STANDING_WORDS[standing.get(e.cooler) ?? 'tie']] : []),
        ...(priced ? [prices.get(e.cooler) ?? null] : []),
      ]),
    };
  },
  draw: (shown, ink, size) => {
    const order = entries(shown.compare);
    const scale = riseScale(shown);
    const rows = order.map((e) => ({
      value: e.rise_K + scale.add,
      low: e.mean_low_K + scale.add,
      high: e.mean_high_K + scale.add,
    }));
    const y = order.map((_, i) => i);
    const narrow = size.width < NARROW;
    const coolers = order.map((e) => e.cooler);
    const names = coolers.map(shortNames(coolers, narrow ? 15 : 26));
    const left = nameRoom(names);
    const colour = colourOf(shown, ink);
    const hues = order.map((e) => colour(e.cooler));
    const columns = columnsOf(shown, order, rows, size.width - left);
    const share = 1 - columns.width / (size.width - left - 12);
    const values = rows.flatMap((row) => [row.low, row.high]);
    const from = Math.min(scale.add, ...values);
    const to = Math.max(...values, from + 1);
    return {
      data: [
        barsOf(order, rows, scale, hues),
        scatter({
          mode: 'markers',
          x: rows.map(({ value }) => value),
          y,
          marker: {
            symbol: coolers.map((name) => symbol(shown.answers.places.get(name) ?? 0)),
            size: 8,
            color: hues,
          },
          error_x: errorBars(rows, ink.text),
          hoverinfo: 'skip',
        }),
        scatter({
          mode: 'text',
          xaxis: 'x2',
          x: columns.cells.map((cell) => cell.x),
          y: columns.cells.map((cell) => cell.row),
          text: columns.cells.map((cell) => cell.text),
          textposition: 'middle left',
          textfont: { size: 12.5, color: ink.text },
          cliponaxis: false,
          hoverinfo: 'skip',
        }),
      ],
      layout: {
        ...layoutOf(
          ink,
          size,
          { l: left, r: 12, t: 26, b: 44 },
          {
            title: scale.axis(narrow ? '' : ` at ${load(shown.state.power_W)}`),
            range: [from, to + (to - from) * 0.02],
            more: { domain: [0, share] },
          },
          { range: [order.length - 0.4, -0.6], bare: true, rows: { names, at: (row) => row } },
        ),
        bargap: 0.3,
        xaxis2: { ...axis(ink, { range: [0, columns.width] }), visible: false, domain: [share, 1] },
        annotations: columns.heads.map(({ text, x }) =>
          remark(text, ink, { xref: 'x2', x, yref: 'paper', y: 1, xanchor: 'right', yanchor: 'bottom' }),
        ),
      },
    };
  },
};

/** Bars as pale as what is extrapolated. */
const barsOf = (
  order: readonly OrderEntry[],
  rows: readonly { value: number; low: number; high: number }[],
  { add, unit }: RiseScale,
  hues: readonly string[],
): Trace => ({
  type: 'bar',
  orientation: 'h',
  x: rows.map(({ value }) => value - add),
  y: order.map((_, i) => i),
  base: add,
  width: 0.62,
  marker: {
    color: order.map((e, i) => thin(hues[i], e.extrapolated ? 0.1 : 0.3)),
    line: { color: hues, width: 1.25 },
  },
  hovertemplate: order.map(
    (e, i) =>
      `${unmarked(e.cooler)}: ${rows[i].value.toFixed(1)} ${unit} (${rows[i].low.toFixed(1)} to ${rows[i].high.toFixed(1)}), chance of being coolest ${chance(e.p_best)} %<extra></extra>`,
  ),
  customdata: order.map((e) => e.cooler),
});

const entries = (compare: Shown['compare']): readonly OrderEntry[] => compare.loads[0]?.order ?? [];

/** More letters than this say more as letters than in words. */
const MOST_TIES = 8;

/** Who is not told apart from whom, letter by letter. */
export function tiesInWords(order: readonly OrderEntry[]): string {
  const letters = [...new Set(order.flatMap((e) => e.tiers))];
  const groups = letters
    .map((letter) => order.filter((e) => e.tiers.includes(letter)).map((e) => e.cooler))
    .filter((group) => group.length > 1);
  if (groups.length === 0) return 'All are told apart from each other.';
  if (groups.length > MOST_TIES) return '';
  return `Not told apart: ${groups.map((group) => listOf(group, 12)).join('; ')}.`;
}

interface Columns {
  width: number;
  /** Texts that end at so many px from the left of the columns. */
  cells: { row: number; x: number; text: string }[];
  heads: { text: string; x: number }[];
}

/** What stands beside the bars: the value, its interval where there is room, the letters one under another, the standing. */
function columnsOf(
  shown: Shown,
  order: readonly OrderEntry[],
  rows: readonly { value: number; low: number; high: number }[],
  room: number,
): Columns {
  const letters = [...new Set(order.flatMap((e) => e.tiers))];
  const standing = standings(shown);
  const found: Columns = { width: 10, cells: [], heads: [] };
  const add = (head: string, texts: readonly string[], gap = 14): void => {
    const longest = Math.max(head.length * 0.95, ...texts.map((text) => text.length)) * LETTER;
    found.width += longest + gap;
    for (const [row, text] of texts.entries())
      if (text !== '') found.cells.push({ row, x: found.width, text });
    if (head !== '') found.heads.push({ text: head, x: found.width });
  };
  add(
    riseScale(shown).unit,
    rows.map(({ value }, i) => value.toFixed(1) + (order[i].extrapolated ? BEYOND_MARK : '')),
  );
  if (room > 560)
    add(
      percent(shown.compare.level),
      rows.map(({ low, high }) => `${low.toFixed(1)} to ${high.toFixed(1)}`),
    );
  // Letters one under another show who ties at a glance; where they are too many, each cooler's stand together.
  const apart = letters.length * 15 < room * 0.3;
  if (apart) {
    for (const [k, letter] of letters.entries()) {
      add(
        '',
        order.map((e) => (e.tiers.includes(letter) ? letter : '')),
        k === 0 ? 18 : 8,
      );
    }
    found.heads.push({ text: 'ties', x: Math.max(found.width, (found.heads.at(-1)?.x ?? 0) + 34) });
  } else
    add(
      'ties',
      order.map((e) => e.tiers.join('')),
    );
  found.width = Math.max(found.width, found.heads.at(-1)?.x ?? 0);
  if (standing.size > 0)
    add(
      '',
      order.map((e) => STANDING_WORDS[standing.get(e.cooler) ?? 'tie']),
    );
  return found;
}
