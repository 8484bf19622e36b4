import { load, percent, plain } from '../../answers/text/wording.ts';
import type { Comparison } from '../../compare/comparison.ts';
import type { InSteps } from '../../numerics/in-steps.ts';
import type { Conditions } from '../../predict/conditions.ts';
import type { Chart, Shown } from './chart.ts';
import {
  type Cell,
  type Column,
  columnsTable,
  drawColumns,
  heightOfColumns,
  type SideBySide,
} from './columns.ts';
import { MOST_IN_COLOUR } from './emphasis.ts';
import { riseScale } from './scale.ts';

/** Coolers in the order of the chosen load, whatever their order elsewhere. */
const rowsOf = ({ compare }: Shown): string[] => compare.loads[0]?.order.map((e) => e.cooler) ?? [];

function cellsOf(shown: Shown, { loads: [at] }: Comparison): Cell[] {
  const { add } = riseScale(shown);
  return at.order.map((e) => ({
    row: e.cooler,
    cooler: e.cooler,
    value: e.rise_K + add,
    low: e.mean_low_K + add,
    high: e.mean_high_K + add,
    word: e.tiers.join(''),
    beyond: e.extrapolated,
  }));
}

/** A comparison that stands beside others. */
interface Compared {
  title: string;
  conditions: Conditions;
  power_W: number;
}

/** Comparisons side by side, one a column, with the letters of each. */
function compared(shown: Shown, columns: readonly Compared[], under: string): SideBySide {
  const scale = riseScale(shown);
  return {
    rows: rowsOf(shown),
    columns: columns.map(
      ({ title, conditions, power_W }): Column => ({
        title,
        cells: cellsOf(shown, shown.answers.keptAt(conditions, power_W)),
      }),
    ),
    unit: scale.unit,
    decimals: 1,
    values: true,
    title: scale.axis(under),
  };
}

const comparedInSteps = (columns: (shown: Shown) => Compared[]) =>
  function* (shown: Shown): InSteps<void> {
    for (const { conditions, power_W } of columns(shown))
      yield* shown.answers.keptAtInSteps(conditions, power_W);
  };

const LETTERS =
  'Letters hold within one column: there, coolers that share one are not told apart. Hollow marks lie beyond the loads, speeds or source run, so extrapolated.';

/** A chart of columns: its drawing, its height and its numbers come from what stands side by side. */
function columnsChart(
  chart: Omit<Chart, 'draw' | 'height' | 'table' | 'byRows' | 'label'>,
  condition: string,
  partsOf: (shown: Shown) => SideBySide,
): Chart {
  return {
    ...chart,
    byRows: true,
    label: (shown) => `${chart.savedTitle(shown)}: estimates with intervals, a column each.`,
    height: (shown, width) => heightOfColumns(partsOf(shown), width),
    table: (shown) => columnsTable(chart.savedTitle(shown), condition, partsOf(shown)),
    draw: (shown, ink, size) => drawColumns(shown, ink, size, partsOf(shown)),
  };
}

const besideLoads = ({ state, conditions }: Shown): Compared[] =>
  state.loads_W.map((power_W) => ({ title: load(power_W), conditions, power_W }));

/** The order at every load that was typed. */
export const loadsChart = columnsChart(
  {
    id: 'loads',
    title: 'Several loads side by side',
    savedTitle: (shown) => `${riseScale(shown).name} at several loads`,
    follows: 'load',
    work: comparedInSteps(besideLoads),
    about: ({ compare }) =>
      `Each column is one load, on one scale; lines are ${percent(compare.level)} intervals. ${LETTERS}`,
    has: () => true,
    applies: ({ state }) => state.loads_W.length > 1,
  },
  'load',
  (shown) => compared(shown, besideLoads(shown), ''),
);

/** So many levels of sound stand side by side. */
const LEVELS = 3;

