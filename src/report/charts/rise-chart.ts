import { temperatureLimit } from '../../bench/source.ts';
import type { Prediction } from '../../results.ts';
import { counted, percent } from '../../tables/wording.ts';
import type { CoolerCurve } from '../answers.ts';
import { symbol } from '../page/marks.ts';
import {
  type Chart,
  type Ink,
  type Label,
  labelTrace,
  lettering,
  type PlotlyTrace,
  parted,
  type Shown,
  type Size,
  shortNames,
  thin,
  unmarked,
} from './chart.ts';
import { bandShape, edgeToEdge, layoutOf, loadLine, loadPx, remark } from './layout.ts';

/** Runs within this share of the curve's fan speed are drawn on it. */
const SAME_SPEED = 0.03;

/**
 * Rise against load for every cooler: full line and darker band over the loads run, dashes and a paler band beyond, the
 * runs at this speed as the cooler's marks, the sensors' offset taken off them as it is off the curve.
 */
export const riseChart: Chart = {
  id: 'rise',
  title: 'Rise against load',
  savedTitle: () => 'Rise above ambient against load',
  follows: 'condition',
  about: (shown) => {
    const other = otherRuns(shown);
    return `Full lines run over the loads tested on each cooler, dashes beyond them; bands are ${percent(shown.compare.level)} intervals of the true mean. Marks are the runs, less the sensors’ offset where runs without load show one${other > 0 ? `; ${counted(other, 'run')} at other speeds ${other === 1 ? 'is' : 'are'} fitted too but not drawn` : ''}.`;
  },
  label: ({ answers, conditions }) =>
    `Rise above ambient against load for ${counted(answers.curves(conditions).length, 'cooler')}, with bands and runs.`,
  has: () => true,
  height: (_, width) => Math.round(Math.min(540, Math.max(330, width * 0.58))),
  loadAt: (shown, size) => {
    const span = shown.answers.span(shown.conditions);
    const margin = marginOf(shown, size);
    const x = loadPx(shown.state.power_W, [span.from_W, span.to_W], size, margin);
    return { x, top: margin.t, bottom: margin.b };
  },
  table: ({ answers, conditions }) => ({
    caption: 'Rise above ambient against load',
    columns: [
      { name: 'cooler', kind: 'cooler' },
      { name: 'power', unit: 'W', kind: 'number' },
      { name: 'fan', unit: 'rpm', kind: 'number', decimals: 0 },
      { name: 'rise', unit: 'K', kind: 'number', decimals: 2 },
      { name: 'mean low', unit: 'K', kind: 'number', decimals: 2 },
      { name: 'mean high', unit: 'K', kind: 'number', decimals: 2 },
      { name: 'run low', unit: 'K', kind: 'number', decimals: 2 },
      { name: 'run high', unit: 'K', kind: 'number', decimals: 2 },
      { name: 'beyond what was run', kind: 'text' },
    ],
    rows: answers
      .curves(conditions)
      .flatMap(({ predictions }) =>
        predictions.map((p) => [
          p.cooler,
          p.power_W,
          p.fan_rpm,
          p.rise_K,
          p.mean_low_K,
          p.mean_high_K,
          p.run_low_K,
          p.run_high_K,
          p.extrapolated ? 'yes' : 'no',
        ]),
      ),
  }),
  draw: (shown, ink, size) => {
    const curves = drawnCurves(shown);
    const { answers, state, view } = shown;
    const rise = view.measure === 'rise';
    const named = isNamed(shown, size);
    const range = uprightRange(shown, curves);
    const span = answers.span(shown.conditions);
    const limit_C = temperatureLimit(answers.bench, state.source);
    const limit_K = limit_C === undefined ? undefined : limit_C - state.ambient_C;
    const drawnLimit =
      rise && limit_K !== undefined && limit_K < range[1] && limit_K > range[0] ? limit_K : undefined;
    const tested = curves.flatMap((c) => c.predictions.filter((p) => !p.extrapolated).map((p) => p.power_W));
    const margin = marginOf(shown, size);
    const each = ((range[1] - range[0]) / (size.height - margin.t - margin.b)) * 16;
    const short = shortNames(
      curves.map((c) => c.cooler),
      24,
    );
    const labels: Label[] = curves.map((c) => ({
      text: c.cooler,
      y: measured(c.predictions[c.predictions.length - 1], 'rise_K', rise),
      place: c.place,
    }));
    return {
      data: [
        ...curves.flatMap((c) => linesOf(c, rise, ink)),
        marksOf(shown, curves, ink),
        ...(named
          ? [
              labelTrace(
                parted(labels, range, each).map(({ text, y, place }) => ({
                  text: short(text),
                  x: span.to_W,
                  y,
                  colour: lettering(ink.hue(place), ink),
                })),
              ),
            ]
          : []),
      ],
      layout: {
        ...layoutOf(
          ink,
          size,
          margin,
          { title: 'load, W', range: [span.from_W, span.to_W], bare: true },
          { title: rise ? 'rise above ambient, K' : 'rise per watt, K/W', range },
        ),
        shapes: [
          ...curves.flatMap((c) => bandsOf(c, rise, ink)),
          ...loadLine(shown, ink, size),
          ...(drawnLimit === undefined
            ? []
            : [edgeToEdge({ y: drawnLimit }, { color: ink.quiet, width: 1 })]),
          ...(tested.length === 0
            ? []
            : [
                {
                  type: 'rect',
                  layer: 'below',
                  xref: 'x',
                  yref: 'paper',
                  x0: Math.min(...tested),
                  x1: Math.max(...tested),
                  y0: 0,
                  y1: 1,
                  fillcolor: thin(ink.quiet, 0.08),
                  line: { width: 0 },
                },
              ]),
        ],
        annotations: [
          ...(drawnLimit === undefined
            ? []
            : [
                remark(`limit of the source, ${Math.round(limit_C ?? 0)} °C`, ink, {
                  xref: 'paper',
                  x: 0,
                  y: drawnLimit,
                  xanchor: 'left',
                  yanchor: 'bottom',
                  xshift: 4,
                }),
              ]),
          ...(tested.length === 0
            ? []
            : [
                remark('loads run', ink, {
                  x: (Math.min(...tested) + Math.max(...tested)) / 2,
                  yref: 'paper',
                  y: 0,
                  yanchor: 'bottom',
                }),
              ]),
        ],
      },
    };
  },
};

