import type { OrderEntry } from '../../results.ts';
import { chance, load, percent } from '../../tables/wording.ts';
import { symbol } from '../page/marks.ts';
import { speedWords } from '../state.ts';
import { type Chart, type Ink, type Shown, shortNames, thin, unmarked } from './chart.ts';
import { layoutOf, nameRoom, overCorner, remark } from './layout.ts';

/**
 * Bars of the rise at the chosen load with intervals and tie letters.
 *
 * Bars stand in order of their estimates, but no place is printed: coolers that share a letter have none.
 */
export const barsChart: Chart = {
  id: 'bars',
  title: 'The order as a chart',
  savedTitle: ({ state }) => `Rise above ambient at ${load(state.power_W)}`,
  follows: 'load',
  byRows: true,
  about: ({ compare }) =>
    `Bars are the rise above ambient, lines their ${percent(compare.level)} intervals. Coolers that share a letter are not told apart, and their order is then no ranking. Paler bars lie beyond the loads, speeds or source run.`,
  label: ({ state, compare }) =>
    `Bars of the rise above ambient of ${compare.loads[0]?.order.length ?? 0} coolers at ${load(state.power_W)}, with intervals and tie letters.`,
  has: () => true,
  height: ({ compare }) => 76 + 30 * (compare.loads[0]?.order.length ?? 1),
  table: ({ compare, state, answers }) => ({
    caption: `Rise above ambient at ${load(state.power_W)}`,
    columns: [
      { name: 'cooler', kind: 'cooler' },
      { name: 'rise', unit: 'K', kind: 'number', decimals: 2 },
      { name: 'low', unit: 'K', kind: 'number', decimals: 2 },
      { name: 'high', unit: 'K', kind: 'number', decimals: 2 },
      { name: 'source', unit: 'C', kind: 'number', decimals: 1 },
      { name: 'letters', kind: 'text' },
      { name: 'chance of being coolest', kind: 'number', decimals: 3 },
      { name: 'beyond what was run', kind: 'text' },
      ...(answers.bench.coolers.some((one) => one.price !== undefined)
        ? [{ name: 'price', kind: 'number' as const, decimals: 2 }]
        : []),
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
      ...(answers.bench.coolers.some((one) => one.price !== undefined)
        ? [answers.bench.coolers.find((one) => one.cooler === e.cooler)?.price ?? null]
        : []),
    ]),
  }),
  draw: (shown, ink, size) => {
    const order = entries(shown.compare);
    const y = order.map((_, i) => i);
    const narrow = size.width < 560;
    const letters = [...new Set(order.flatMap((e) => e.tiers))];
    // Letters have an axis of their own beside the bars, one column each.
    const coolers = order.map((e) => e.cooler);
    const names = coolers.map(shortNames(coolers, narrow ? 15 : 26));
    const left = nameRoom(names);
    const plot = size.width - left - 12;
    const forLetters = Math.min(0.4, (18 + 16 * letters.length) / plot);
    const most = Math.max(...order.map((e) => e.mean_high_K), 1);
    const data = [
      {
        type: 'bar',
        orientation: 'h',
        x: order.map((e) => e.rise_K),
        y,
        width: 0.62,
        marker: {
          color: order.map((e) => thin(hue(shown, e, ink), e.extrapolated ? 0.1 : 0.3)),
          line: { color: order.map((e) => hue(shown, e, ink)), width: 1.25 },
        },
        hovertemplate: order.map(
          (e) =>
            `${unmarked(e.cooler)}: ${e.rise_K.toFixed(1)} K (${e.mean_low_K.toFixed(1)} to ${e.mean_high_K.toFixed(1)} K), chance of being coolest ${chance(e.p_best)} %<extra></extra>`,
        ),
      },
      {
        type: 'scatter',
        mode: 'markers',
        x: order.map((e) => e.rise_K),
        y,
        marker: {
          symbol: order.map((e) => symbol(shown.answers.places.get(e.cooler) ?? 0)),
          size: 8,
          color: order.map((e) => hue(shown, e, ink)),
        },
        error_x: {
          type: 'data',
          symmetric: false,
          array: order.map((e) => e.mean_high_K - e.rise_K),
          arrayminus: order.map((e) => e.rise_K - e.mean_low_K),
          color: ink.text,
          thickness: 1.5,
          width: 5,
        },
        hoverinfo: 'skip',
      },
      {
        type: 'scatter',
        mode: 'text',
        xaxis: 'x2',
        x: order.flatMap((e) => e.tiers.map((tier) => letters.indexOf(tier))),
        y: order.flatMap((e, i) => e.tiers.map(() => i)),
        text: order.flatMap((e) => e.tiers),
        textfont: { size: 13.5, color: ink.text },
        cliponaxis: false,
        hoverinfo: 'skip',
      },
    ];
    const words = [
      ...(size.alone ? [] : [speedWords(shown.state)]),
      ...(order.some((e) => e.extrapolated) ? ['paler bars: beyond the loads, speeds or source run'] : []),
    ];
    const under = words.join('; ');
    const layout = {
      ...layoutOf(
        ink,
        size,
        { l: left, r: 12, t: 26, b: 44 },
        {
          title: `rise above ambient at ${load(shown.state.power_W)}, K`,
          range: [0, most * 1.03],
          more: { domain: [0, 1 - forLetters] },
        },
        { range: [order.length - 0.4, -0.6], bare: true, rows: { names, at: (row) => row } },
      ),
      bargap: 0.3,
      xaxis2: {
        visible: false,
        fixedrange: true,
        range: [-0.5 - 10 / 16, letters.length - 0.5],
        domain: [1 - forLetters, 1],
      },
      annotations: [
        remark('ties', ink, { xref: 'x2', x: -0.5, yref: 'paper', y: 1, xanchor: 'left', yanchor: 'bottom' }),
        overCorner(unmarked(under), ink),
      ],
    };
    return { data, layout };
  },
};

const entries = (compare: Shown['compare']): readonly OrderEntry[] => compare.loads[0]?.order ?? [];

const hue = (shown: Shown, e: OrderEntry, ink: Ink): string =>
  ink.hue(shown.answers.places.get(e.cooler) ?? 0);
