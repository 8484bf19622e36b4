import { counted, percent } from '../../answers/text/wording.ts';
import { temperatureLimit } from '../../bench/source.ts';
import type { CoolerCurve } from '../answers.ts';
import type { Chart, Shown } from './chart.ts';
import { coolers, numbers, texts } from './chart-table.ts';
import { edgeToEdge, remark } from './layout.ts';
import {
  type CurvePoint,
  drawLoadCurves,
  type LoadCurve,
  loadInCurves,
  uprightRange,
} from './load-curves.ts';
import { riseScale } from './scale.ts';
import { PARTS, smooth } from './smooth.ts';

/** Runs within this share of the curve's fan speed are drawn on it. */
const SAME_SPEED = 0.03;

/** Rise against load for every cooler with the runs at this speed, the sensors' offset taken off them as it is off the curve. */
export const riseChart: Chart = {
  id: 'rise',
  title: 'Rise against load',
  savedTitle: ({ view }) =>
    view.measure === 'resistance'
      ? 'Rise per watt against load'
      : `${view.unit === 'K' ? 'Rise above ambient' : 'Source temperature'} against load`,
  follows: 'condition',
  roughly: true,
  work: ({ answers, conditions }) => answers.curvesInSteps(conditions),
  about: (shown) => {
    const other = otherRuns(shown);
    const pipes = curvesOf(shown).some((c) => c.points.some((p) => p.ifPipesHold))
      ? ' The hatched or palest part of a band is how far the interval reaches if a limit of the heat pipes is met that no run has shown; without one the solid band holds. Choose a cooler to see its own.'
      : '';
    return `Full lines run over the loads tested on each cooler, dashes beyond them, so extrapolated; bands are ${percent(shown.compare.level)} intervals of the true mean.${pipes} Marks are the runs, less the sensors’ offset where runs without load show one${other > 0 ? `; ${counted(other, 'run')} at other speeds ${other === 1 ? 'is' : 'are'} fitted too but not drawn` : ''}.`;
  },
  label: ({ answers, conditions }) =>
    `Rise above ambient against load for ${counted(answers.curves(conditions).length, 'cooler')}, with bands and runs.`,
  has: () => true,
  height: (_, width) => Math.round(Math.min(540, Math.max(330, width * 0.58))),
  loadAt: loadInCurves,
  table: ({ answers, conditions }) => ({
    caption: 'Rise above ambient against load',
    columns: [
      coolers('cooler'),
      numbers('power', 'W'),
      numbers('fan', 'rpm', 0),
      numbers('rise', 'K', 2),
      numbers('mean low', 'K', 2),
      numbers('mean high', 'K', 2),
      numbers('run low', 'K', 2),
      numbers('run high', 'K', 2),
      numbers('if pipes hold low', 'K', 2),
      numbers('if pipes hold high', 'K', 2),
      texts('beyond what was run'),
    ],
    rows: answers
      .curvesWithRuns(conditions)
      .flatMap(({ points }) =>
        points.map((p) => [
          p.cooler,
          p.power_W,
          p.fan_rpm,
          p.rise_K,
          p.mean_low_K,
          p.mean_high_K,
          p.run_low_K,
          p.run_high_K,
          p.if_pipes_hold?.mean_low_K ?? null,
          p.if_pipes_hold?.mean_high_K ?? null,
          p.extrapolated ? 'yes' : 'no',
        ]),
      ),
  }),
  draw: (shown, ink, size) => {
    const curves = curvesOf(shown);
    const { answers, state, view } = shown;
    const perWatt = view.measure === 'resistance';
    const scale = riseScale(shown);
    const limit_C = temperatureLimit(answers.bench, state.source);
    const limit = limit_C === undefined || perWatt ? undefined : limit_C - state.ambient_C + scale.add;
    const range = perWatt
      ? uprightRange(curves, { times: 1.6 })
      : uprightRange(curves, {
          from: scale.add,
          times: 2.4,
          cap: limit === undefined ? undefined : limit * 1.1,
        });
    const drawn = limit !== undefined && limit < range[1] && limit > range[0] ? limit : undefined;
    return drawLoadCurves(shown, ink, size, {
      curves,
      title: perWatt ? 'rise per watt, K/W' : scale.axis(),
      range,
      decimals: perWatt ? 4 : 1,
      unit: perWatt ? 'K/W' : scale.unit,
      shapes: drawn === undefined ? [] : [edgeToEdge({ y: drawn }, { color: ink.quiet, width: 1 })],
      annotations:
        drawn === undefined
          ? []
          : [
              remark(`limit of the source, ${Math.round(limit_C ?? 0)} °C`, ink, {
                xref: 'paper',
                x: 0,
                y: drawn,
                xanchor: 'left',
                yanchor: 'bottom',
                xshift: 4,
              }),
            ],
    });
  },
};

