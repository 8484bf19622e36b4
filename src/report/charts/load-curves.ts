import { symbol } from '../page/marks.ts';
import {
  type Ink,
  type Label,
  labelTrace,
  lettering,
  parted,
  type Shown,
  type Size,
  shortNames,
  thin,
  unmarked,
} from './chart.ts';
import { colourOf, inColour } from './emphasis.ts';
import { type Annotation, type Drawing, type Shape, scatter, type Trace } from './figure.ts';
import { bandShape, hatchShape, layoutOf, loadLine, loadPx, type Margin, remark } from './layout.ts';

/** A quantity of a cooler at one load, with its interval. */
export interface CurvePoint {
  power_W: number;
  value: number;
  low: number;
  high: number;
  /** Interval where no further limit of heat pipes is met; the rest of the band is hatched. */
  ifPipesHold?: { low: number; high: number };
  beyond: boolean;
  /** Drawn strong: the test tells it. */
  strong?: boolean;
}

/** A curve over the loads of the page. */
export interface LoadCurve {
  cooler: string;
  points: readonly CurvePoint[];
  /** Runs of the cooler, as marks. */
  runs?: readonly { run: string; power_W: number; value: number }[];
}

/** What a drawing of curves over load is made of. */
export interface LoadCurves {
  curves: readonly LoadCurve[];
  /** Title of the upright axis. */
  title: string;
  range: [number, number];
  /** A level line's own name among those of the curves. */
  level?: { cooler: string; y: number };
  /** Decimals and unit of a value. */
  decimals: number;
  unit: string;
  shapes?: readonly Shape[];
  annotations?: readonly Annotation[];
  data?: readonly Trace[];
}

/** Bands of more coolers than this are not hatched. */
const MOST_HATCHED = 3;

/** Letters of a name at the end of a curve, and the room for them, px: on a narrow screen fewer. */
const WIDE = { letters: 22, r: 168 };
const CUT = { letters: 11, r: 88 };
export const isWide = (size: Size): boolean => size.width >= 620 || size.alone === true;
const roomOf = (size: Size): typeof WIDE => (isWide(size) ? WIDE : CUT);

const marginOf = (size: Size): Margin => ({ l: 58, r: roomOf(size).r, t: 14, b: 46 });

/** Where the chosen load stands in such a drawing. */
export function loadInCurves({ answers, conditions, state }: Shown, size: Size) {
  const { from_W, to_W } = answers.span(conditions);
  const margin = marginOf(size);
  return { x: loadPx(state.power_W, [from_W, to_W], size, margin), top: margin.t, bottom: margin.b };
}

/**
 * Curves over load with bands: full lines and darker bands over what was run, dashes and paler bands beyond, the part of a band that
 * only a limit of heat pipes would explain hatched. Coolers that are not in question are pale and lie beneath.
 */
export function drawLoadCurves(shown: Shown, ink: Ink, size: Size, parts: LoadCurves): Drawing {
  const { range } = parts;
  const { from_W, to_W } = shown.answers.span(shown.conditions);
  const margin = marginOf(size);
  const coloured = inColour(shown);
  const colour = colourOf(shown, ink);
  const back = parts.curves.filter((c) => !coloured.has(c.cooler));
  const front = parts.curves.filter((c) => coloured.has(c.cooler));
  const tested = parts.curves.flatMap((c) => c.points.filter((p) => !p.beyond).map((p) => p.power_W));
  const run = [Math.min(...tested), Math.max(...tested)];
  const { chosen } = shown.view;
  const hatched = (chosen.length > 0 ? chosen : front.map((c) => c.cooler)).slice(0, MOST_HATCHED + 1);
  if (hatched.length > MOST_HATCHED) hatched.length = 0;
  const line = loadLine(shown, ink, size);
  const step = (to_W - from_W) / Math.max(40, (size.width - margin.l - margin.r) / 7);
  return {
    data: [
      ...back.map((c) => lineOf(c, c.points, ink.pale, 1.25, undefined, parts)),
      ...front.flatMap((c) => linesOf(c, colour(c.cooler), parts)),
      runsOf(shown, front, ink, parts),
      ...(parts.data ?? []),
      namesAt(to_W, shown, ink, size, front, parts),
    ],
    layout: {
      ...layoutOf(
        ink,
        size,
        margin,
        { title: 'load, W', range: [from_W, to_W], bare: true },
        { title: parts.title, range },
      ),
      shapes: [
        ...(tested.length === 0 ? [] : [testedShape(run, ink)]),
        ...front.flatMap((c) => {
          const i = hatched.indexOf(c.cooler);
          return bandsOf(
            c,
            colour(c.cooler),
            front.length,
            i < 0 ? undefined : { step, phase: (i / hatched.length) * step },
          );
        }),
        ...line.shapes,
        ...(parts.shapes ?? []),
      ],
      annotations: [
        ...line.annotations,
        ...(tested.length === 0
          ? []
          : [
              remark('loads run', ink, {
                x: (run[0] + run[1]) / 2,
                yref: 'paper',
                y: 0,
                yanchor: 'bottom',
                // On a narrow screen it stands above what may be written in the corner.
                yshift: isWide(size) ? 0 : 15,
              }),
            ]),
        ...(parts.annotations ?? []),
      ],
    },
  };
}

