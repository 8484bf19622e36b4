import { load, percent } from '../../answers/text/wording.ts';
import { type Chart, type Shown, shortened, shortNames, unmarked } from './chart.ts';
import { coolers, numbers, texts } from './chart-table.ts';
import { referenceOf } from './emphasis.ts';
import { errorBars, scatter } from './figure.ts';
import { edgeToEdge, layoutOf, NARROW, nameRoom, remark } from './layout.ts';

/** The difference of two coolers at the chosen load, the one that is in front named first. */
export interface PairRow {
  one: string;
  other: string;
  rise_K: number;
  low_K: number;
  high_K: number;
  told: boolean;
}

/**
 * Pairs at the chosen load, all or those of one cooler; those with the coolers in front first.
 *
 * `rise_K` is the other's rise less the one's, so that it is what the one is ahead by.
 *
 * @param named  the cooler that comes first in each
 */
function pairRows({ compare }: Shown, named?: string): PairRow[] {
  const rank = new Map(compare.loads[0]?.order.map((e, i) => [e.cooler, i]));
  const rankOf = (name: string): number => rank.get(name) ?? rank.size;
  return compare.pairs
    .filter(({ a, b }) => named === undefined || a === named || b === named)
    .map((pair): PairRow => {
      const { rise_K, low_K, high_K } = pair.difference[0];
      const turned = named === undefined ? rankOf(pair.a) < rankOf(pair.b) : pair.a === named;
      return {
        one: turned ? pair.a : pair.b,
        other: turned ? pair.b : pair.a,
        rise_K: turned ? -rise_K : rise_K,
        low_K: turned ? -high_K : low_K,
        high_K: turned ? -low_K : high_K,
        told: pair.resolved.length > 0,
      };
    })
    .sort((x, y) => rankOf(x.one) - rankOf(y.one) || rankOf(x.other) - rankOf(y.other));
}

/** The pairs that are drawn: those of the chosen cooler, or of the one in front; or all. */
const drawnPairs = (shown: Shown): PairRow[] =>
  pairRows(shown, shown.view.allPairs ? undefined : referenceOf(shown));

/**
 * Differences at the chosen load: a full dot where the two are told apart, a hollow one with a thin line where they tie.
 */
export const pairsChart: Chart = {
  id: 'pairs',
  title: 'Differences between coolers',
  savedTitle: ({ state }) => `Differences between coolers at ${load(state.power_W)}`,
  follows: 'load',
  byRows: true,
  about: ({ compare }) =>
    `How much cooler the first of two coolers is. The intervals of all pairs hold together at ${percent(compare.level)}: a full mark is a pair told apart, a hollow one a tie.`,
  label: ({ state, compare }) =>
    `Differences of the true mean rise between pairs of ${compare.loads[0]?.order.length ?? 0} coolers at ${load(state.power_W)}, with intervals.`,
  has: (answers) => answers.places.size > 1,
  height: ({ compare: { loads, pairs }, view }) =>
    68 + 26 * Math.max(1, view.allPairs ? pairs.length : (loads[0]?.order.length ?? 1) - 1),
  table: (shown) => ({
    caption: `Differences of the true mean rise at ${load(shown.state.power_W)}, every pair`,
    columns: [
      coolers('cooler'),
      coolers('cooler than'),
      numbers('by', 'K', 2),
      numbers('low', 'K', 2),
      numbers('high', 'K', 2),
      texts('verdict'),
    ],
    rows: pairRows(shown).map((p) => [
      p.one,
      p.other,
      p.rise_K,
      p.low_K,
      p.high_K,
      p.told ? 'told apart' : 'a tie',
    ]),
  }),
  draw: (shown, ink, size) => {
    const pairs = drawnPairs(shown);
    const narrow = size.width < NARROW;
    const oneName = new Set(pairs.map((p) => p.one)).size === 1 && pairs.length > 0;
    const coolers = pairs.flatMap((p) => [p.one, p.other]);
    const short = shortNames(coolers, oneName ? (narrow ? 15 : 26) : narrow ? 10 : 18);
    const names = pairs.map((p) => {
      if (oneName) return `than ${short(p.other)}`;
      return `${short(p.one)} ${narrow ? '/' : 'than'} ${short(p.other)}`;
    });
    const reach = [Math.min(0, ...pairs.map((p) => p.low_K)), Math.max(0, ...pairs.map((p) => p.high_K))];
    const air = (reach[1] - reach[0]) * 0.03 || 1;
    const data = [true, false].map((told) => {
      const own = pairs.map((p, i) => ({ p, i })).filter(({ p }) => p.told === told);
      return scatter({
        mode: 'markers',
        x: own.map(({ p }) => p.rise_K),
        y: own.map(({ i }) => i),
        marker: {
          symbol: told ? 'circle' : 'circle-open',
          size: told ? 9 : 8,
          color: told ? ink.text : ink.quiet,
          line: { width: 1.75, color: told ? ink.text : ink.quiet },
        },
        error_x: errorBars(
          own.map(({ p }) => ({ value: p.rise_K, low: p.low_K, high: p.high_K })),
          told ? ink.text : ink.quiet,
          told ? 2.5 : 1,
          0,
        ),
        customdata: own.map(({ p }) => p.other),
        hovertemplate: own.map(
          ({ p }) =>
            `${unmarked(p.one)} than ${unmarked(p.other)}: ${p.rise_K.toFixed(2)} K (${p.low_K.toFixed(2)} to ${p.high_K.toFixed(2)} K), ${told ? 'told apart' : 'a tie'}<extra></extra>`,
        ),
      });
    });
    const where = `cooler by, K, at ${load(shown.state.power_W)}`;
    const wide = oneName ? `${unmarked(shortened(pairs[0].one, 30))} is ${where}` : `the first is ${where}`;
    // On a phone the name does not fit beside the rest; the menu above has it.
    const title = narrow ? where : wide;
    return {
      data,
      layout: {
        ...layoutOf(
          ink,
          size,
          { l: nameRoom(names), r: 16, t: 20, b: 46 },
          { title, range: [reach[0] - air, reach[1] + air] },
          { range: [Math.max(pairs.length, 1) - 0.4, -0.6], rows: { names, at: (row) => row } },
        ),
        shapes: [edgeToEdge({ x: 0 }, { color: ink.text, width: 1 })],
        annotations: [remark('no difference', ink, { x: 0, yref: 'paper', y: 1, yanchor: 'bottom' })],
      },
    };
  },
};
