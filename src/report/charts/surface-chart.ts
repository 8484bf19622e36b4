import type { SurfaceMap } from '../surface-maps.ts';
import { blend, type Chart, type Ink, type Shown, type Size, shortened, unmarked } from './chart.ts';
import { coolers, numbers, texts } from './chart-table.ts';
import { type Annotation, type Layout, scatter } from './figure.ts';
import { axis, layoutOf, remark } from './layout.ts';

const MARGIN = { l: 12, r: 12, t: 8, b: 8 };
/** Least room for a map, the most that one of a few and of many takes, px, and what stands above and below it. */
const LEAST = 170;
const FEW = 3;
const MOST = { few: 400, many: 260 };
const HEAD = 22;
const FOOT = 24;
const GAP = 16;

interface Grid {
  beside: number;
  side: number;
  tiers: number;
}

/** As many maps beside one another as fit, no larger than is of use. */
function gridOf(maps: readonly SurfaceMap[], { width }: Pick<Size, 'width'>): Grid {
  const room = width - MARGIN.l - MARGIN.r;
  const beside = Math.max(1, Math.min(maps.length, Math.floor((room + GAP) / (LEAST + GAP))));
  return {
    beside,
    side: Math.min(maps.length <= FEW ? MOST.few : MOST.many, (room - GAP * (beside - 1)) / beside),
    tiers: Math.ceil(maps.length / beside),
  };
}

const heightOf = (maps: readonly SurfaceMap[], width: number): number => {
  const { side, tiers } = gridOf(maps, { width });
  return MARGIN.t + MARGIN.b + tiers * (side + HEAD + FOOT);
};

const nameOf = ({ cooler, sample }: SurfaceMap): string => `${cooler}, sample ${sample}`;

/** The gap under every measured base: light where it touches, dark where paste has to fill. */
export const surfaceChart: Chart = {
  id: 'surfaces',
  title: 'Contact surfaces and their gap',
  savedTitle: () => 'Gap under each base, resting on its high points',
  savedUnder: () => 'from maps taken with a depth gauge',
  follows: 'source',
  byRows: true,
  about: ({ answers: { data } }) =>
    `The gap that paste has to fill where each base rests on its high points on a flat face: in the colour of the paper where it touches, the stronger the shade the wider, up to ${widest(data.surfaces).toFixed(0)} µm on one scale for all. It is the most that it can be: pressure closes some of it.`,
  label: ({ answers: { data } }) =>
    `Maps of the gap under ${data.surfaces.length} bases. ${data.surfaces.map((one) => `${nameOf(one)}: mean gap ${one.mean_gap_um.toFixed(0)} µm`).join('; ')}.`,
  has: ({ data }) => data.surfaces.length > 0,
  height: ({ answers: { data } }, width) => heightOf(data.surfaces, width),
  table: ({ answers: { data } }) => ({
    caption: 'Gap under each base',
    columns: [
      coolers('cooler'),
      texts('sample'),
      numbers('flatness', 'um', 1),
      numbers('mean gap', 'um', 1),
      numbers('widest gap', 'um', 1),
    ],
    rows: data.surfaces.map((one) => [
      one.cooler,
      one.sample,
      one.flatness_um,
      one.mean_gap_um,
      Math.max(...one.gap_um),
    ]),
  }),
  draw: ({ answers: { data } }: Shown, ink: Ink, size: Size) => {
    const { beside, tiers, side: most } = gridOf(data.surfaces, size);
    const plot = { width: size.width - MARGIN.l - MARGIN.r, height: size.height - MARGIN.t - MARGIN.b };
    const side = Math.min(most, plot.height / tiers - HEAD - FOOT);
    const scale = widest(data.surfaces);
    const layout: Layout = layoutOf(ink, size, MARGIN, { range: [0, 1] }, { range: [0, 1] });
    const placed = data.surfaces.map((map, k) => {
      const [col, tier] = [k % beside, Math.floor(k / beside)];
      const left = col * (side + GAP);
      const top = tier * (side + HEAD + FOOT) + HEAD;
      const cell = side / Math.max(map.columns, map.rows);
      const name = k === 0 ? '' : String(k + 1);
      layout[`xaxis${name}`] = {
        ...axis(ink, { range: [-0.5, side / cell - 0.5] }),
        visible: false,
        domain: [left / plot.width, (left + side) / plot.width],
        anchor: `y${name}`,
      };
      layout[`yaxis${name}`] = {
        ...axis(ink, { range: [-0.5, side / cell - 0.5] }),
        visible: false,
        domain: [1 - (top + side) / plot.height, 1 - top / plot.height],
        anchor: `x${name}`,
      };
      return { map, name, cell, left, top };
    });
    return {
      data: placed.map(({ map, name, cell }) =>
        scatter({
          mode: 'markers',
          xaxis: `x${name}`,
          yaxis: `y${name}`,
          x: map.gap_um.map((_, i) => i % map.columns),
          y: map.gap_um.map((_, i) => Math.floor(i / map.columns)),
          marker: {
            symbol: 'square',
            // The mark of a square of eight is a little smaller than that.
            size: (cell * 8) / 7.2 + 0.4,
            color: map.gap_um.map((gap) =>
              gap <= 0 ? ink.paper : blend(ink.paper, ink.text, 0.06 + (0.94 * gap) / scale),
            ),
            line: { width: 0 },
          },
          hovertemplate: map.gap_um.map(
            (gap) => `${unmarked(nameOf(map))}: ${gap.toFixed(1)} µm<extra></extra>`,
          ),
        }),
      ),
      layout: {
        ...layout,
        annotations: placed.flatMap(({ map, left, top }) =>
          wordsAt(map, ink, left / plot.width, 1 - top / plot.height, 1 - (top + side) / plot.height),
        ),
      },
    };
  },
};

/** Whose base it is above a map, and what it measures below. */
function wordsAt(map: SurfaceMap, ink: Ink, x: number, top: number, bottom: number): Annotation[] {
  const at = { xref: 'paper', x, xanchor: 'left', yref: 'paper' } as const;
  const flat = `flat within ${map.flatness_um.toFixed(0)} µm, mean gap ${map.mean_gap_um.toFixed(0)} µm`;
  return [
    {
      ...remark(unmarked(shortened(nameOf(map), 28)), ink, { ...at, y: top, yanchor: 'bottom', yshift: 2 }),
      font: { size: 12.5, color: ink.text },
    },
    remark(flat, ink, { ...at, y: bottom, yanchor: 'top', yshift: -2 }),
  ];
}

const widest = (maps: readonly SurfaceMap[]): number => Math.max(1, ...maps.flatMap((one) => one.gap_um));
