import { placesOf, placeWords } from '../page/place-strips.ts';
import { type Chart, type Shown, type Size, shortNames, thin, unmarked } from './chart.ts';
import { layoutOf, loadLine, loadPx, nameRoom } from './layout.ts';

const ROW = 34;

/**
 * The places that each cooler may hold against load: a strip for each, its top edge the first place, its bottom edge the
 * last. A tie is a range of places, so it is as tall as the coolers in it; a place that the test is sure of is thin.
 */
export const placeChart: Chart = {
  id: 'places',
  title: 'Places each cooler may hold',
  savedTitle: () => 'Places each cooler may hold against load',
  follows: 'condition',
  byRows: true,
  atRest: true,
  about: () =>
    'Each strip runs from the least to the greatest load; its top edge is the first place, its bottom edge the last. A thin bar is a place that the test is sure of, a tall one a tie. Paler parts lie beyond what was run.',
  label: (shown) => {
    const result = shown.answers.overLoads(shown.conditions);
    return `Strips of the places that each cooler may hold against load. ${rowsOf(shown)
      .slice(0, 4)
      .map((name) => placeWords(name, result))
      .join('. ')}`;
  },
  has: (answers) => answers.places.size > 1,
  height: ({ compare }) => 54 + ROW * (compare.loads[0]?.order.length ?? 1),
  loadAt: (shown, size) => {
    const { loads } = shown.answers.overLoads(shown.conditions);
    const margin = marginOf(shown, size);
    const ends: [number, number] = [loads[0].power_W, loads[loads.length - 1].power_W];
    return { x: loadPx(shown.state.power_W, ends, size, margin), top: margin.t, bottom: margin.b };
  },
  table: (shown) => {
    const result = shown.answers.overLoads(shown.conditions);
    return {
      caption: 'Places that each cooler may hold, by stretch of loads',
      columns: [
        { name: 'cooler', kind: 'cooler' },
        { name: 'from', unit: 'W', kind: 'number' },
        { name: 'to', unit: 'W', kind: 'number' },
        { name: 'best place', kind: 'number' },
        { name: 'worst place', kind: 'number' },
        { name: 'beyond what was run', kind: 'text' },
      ],
      rows: rowsOf(shown).flatMap((name) =>
        placesOf(name, result).map(({ from, to, best, worst, beyond }) => [
          name,
          result.loads[from].power_W,
          result.loads[to].power_W,
          best,
          worst,
          beyond ? 'yes' : 'no',
        ]),
      ),
    };
  },
  draw: (shown, ink, size) => {
    const result = shown.answers.overLoads(shown.conditions);
    const names = rowsOf(shown);
    const field = Math.max(names.length, 1);
    const loads = result.loads.map((at) => at.power_W);
    const edge = (i: number): number =>
      i <= 0 ? loads[0] : i >= loads.length ? loads[loads.length - 1] : (loads[i - 1] + loads[i]) / 2;
    const data = names.flatMap((name, row) => {
      const place = shown.answers.places.get(name) ?? 0;
      const colour = ink.hue(place);
      const y = (at: number): number => row + 0.06 + (0.88 * at) / field;
      return [true, false].map((beyond) => {
        const xs: (number | null)[] = [];
        const ys: (number | null)[] = [];
        for (const part of placesOf(name, result)) {
          if (part.beyond !== beyond) continue;
          const [x0, x1] = [edge(part.from), edge(part.to + 1)];
          const [y0, y1] = [y(part.best - 1), y(part.worst)];
          xs.push(x0, x1, x1, x0, x0, null);
          ys.push(y0, y0, y1, y1, y0, null);
        }
        return {
          type: 'scatter',
          mode: 'lines',
          x: xs,
          y: ys,
          fill: 'toself',
          fillcolor: beyond ? thin(colour, 0.4) : colour,
          line: { width: 0 },
          hoveron: 'fills',
          hoverinfo: 'text',
          text: unmarked(placeWords(name, result)),
        };
      });
    });
    return {
      data,
      layout: {
        ...layoutOf(
          ink,
          size,
          marginOf(shown, size),
          { title: 'load, W', range: [loads[0], loads[loads.length - 1]], bare: true },
          {
            range: [names.length, 0],
            bare: true,
            rows: { names: namesOf(shown, size), at: (row) => row + 0.5 },
          },
        ),
        shapes: [
          ...loadLine(shown, ink, size),
          ...names.map((_, i) => ({
            type: 'rect',
            layer: 'below',
            xref: 'paper',
            x0: 0,
            x1: 1,
            y0: i + 0.06,
            y1: i + 0.94,
            fillcolor: thin(ink.quiet, 0.1),
            line: { width: 0 },
          })),
        ],
      },
    };
  },
};

function namesOf(shown: Shown, { width }: Size): string[] {
  const names = rowsOf(shown);
  return names.map(shortNames(names, width < 560 ? 15 : 26));
}

const marginOf = (shown: Shown, size: Size) => ({ l: nameRoom(namesOf(shown, size)), r: 14, t: 8, b: 46 });

/** Coolers in the order of a middling load. */
function rowsOf(shown: Shown): string[] {
  const { loads } = shown.answers.overLoads(shown.conditions);
  return loads[Math.floor((loads.length - 1) / 2)]?.order.map((e) => e.cooler) ?? [];
}