/** Names at the ends of the curves in question, none over another. */
function namesAt(
  x: number,
  { answers: { places } }: Shown,
  ink: Ink,
  size: Size,
  front: readonly LoadCurve[],
  { range, level }: LoadCurves,
): Trace {
  const margin = marginOf(size);
  const each = ((range[1] - range[0]) / (size.height - margin.t - margin.b)) * 16;
  const ends = [
    ...front.map(({ cooler, points }) => ({ cooler, y: points[points.length - 1].value })),
    ...(level ? [level] : []),
  ];
  const short = shortNames([...new Set(ends.map(({ cooler }) => cooler))], roomOf(size).letters);
  const labels = ends.map(({ cooler, y }): Label => ({ text: cooler, y, place: places.get(cooler) ?? 0 }));
  return labelTrace(
    parted(labels, range, each).map(({ text, y, place }) => ({
      text: short(text),
      x,
      y,
      colour: lettering(ink.hue(place), ink),
    })),
  );
}

const testedShape = ([x0, x1]: number[], ink: Ink): Shape => ({
  type: 'rect',
  layer: 'below',
  xref: 'x',
  yref: 'paper',
  x0,
  x1,
  y0: 0,
  y1: 1,
  fillcolor: thin(ink.quiet, 0.08),
  line: { width: 0 },
});

/** Stretches of a curve of one kind; those beyond what was run reach over to their neighbours so that lines meet. */
function stretches(
  points: readonly CurvePoint[],
  isOf: (point: CurvePoint) => boolean,
  reachOver: boolean,
): CurvePoint[][] {
  const found: CurvePoint[][] = [];
  for (let i = 0; i < points.length; i++) {
    if (!isOf(points[i])) continue;
    let end = i;
    while (end + 1 < points.length && isOf(points[end + 1])) end++;
    found.push(reachOver ? points.slice(Math.max(0, i - 1), end + 2) : points.slice(i, end + 1));
    i = end;
  }
  return found;
}

/** Bands of a curve: one shape for what was run, a paler one beyond, and the hatching. */
function bandsOf(
  { points }: LoadCurve,
  colour: string,
  /** So many bands lie over one another. */
  count: number,
  hatch: { step: number; phase: number } | undefined,
): Shape[] {
  const bands = [true, false].flatMap((beyond) =>
    bandShape(
      stretches(points, (p) => p.beyond === beyond, beyond).map((part) => ({
        x: part.map((p) => p.power_W),
        high: part.map((p) => p.ifPipesHold?.high ?? p.high),
        low: part.map((p) => p.ifPipesHold?.low ?? p.low),
      })),
      thin(colour, beyond ? Math.min(0.1, 0.4 / count) : Math.min(0.17, 0.7 / count)),
    ),
  );
  const open = stretches(points, (p) => p.ifPipesHold !== undefined, true).flatMap((part) => {
    const x = part.map((p) => p.power_W);
    const between = (low: (p: CurvePoint) => number, high: (p: CurvePoint) => number) => ({
      x,
      low: part.map(low),
      high: part.map(high),
    });
    return [
      between(
        (p) => p.ifPipesHold?.high ?? p.high,
        (p) => p.high,
      ),
      between(
        (p) => p.low,
        (p) => p.ifPipesHold?.low ?? p.low,
      ),
    ];
  });
  // Strokes of many bands in one place hide what lies beneath: then this part is the palest of the band.
  const rest =
    hatch === undefined
      ? bandShape(open, thin(colour, Math.min(0.06, 0.2 / count)))
      : hatchShape(open, hatch.step, hatch.phase, thin(colour, 0.5));
  return [...bands, ...rest];
}