/** The curves in the unit that is drawn. */
function curvesOf(shown: Shown): LoadCurve[] {
  const { add } = riseScale(shown);
  const perWatt = shown.view.measure === 'resistance';
  const as = (rise_K: number, power_W: number): number => (perWatt ? rise_K / power_W : rise_K + add);
  const drawn = shown.rough ? smoothed : (points: CurvePoint[]) => points;
  return shown.answers.curves(shown.conditions, shown.rough).map((curve) => ({
    cooler: curve.cooler,
    points: drawn(
      curve.points.map((p) => ({
        power_W: p.power_W,
        value: as(p.rise_K, p.power_W),
        low: as(p.mean_low_K, p.power_W),
        high: as(p.mean_high_K, p.power_W),
        ...(p.if_pipes_hold && {
          ifPipesHold: {
            low: as(p.if_pipes_hold.mean_low_K, p.power_W),
            high: as(p.if_pipes_hold.mean_high_K, p.power_W),
          },
        }),
        beyond: p.extrapolated,
      })),
    ),
    runs: runsOn(shown, curve).map(({ run, power_W, rise_K }) => ({
      run,
      power_W,
      value: as(rise_K, power_W),
    })),
  }));
}

/** Points between those at equal steps of load, for a curve that is looked at for a moment. */
function smoothed(points: readonly CurvePoint[]): CurvePoint[] {
  const through = (of: (p: CurvePoint) => number): number[] => smooth(points.map(of));
  const [power_W, value, low, high, heldLow, heldHigh] = [
    through((p) => p.power_W),
    through((p) => p.value),
    through((p) => p.low),
    through((p) => p.high),
    through((p) => (p.ifPipesHold ?? p).low),
    through((p) => (p.ifPipesHold ?? p).high),
  ];
  return power_W.map((load, k) => {
    const ends = [points[Math.floor(k / PARTS)], points[Math.ceil(k / PARTS)]];
    return {
      power_W: load,
      value: value[k],
      low: low[k],
      high: high[k],
      ...(ends.some((p) => p.ifPipesHold) && { ifPipesHold: { low: heldLow[k], high: heldHigh[k] } }),
      beyond: ends.some((p) => p.beyond),
    };
  });
}

interface DrawnRun {
  run: string;
  power_W: number;
  rise_K: number;
}

/** Runs of a cooler at the speed of its curve. */
function runsOn({ answers, conditions }: Shown, curve: CoolerCurve): DrawnRun[] {
  const speed = curve.points[0]?.fan_rpm ?? 0;
  return answers
    .residuals(conditions)
    .filter(
      (run) =>
        run.cooler === curve.cooler && (speed === 0 || Math.abs(run.fan_rpm / speed - 1) <= SAME_SPEED),
    );
}

function otherRuns(shown: Shown): number {
  const all = shown.answers.residuals(shown.conditions).length;
  const curves = shown.answers.curves(shown.conditions, shown.rough);
  return all - curves.reduce((sum, curve) => sum + runsOn(shown, curve).length, 0);
}