/** Round levels over what the coolers reach, dBA. */
export function levelsShown({ answers }: Shown): number[] {
  const { low_dBA, high_dBA } = answers.soundRange();
  const inside = Array.from({ length: LEVELS }, (_, k) =>
    Math.round(low_dBA + ((k + 1) / (LEVELS + 1)) * (high_dBA - low_dBA)),
  );
  return [...new Set(inside)];
}

function besideLevels(shown: Shown): Compared[] {
  const { fan_rpm: _n, fan_percent: _p, sound_dBA: _s, ...rest } = shown.conditions;
  return levelsShown(shown).map((sound_dBA) => ({
    title: `${plain(sound_dBA)} dBA`,
    conditions: { ...rest, sound_dBA },
    power_W: shown.state.power_W,
  }));
}

/** The order at several levels of equal sound. */
export const levelsChart = columnsChart(
  {
    id: 'levels',
    title: 'At equal sound, several levels',
    savedTitle: (shown) => `${riseScale(shown).name} at equal sound, at ${load(shown.state.power_W)}`,
    savedUnder: ({ state, compare }) =>
      `${state.source} as the source, every fan at the speed that makes the level as metered, room at ${plain(state.ambient_C)} °C; intervals at ${percent(compare.level)}`,
    follows: 'load',
    work: comparedInSteps(besideLevels),
    about: ({ state, compare }) =>
      `At ${load(state.power_W)}, every cooler at the fan speed that makes the level at the head of the column, or at its least or greatest speed where it does not reach it. Lines are ${percent(compare.level)} intervals, what is not known of the sound included. ${LETTERS}`,
    has: (answers) => answers.hasSound,
  },
  'level',
  (shown) => compared(shown, besideLevels(shown), ` at ${load(shown.state.power_W)}`),
);

const besideSources = ({ answers, state: { power_W }, conditions }: Shown): Compared[] =>
  answers.sources.map((source) => ({ title: source, conditions: { ...conditions, source }, power_W }));

/** Every source of the bench at the chosen load: how the order on the heater carries over to a chip. */
export const sourcesChart = columnsChart(
  {
    id: 'sources',
    title: 'Heater against chip',
    savedTitle: (shown) => `${riseScale(shown).name} on each source at ${load(shown.state.power_W)}`,
    savedUnder: ({ state, compare }) =>
      `the same load on each source, room at ${plain(state.ambient_C)} °C; intervals at ${percent(compare.level)}`,
    follows: 'load',
    work: comparedInSteps(besideSources),
    about: ({ compare }) =>
      `The same load on the heater and on each chip; lines are ${percent(compare.level)} intervals. What a chip adds is learnt from the coolers that were run on both. ${LETTERS}`,
    has: (answers) => answers.sources.length > 1,
  },
  'source',
  (shown) => compared(shown, besideSources(shown), ` at ${load(shown.state.power_W)}`),
);

/** The load at which the source reaches its limit. */
export const limitsChart = columnsChart(
  {
    id: 'limits',
    title: 'Watts at the temperature limit',
    savedTitle: (shown) => `Load at which the source reaches ${plain(limitsOf(shown)[0]?.limit_C ?? 0)} °C`,
    follows: 'condition',
    work: ({ answers, conditions }) => answers.limitsInSteps(conditions),
    about: (shown) =>
      `The load that takes the source to its limit, with the ${percent(shown.compare.level)} interval; a limit of heat pipes that no run has shown is in it. More is better. A hollow mark and a star lie beyond the loads run: an extrapolation, and no load to be run; raise loads in steps. An interval that runs off the drawing goes on beyond three times the greatest load run.`,
    has: (answers) => answers.sources.some((source) => answers.limit_C(source) !== undefined),
    applies: ({ answers, state }) => answers.limit_C(state.source) !== undefined,
  },
  'limit',
  (shown) => {
    const limits = limitsOf(shown).filter((one) => one.power_W !== null);
    const edge = 1.25 * Math.max(...limits.map((one) => one.power_W ?? 0), 1);
    const cells = limits.map((one): Cell => {
      const [value, low] = [one.power_W ?? 0, one.low_W ?? 0];
      return {
        row: one.cooler,
        cooler: one.cooler,
        value,
        low,
        high: one.high_W ?? Number.POSITIVE_INFINITY,
        word: `${Math.round(value)}${one.extrapolated ? '*' : ''} (${Math.round(low)} to ${one.high_W === null ? 'open' : Math.round(one.high_W)})`,
        beyond: one.extrapolated,
        says: one.sentence,
      };
    });
    return {
      rows: cells.toSorted((a, b) => b.value - a.value).map((cell) => cell.row),
      columns: [{ title: '', cells }],
      unit: 'W',
      decimals: 0,
      title: 'load at the limit, W',
      range: [Math.min(...cells.map((cell) => cell.low), edge * 0.5), edge],
    };
  },
);

