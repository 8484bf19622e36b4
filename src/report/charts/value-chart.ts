import { load, percent, plain } from '../../answers/text/wording.ts';
import { symbol } from '../page/marks.ts';
import {
  besidePoints,
  type Chart,
  lettering,
  MOST_NAMED,
  type Shown,
  shortNames,
  unmarked,
} from './chart.ts';
import { coolers, numbers, texts } from './chart-table.ts';
import { aheadOf, colourOf, inColour } from './emphasis.ts';
import { errorBars, scatter, type Trace } from './figure.ts';
import { layoutOf, NARROW } from './layout.ts';
import { riseScale } from './scale.ts';

interface Priced {
  cooler: string;
  place: number;
  price: number;
  rise_K: number;
  low_K: number;
  high_K: number;
  tiers: string[];
  /** No cheaper cooler is told apart as cooler. */
  undominated: boolean;
}

/**
 * Rise at the chosen load against price. A cooler is marked as worth its price where nothing that costs less, or the
 * same, is told apart from it as cooler.
 */
export const valueChart: Chart = {
  id: 'value',
  title: 'Value for money',
  savedTitle: (shown) => `${riseScale(shown).name} and price at ${load(shown.state.power_W)}`,
  follows: 'load',
  about: ({ compare }) =>
    `Prices are those of coolers.csv. A full mark is a cooler that nothing at its price or below is shown to beat; a hollow one is beaten by something that costs no more. Lines are ${percent(compare.level)} intervals.${(compare.loads[0]?.order.length ?? 0) > MOST_NAMED ? ' Coolers are named where there is room.' : ''}`,
  label: ({ state }) => `Rise above ambient at ${load(state.power_W)} against price.`,
  has: ({ bench }) => bench.coolers.filter((one) => one.price !== undefined).length > 1,
  height: (_, width) => Math.round(Math.min(460, Math.max(310, width * 0.5))),
  table: (shown) => ({
    caption: `Price and rise at ${load(shown.state.power_W)}`,
    columns: [
      coolers('cooler'),
      numbers('price', '', 2),
      numbers('rise', 'K', 2),
      numbers('low', 'K', 2),
      numbers('high', 'K', 2),
      texts('letters'),
      texts('beaten at its price or below'),
    ],
    rows: priced(shown).map((p) => [
      p.cooler,
      p.price,
      p.rise_K,
      p.low_K,
      p.high_K,
      p.tiers.join(' '),
      p.undominated ? 'no' : 'yes',
    ]),
  }),
  draw: (shown, ink, size) => {
    const scale = riseScale(shown);
    const all = priced(shown).map((p) => ({
      ...p,
      rise_K: p.rise_K + scale.add,
      low_K: p.low_K + scale.add,
      high_K: p.high_K + scale.add,
    }));
    const colour = colourOf(shown, ink);
    const coloured = inColour(shown);
    const prices = all.map((p) => p.price);
    const low = Math.min(...all.map((p) => p.low_K));
    const high = Math.max(...all.map((p) => p.high_K));
    const air = (high - low) * 0.06 || 1;
    const range: [number, number] = [low - air, high + air];
    const reach = Math.max(...prices) - Math.min(...prices) || 1;
    const margin = { l: 58, r: 90, t: 12, b: 46 };
    // Room for half a mark at either end, however narrow the drawing.
    const px = reach / (size.width - margin.l - margin.r);
    const across: [number, number] = [
      Math.min(...prices) - Math.max(reach * 0.06, 14 * px),
      Math.max(...prices) + Math.max(reach * 0.03, 14 * px),
    ];
    const short = shortNames(
      all.map((p) => p.cooler),
      size.width < NARROW ? 13 : 24,
    );
    return {
      data: [
        ...all.map((p) => markOf(p, colour(p.cooler), scale.unit)),
        ...besidePoints(
          all
            .filter((p) => coloured.has(p.cooler))
            .map((p) => ({
              text: short(p.cooler),
              x: p.price,
              y: p.rise_K,
              bar: [p.low_K, p.high_K] as const,
              colour: lettering(ink.hue(p.place), ink),
            })),
          { x: across, y: range },
          { width: size.width - margin.l - margin.r, height: size.height - margin.t - margin.b },
          margin.r,
        ),
      ],
      layout: layoutOf(
        ink,
        size,
        margin,
        { title: 'price, as in coolers.csv', range: across },
        { title: scale.axis(` at ${load(shown.state.power_W)}`), range },
      ),
    };
  },
};

/** A cooler at its price, hollow where something that costs no more beats it. */
const markOf = (p: Priced, color: string, unit: string): Trace =>
  scatter({
    mode: 'markers',
    x: [p.price],
    y: [p.rise_K],
    name: unmarked(p.cooler),
    marker: {
      symbol: p.undominated ? symbol(p.place) : `${symbol(p.place)}-open`,
      size: p.undominated ? 12 : 10,
      color,
      line: { width: 1.5, color },
    },
    error_y: errorBars([{ value: p.rise_K, low: p.low_K, high: p.high_K }], color, 1.25, 4),
    customdata: [p.cooler],
    hovertemplate: `${unmarked(p.cooler)}: ${p.rise_K.toFixed(1)} ${unit} at a price of ${plain(p.price)}<extra></extra>`,
  });

/** Coolers with a price, the cheapest first. */
function priced({ answers, compare }: Shown): Priced[] {
  const priceOf = new Map(answers.bench.coolers.map((one) => [one.cooler, one.price]));
  return (compare.loads[0]?.order ?? [])
    .flatMap((e): Priced[] => {
      const price = priceOf.get(e.cooler);
      if (price === undefined) return [];
      const beaten = compare.pairs.some((pair) => {
        if (pair.a !== e.cooler && pair.b !== e.cooler) return false;
        const other = pair.a === e.cooler ? pair.b : pair.a;
        const otherPrice = priceOf.get(other);
        const isBehind = aheadOf(pair, compare.loads[0].power_W) === other;
        return isBehind && otherPrice !== undefined && otherPrice <= price;
      });
      return [
        {
          cooler: e.cooler,
          place: answers.places.get(e.cooler) ?? 0,
          price,
          rise_K: e.rise_K,
          low_K: e.mean_low_K,
          high_K: e.mean_high_K,
          tiers: e.tiers,
          undominated: !beaten,
        },
      ];
    })
    .sort((x, y) => x.price - y.price);
}
