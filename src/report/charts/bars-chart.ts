import type { OrderEntry } from '../../results.ts';
import { chance, load, percent } from '../../tables/wording.ts';
import { symbol } from '../page/marks.ts';
import { speedWords } from '../state.ts';
import {
  axis,
  baseLayout,
  type Chart,
  type Ink,
  remark,
  type Shown,
  shortened,
  thin,
  unmarked,
} from './chart.ts';

/**
 * Bars of the rise at the chosen load with intervals and tie letters.
 *
 * Bars stand in order of their estimates, but no place is printed: coolers that share a letter have none.
 */
export const barsChart: Chart = {
  id: 'bars',
  title: 'The order as a chart',
  follows: 'load',
  byRows: true,
  about: ({ compare }) =>
    `Bars are the rise above ambient, lines their ${percent(compare.level)} intervals. Coolers that share a letter are not told apart, and their order is then no ranking. Hollow bars lie beyond the loads, speeds or source run.`,
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
      { name: 'chance of the least rise', kind: 'number', decimals: 3 },
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
    const right = 34 + 16 * Math.min(letters.length, 8);
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
            `${unmarked(e.cooler)}: ${e.rise_K.toFixed(1)} K (${e.mean_low_K.toFixed(1)} to ${e.mean_high_K.toFixed(1)} K), chance of the least rise ${chance(e.p_best)} %<extra></extra>`,
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
    ];
    const layout = {
      ...baseLayout(ink, size, { l: narrow ? 118 : 190, r: right, t: 26, b: 44 }),
      bargap: 0.3,
      xaxis: {
        ...axis(ink),
        title: { text: `rise above ambient at ${load(shown.state.power_W)}, K`, standoff: 8 },
        range: [0, most * 1.03],
      },
      yaxis: {
        ...axis(ink),
        ticks: '',
        showgrid: false,
        range: [order.length - 0.4, -0.6],
        tickmode: 'array',
        tickvals: y,
        ticktext: order.map((e) => unmarked(shortened(e.cooler, narrow ? 15 : 26))),
        color: ink.text,
      },
      annotations: [
        ...letters.flatMap((letter, k) =>
          order.flatMap((e, i) =>
            e.tiers.includes(letter)
              ? [
                  {
                    xref: 'paper',
                    x: 1,
                    y: i,
                    xanchor: 'left',
                    xshift: 14 + 16 * k,
                    text: letter,
                    showarrow: false,
                    font: { size: 13.5, color: ink.text },
                  },
                ]
              : [],
          ),
        ),
        remark('ties', ink, {
          xref: 'paper',
          x: 1,
          yref: 'paper',
          y: 1,
          xanchor: 'left',
          xshift: 12,
          yanchor: 'bottom',
        }),
        remark(unmarked(speedWords(shown.state)), ink, {
          xref: 'paper',
          x: 0,
          yref: 'paper',
          y: 1,
          xanchor: 'left',
          yanchor: 'bottom',
        }),
      ],
    };
    return { data, layout };
  },
};

const entries = (compare: Shown['compare']): readonly OrderEntry[] => compare.loads[0]?.order ?? [];

const hue = (shown: Shown, e: OrderEntry, ink: Ink): string =>
  ink.hue(shown.answers.places.get(e.cooler) ?? 0);