const limitsOf = ({ answers, conditions }: Shown) => answers.limits(conditions);

/** The mounts of each cooler beside its own mean. */
export const mountsChart = columnsChart(
  {
    id: 'mounts',
    title: 'Mounts side by side',
    savedTitle: () => 'Each mount beside the others of its cooler',
    savedUnder: () => 'resistance of each mount less its cooler’s own',
    follows: 'source',
    about: ({ answers, view }) =>
      `Each row is one fitting: its resistance less the mean of its cooler’s mounts, free of load and speed, with two standard uncertainties. The grey band is the scatter of mounts on this bench, twice its standard deviation either way. A mark far outside is a fitting to look at; the word says what screening finds.${answers.places.size <= MOST_IN_COLOUR || view.chosen.length > 0 ? '' : ' Of many coolers those are drawn whose mounts lie furthest out; choose one to see its own.'}`,
    has: ({ data }) => data.mounts.some((one) => one.off_K_per_W !== null),
  },
  'source',
  ({ answers, view }) => {
    const beside = answers.data.mounts.flatMap(({ off_K_per_W, u_K_per_W, ...one }) =>
      off_K_per_W === null || u_K_per_W === null
        ? []
        : [{ ...one, off: 1000 * off_K_per_W, u: 1000 * u_K_per_W }],
    );
    const several = new Set(beside.map((one) => one.source)).size > 1;
    const band = 2000 * Math.max(0, ...beside.map((one) => one.scatter_K_per_W));
    const edge = Math.max(
      1.25 * band,
      Math.min(4 * band, ...[Math.max(...beside.map((m) => Math.abs(m.off) + 2 * m.u))]),
    );
    const far = (name: string): number =>
      Math.max(...beside.filter((one) => one.cooler === name).map(({ off }) => Math.abs(off)));
    const names = [...new Set(beside.map((one) => one.cooler))];
    const drawn =
      names.length <= MOST_IN_COLOUR
        ? names
        : view.chosen.length > 0
          ? view.chosen
          : names.toSorted((a, b) => far(b) - far(a)).slice(0, MOST_IN_COLOUR);
    const placeOf = (name: string): number => answers.places.get(name) ?? 0;
    const cells = beside
      .toSorted((a, b) => placeOf(a.cooler) - placeOf(b.cooler))
      .map(
        ({ cooler, sample, mount, source, off, u, verdict, cause }): Cell => ({
          row: `${cooler}, ${sample}/${mount}${several ? ` on ${source}` : ''}`,
          cooler,
          value: Math.min(edge, Math.max(-edge, off)),
          low: off - 2 * u,
          high: off + 2 * u,
          word: verdict === 'ok' ? '' : `${verdict}${cause === null ? '' : `, ${cause}`}`,
          beyond: false,
        }),
      );
    const seen = cells.filter((cell) => drawn.includes(cell.cooler));
    return {
      rows: seen.map((cell) => cell.row),
      groups: [...seen.keys()].filter((row) => row > 0 && seen[row].cooler !== seen[row - 1].cooler),
      columns: [{ title: 'sample/mount', cells }],
      unit: 'mK/W',
      decimals: 1,
      title: 'resistance less that of the cooler’s mounts, mK/W',
      range: [-edge, edge],
      band: [-band, band],
      lit: view.chosen.length === 0,
      level: 0,
    };
  },
);