/** Names stand at the ends of the curves where there is room for them. */
const isNamed = (shown: Shown, size: Size): boolean =>
  (size.width >= 620 || size.alone === true) && drawnCurves(shown).length <= 20;

const marginOf = (shown: Shown, size: Size) => ({ l: 58, r: isNamed(shown, size) ? 168 : 12, t: 12, b: 46 });

function drawnCurves({ answers, conditions, view }: Shown): CoolerCurve[] {
  return answers.curves(conditions).filter((curve) => !view.hidden.has(curve.cooler));
}

type Bound = 'rise_K' | 'mean_low_K' | 'mean_high_K';

const measured = (p: Prediction, key: Bound, rise: boolean): number => (rise ? p[key] : p[key] / p.power_W);

/** Stretches of a curve within or beyond what was run; the latter reach over to their neighbours so that lines meet. */
function stretches(predictions: readonly Prediction[], beyond: boolean): Prediction[][] {
  const found: Prediction[][] = [];
  for (let i = 0; i < predictions.length; i++) {
    if (predictions[i].extrapolated !== beyond) continue;
    let end = i;
    while (end + 1 < predictions.length && predictions[end + 1].extrapolated === beyond) end++;
    found.push(beyond ? predictions.slice(Math.max(0, i - 1), end + 2) : predictions.slice(i, end + 1));
    i = end;
  }
  return found;
}

/** Bands of a curve: one shape for what was run, a paler one beyond. */
function bandsOf(curve: CoolerCurve, rise: boolean, ink: Ink): object[] {
  return [true, false].flatMap((beyond) =>
    bandShape(
      stretches(curve.predictions, beyond).map((part) => ({
        x: part.map((p) => p.power_W),
        high: part.map((p) => measured(p, 'mean_high_K', rise)),
        low: part.map((p) => measured(p, 'mean_low_K', rise)),
      })),
      thin(ink.hue(curve.place), beyond ? 0.06 : 0.15),
    ),
  );
}

const valueFormat = (rise: boolean): string => (rise ? '%{y:.1f} K' : '%{y:.4f} K/W');