function lineOf(
  { cooler }: LoadCurve,
  points: readonly (CurvePoint | null)[],
  color: string,
  width: number,
  dash: string | undefined,
  { decimals, unit }: LoadCurves,
): Trace {
  return scatter({
    mode: 'lines',
    name: unmarked(cooler),
    x: points.map((p) => p?.power_W ?? null),
    y: points.map((p) => p?.value ?? null),
    line: { color, width, dash: dash ?? 'solid', simplify: false },
    customdata: points.map(() => cooler),
    hovertemplate: `%{y:.${decimals}f} ${unit} at %{x} W${dash ? ', beyond what was run' : ''}<extra>%{fullData.name}</extra>`,
  });
}

/** The curve as two lines, dashed beyond what was run, and a wider one where the test tells; a gap parts the stretches of one kind. */
function linesOf(curve: LoadCurve, colour: string, parts: LoadCurves): Trace[] {
  const gapped = (list: CurvePoint[][]): (CurvePoint | null)[] => list.flatMap((part) => [...part, null]);
  const { points } = curve;
  const strong = gapped(stretches(points, (p) => p.strong === true, false));
  return [
    ...(strong.length > 0
      ? [{ ...lineOf(curve, strong, thin(colour, 0.25), 7, undefined, parts), hoverinfo: 'skip' }]
      : []),
    lineOf(curve, gapped(stretches(points, (p) => p.beyond, true)), thin(colour, 0.8), 1.5, '5px,4px', parts),
    lineOf(curve, gapped(stretches(points, (p) => !p.beyond, false)), colour, 2.25, undefined, parts),
  ];
}

/** The runs of all curves as one trace, each in its cooler's mark and colour. */
function runsOf(shown: Shown, curves: readonly LoadCurve[], ink: Ink, { decimals, unit }: LoadCurves): Trace {
  const runs = curves.flatMap(({ cooler, runs: own = [] }) =>
    own.map((run) => ({ ...run, cooler, place: shown.answers.places.get(cooler) ?? 0 })),
  );
  return scatter({
    mode: 'markers',
    x: runs.map((run) => run.power_W),
    y: runs.map((run) => run.value),
    text: runs.map((run) => `${unmarked(run.cooler)}, run ${unmarked(run.run)}`),
    customdata: runs.map((run) => run.cooler),
    marker: {
      symbol: runs.map((run) => symbol(run.place)),
      size: 8,
      color: runs.map((run) => ink.hue(run.place)),
      line: { width: 1, color: ink.paper },
    },
    hovertemplate: `%{y:.${decimals}f} ${unit} at %{x} W<extra>%{text}</extra>`,
  });
}

/**
 * Ends of the upright axis. Where bands open wide nothing is of use, and the curves that are would be pressed together: what was run
 * sets the scale, up to so many times as far.
 */
export function uprightRange(
  curves: readonly LoadCurve[],
  { from, times, cap = Number.POSITIVE_INFINITY }: { from?: number; times: number; cap?: number },
): [number, number] {
  const of = (key: 'value' | 'low' | 'high', within: boolean): number[] =>
    curves
      .flatMap((c) => c.points.filter((p) => !within || !p.beyond).map((p) => p[key]))
      .filter(Number.isFinite);
  const runs = curves.flatMap((c) => (c.runs ?? []).map((run) => run.value));
  const tested = [...of('low', true), ...of('high', true), ...runs];
  const known = tested.length > 0 ? tested : of('value', false);
  if (known.length === 0) return [0, 1];
  const [least, most] = [Math.min(...known), Math.max(...known)];
  const [lowest, highest] = [Math.min(...of('low', false), least), Math.max(...of('high', false), most)];
  if (from !== undefined) {
    const base = Math.min(from, ...runs);
    const reach = Math.min(highest, Math.max(cap, most), from + times * (most - from));
    return [base, Math.max(base + 1, reach + (reach - base) * 0.03)];
  }
  const reach = (most - least || 1) * times;
  const mid = (most + least) / 2;
  const [bottom, top] = [Math.max(lowest, mid - reach / 2), Math.min(highest, mid + reach / 2)];
  return [bottom - (top - bottom) * 0.04, top + (top - bottom) * 0.04];
}
