import { crossingRange } from '../../answers/text/answer.ts';
import { percent } from '../../answers/text/wording.ts';
import type { Crossing, Pair } from '../../compare/comparison.ts';
import { symbol } from '../page/marks.ts';
import { type Chart, type Shown, shortened, thin, unmarked } from './chart.ts';
import { coolers, numbers, texts } from './chart-table.ts';
import { aheadOf, colourOf, inColour, referenceOf } from './emphasis.ts';
import { type Shape, scatter } from './figure.ts';
import { edgeToEdge, inCorner } from './layout.ts';
import { drawLoadCurves, isWide, type LoadCurve, loadInCurves, uprightRange } from './load-curves.ts';

interface Beside {
  curve: LoadCurve;
  crossings: readonly Crossing[];
}

/**
 * Rise of every cooler less that of a chosen one, against load: above the level line is warmer, below it cooler. Where a band lies
 * clear of the line, the two are told apart; where a curve crosses it, they change places.
 */
export const differenceChart: Chart = {
  id: 'differences',
  title: 'Where the order changes',
  savedTitle: (shown) => `Rise less that of ${referenceOf(shown)}, against load`,
  follows: 'condition',
  work: ({ answers, conditions }) => answers.overLoadsInSteps(conditions),
  about: (shown) => {
    const name = referenceOf(shown);
    const crossing = besides(shown).some(({ crossings }) => crossings.length > 0)
      ? ` A large mark on the line is a load at which a cooler changes places with ${name}, with its interval.`
      : '';
    return `Each curve is a cooler’s rise less that of ${name}: above the level line it runs warmer than ${name}, below it cooler. Bands are the intervals of the difference, which hold for all pairs at a load together at ${percent(shown.compare.level)}. Where a band is clear of the line the two are told apart and the curve is drawn wide; elsewhere they tie.${crossing} Dashes lie beyond what was run, so extrapolated.`;
  },
  label: (shown) =>
    `Rise less that of ${referenceOf(shown)} against load, with bands, and the loads at which the order changes.`,
  has: (answers) => answers.places.size > 1,
  height: (_, width) => Math.round(Math.min(500, Math.max(320, width * 0.52))),
  loadAt: loadInCurves,
  table: (shown) => {
    const name = referenceOf(shown) ?? '';
    return {
      caption: `Rise less that of ${name}, against load`,
      columns: [
        coolers('cooler'),
        coolers('less that of'),
        numbers('power', 'W'),
        numbers('difference', 'K', 2),
        numbers('low', 'K', 2),
        numbers('high', 'K', 2),
        texts('verdict'),
        texts('beyond what was run'),
      ],
      rows: besides(shown).flatMap(({ curve }) =>
        curve.points.map((p) => [
          curve.cooler,
          name,
          p.power_W,
          p.value,
          p.low,
          p.high,
          p.strong ? 'told apart' : 'a tie',
          p.beyond ? 'yes' : 'no',
        ]),
      ),
    };
  },
  draw: (shown, ink, size) => {
    const name = referenceOf(shown) ?? '';
    const all = besides(shown);
    const curves = all.map(({ curve }) => curve);
    // The pale ones may run off: those in question set the scale.
    const coloured = inColour(shown);
    const lit = curves.filter(({ cooler }) => coloured.has(cooler));
    const [low, high] = uprightRange(lit.length > 0 ? lit : curves, { times: 2 });
    const air = (high - low) * 0.06;
    const range: [number, number] = [Math.min(low, -air), Math.max(high, air)];
    const colour = colourOf(shown, ink);
    const { from_W, to_W } = shown.answers.span(shown.conditions);
    const meets = all.flatMap(({ curve, crossings }) =>
      crossings
        .filter((c) => !(c.low_open && c.high_open))
        .map((crossing) => ({ cooler: curve.cooler, crossing })),
    );
    const within = (power_W: number): number => Math.min(to_W, Math.max(from_W, power_W));
    return drawLoadCurves(shown, ink, size, {
      curves,
      title: `rise less that of ${isWide(size) ? name : shortened(name, 16)}, K`,
      range,
      decimals: 2,
      unit: 'K',
      level: { cooler: name, y: 0 },
      shapes: [
        edgeToEdge({ y: 0 }, { color: ink.text, width: 1.25 }),
        ...meets.map(
          ({ cooler, crossing }, k): Shape => ({
            type: 'line',
            x0: within(crossing.low),
            x1: within(crossing.high),
            y0: offset(k, range),
            y1: offset(k, range),
            line: { color: thin(colour(cooler), 0.9), width: 2 },
          }),
        ),
      ],
      data: [
        scatter({
          mode: 'markers',
          x: meets.map(({ crossing }) => crossing.value),
          y: meets.map((_, k) => offset(k, range)),
          marker: {
            symbol: meets.map(({ cooler }) => symbol(shown.answers.places.get(cooler) ?? 0)),
            size: 12,
            color: meets.map(({ cooler }) => colour(cooler)),
            line: { width: 1.5, color: ink.paper },
          },
          hovertemplate: meets.map(
            ({ cooler, crossing }) =>
              `${unmarked(cooler)} and ${unmarked(name)} change places at ${Math.round(crossing.value)} W (${crossingRange(crossing)})<extra></extra>`,
          ),
        }),
      ],
      annotations: [inCorner('warmer', ink, 'top'), inCorner('cooler', ink, 'bottom')],
    });
  },
};

/** Intervals of several crossings lie beneath one another. */
const offset = (k: number, [low, high]: readonly [number, number]): number =>
  -(high - low) * 0.022 * (k % 2 === 0 ? k / 2 : -(k + 1) / 2);

/** Every other cooler beside the reference, over the loads of the page. */
function besides(shown: Shown): Beside[] {
  const name = referenceOf(shown);
  const result = shown.answers.overLoads(shown.conditions);
  const beyond = result.loads.map(
    (at) => new Set(at.order.filter((e) => e.extrapolated).map((e) => e.cooler)),
  );
  return result.pairs
    .filter((pair) => pair.a === name || pair.b === name)
    .map((pair) => {
      const cooler = pair.a === name ? pair.b : pair.a;
      return {
        curve: {
          cooler,
          points: pair.difference.map((_, i) => pointOf(pair, i, cooler, (one) => beyond[i].has(one))),
        },
        crossings: pair.crossings,
      };
    });
}

/** The difference of a pair at one load, as the rise of the one named less that of the other. */
function pointOf(
  pair: Pair,
  i: number,
  cooler: string,
  isBeyond: (cooler: string) => boolean,
): LoadCurve['points'][number] {
  const { power_W, rise_K, low_K, high_K, if_pipes_hold } = pair.difference[i];
  const turned = pair.b === cooler;
  const ends = (low: number, high: number) => (turned ? { low: -high, high: -low } : { low, high });
  return {
    power_W,
    value: turned ? -rise_K : rise_K,
    ...ends(low_K, high_K),
    ...(if_pipes_hold && { ifPipesHold: ends(if_pipes_hold.low_K, if_pipes_hold.high_K) }),
    beyond: isBeyond(pair.a) || isBeyond(pair.b),
    strong: aheadOf(pair, power_W) !== undefined,
  };
}