/** The curve as two lines, dashed beyond what was run; a gap parts the stretches of one kind. */
function linesOf(curve: CoolerCurve, rise: boolean, ink: Ink): PlotlyTrace[] {
  const colour = ink.hue(curve.place);
  return [true, false].map((beyond) => {
    const parts = stretches(curve.predictions, beyond);
    return {
      type: 'scatter',
      mode: 'lines',
      name: unmarked(curve.cooler),
      x: parts.flatMap((part) => [...part.map((p) => p.power_W), null]),
      y: parts.flatMap((part) => [...part.map((p) => measured(p, 'rise_K', rise)), null]),
      line: {
        color: beyond ? thin(colour, 0.75) : colour,
        width: beyond ? 1.5 : 2.25,
        dash: beyond ? '5px,4px' : 'solid',
        simplify: false,
      },
      hovertemplate: `${valueFormat(rise)} at %{x} W${beyond ? ', beyond what was run' : ''}<extra>%{fullData.name}</extra>`,
    };
  });
}

/** The runs of all curves as one trace, each in its cooler's mark and colour. */
function marksOf(shown: Shown, curves: readonly CoolerCurve[], ink: Ink): PlotlyTrace {
  const rise = shown.view.measure === 'rise';
  const runs = curves.flatMap((curve) => runsOn(shown, curve).map((run) => ({ run, curve })));
  return {
    type: 'scatter',
    mode: 'markers',
    x: runs.map(({ run }) => run.power_W),
    y: runs.map(({ run }) => (rise ? run.rise_K : run.rise_K / run.power_W)),
    text: runs.map(({ run }) => unmarked(run.run)),
    customdata: runs.map(({ curve }) => unmarked(curve.cooler)),
    marker: {
      symbol: runs.map(({ curve }) => symbol(curve.place)),
      size: 8,
      color: runs.map(({ curve }) => ink.hue(curve.place)),
      line: { width: 1, color: ink.paper },
    },
    hovertemplate: `run %{text}: ${valueFormat(rise)} at %{x} W<extra>%{customdata}</extra>`,
  };
}

interface DrawnRun {
  run: string;
  power_W: number;
  rise_K: number;
}

/** Runs of a cooler at the speed of its curve. */
function runsOn({ answers, conditions }: Shown, curve: CoolerCurve): DrawnRun[] {
  const speed = curve.predictions[0]?.fan_rpm ?? 0;
  return answers
    .residuals(conditions)
    .filter(
      (run) =>
        run.cooler === curve.cooler && (speed === 0 || Math.abs(run.fan_rpm / speed - 1) <= SAME_SPEED),
    );
}

function otherRuns(shown: Shown): number {
  const all = shown.answers.residuals(shown.conditions).length;
  const curves = shown.answers.curves(shown.conditions);
  return all - curves.reduce((sum, curve) => sum + runsOn(shown, curve).length, 0);
}

/**
 * Ends of the upright axis. Far beyond the source's limit, or where bands open wide, nothing is of use and the curves
 * that are would be pressed together.
 */
function uprightRange(shown: Shown, curves: readonly CoolerCurve[]): [number, number] {
  const rise = shown.view.measure === 'rise';
  const of = (key: Bound, within: boolean): number[] =>
    curves
      .flatMap((c) =>
        c.predictions.filter((p) => !within || !p.extrapolated).map((p) => measured(p, key, rise)),
      )
      .filter(Number.isFinite);
  const runs = curves.flatMap((c) =>
    runsOn(shown, c).map((run) => (rise ? run.rise_K : run.rise_K / run.power_W)),
  );
  const tested = [...of('mean_low_K', true), ...of('mean_high_K', true), ...runs];
  const known = tested.length > 0 ? tested : of('rise_K', false);
  if (known.length === 0) return [0, 1];
  const highest = Math.max(...of('mean_high_K', false), ...known);
  if (!rise) {
    const [least, most] = [Math.min(...known), Math.max(...known)];
    return [least * 0.94, Math.max(most * 1.04, Math.min(highest, most * 1.25))];
  }
  const limit_C = temperatureLimit(shown.answers.bench, shown.state.source);
  const cap =
    limit_C === undefined ? Number.POSITIVE_INFINITY : Math.max(limit_C - shown.state.ambient_C, ...known);
  return [Math.min(0, ...runs), Math.max(1, Math.min(highest * 1.04, cap * 1.12, 2.4 * Math.max(...known)))];
}
