import { joinNarrow, type PlaceStretch, placesOf, placeWords } from '../page/place-strips.ts';
import { type Chart, LETTER, type Shown, type Size, shortNames, thin, unmarked } from './chart.ts';
import { coolers, numbers, texts } from './chart-table.ts';
import { colourOf } from './emphasis.ts';
import { type Shape, scatter } from './figure.ts';
import { layoutOf, loadLine, loadPx, NARROW, nameRoom } from './layout.ts';

const ROW = 28;

/** The places that each cooler may hold against load, written out: one place where the test is sure of it, a range in a tie. */
export const placeChart: Chart = {
  id: 'places',
  title: 'Places each cooler may hold',
  savedTitle: () => 'Places each cooler may hold against load',
  follows: 'condition',
  byRows: true,
  work: ({ answers, conditions }) => answers.overLoadsInSteps(conditions),
  about: () =>
    'Numbers are the places that a cooler may hold: 1 is the coolest, 2–4 a tie in which it may be anything from second to fourth. Outlined and full where the loads were run, without outline beyond, so extrapolated. Stretches too narrow for their numbers are joined, with the range of both.',
  label: (shown) => {
    const result = shown.answers.overLoads(shown.conditions);
    return `The places that each cooler may hold against load. ${rowsOf(shown)
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
        coolers('cooler'),
        numbers('from', 'W'),
        numbers('to', 'W'),
        numbers('best place'),
        numbers('worst place'),
        texts('beyond what was run'),
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
    const loads = result.loads.map((at) => at.power_W);
    const [first, last] = [loads[0], loads[loads.length - 1]];
    const edge = (i: number): number =>
      i <= 0 ? first : i >= loads.length ? last : (loads[i - 1] + loads[i]) / 2;
    const margin = marginOf(shown, size);
    const perPx = (last - first) / (size.width - margin.l - margin.r);
    const colour = colourOf(shown, ink);
    const line = loadLine(shown, ink, size);
    const cellOf = (part: PlaceStretch) => {
      const [from, to] = [edge(part.from), edge(part.to + 1)];
      const text = part.best === part.worst ? `${part.best}` : `${part.best}–${part.worst}`;
      return { ...part, from, to, text, fits: to - from > (text.length * LETTER + 4) * perPx };
    };
    const cells = names.flatMap((name, row) =>
      joinNarrow(placesOf(name, result), (part) => cellOf(part).fits).map((part) => ({
        ...cellOf(part),
        name,
        row,
      })),
    );
    const words = new Map(names.map((name) => [name, unmarked(placeWords(name, result))]));
    const written = cells.filter(({ fits }) => fits);
    return {
      data: [
        scatter({
          mode: 'text',
          x: written.map(({ from, to }) => (from + to) / 2),
          y: written.map(({ row }) => row + 0.5),
          text: written.map(({ text }) => text),
          textfont: {
            size: 12.5,
            color: written.map(({ best, worst }) => (best === worst ? ink.text : ink.quiet)),
          },
          hovertemplate: written.map(({ name }) => `${words.get(name)}<extra></extra>`),
          customdata: written.map(({ name }) => name),
        }),
      ],
      layout: {
        ...layoutOf(
          ink,
          size,
          margin,
          { title: 'load, W', range: [first, last], bare: true },
          {
            range: [names.length, 0],
            bare: true,
            rows: { names: namesOf(shown, size), at: (row) => row + 0.5 },
          },
        ),
        shapes: [
          ...cells.map(
            ({ name, row, from, to, best, worst, beyond }): Shape => ({
              type: 'rect',
              layer: 'below',
              x0: from + perPx,
              x1: to - perPx,
              y0: row + 0.1,
              y1: row + 0.9,
              fillcolor: thin(colour(name), best === worst ? 0.34 : 0.12),
              line: { width: beyond ? 0 : 1, color: thin(colour(name), 0.8) },
            }),
          ),
          ...line.shapes,
        ],
        annotations: line.annotations,
      },
    };
  },
};

function namesOf(shown: Shown, { width }: Size): string[] {
  const names = rowsOf(shown);
  return names.map(shortNames(names, width < NARROW ? 15 : 26));
}

const marginOf = (shown: Shown, size: Size) => ({ l: nameRoom(namesOf(shown, size)), r: 14, t: 18, b: 46 });

/** Coolers in the order of a middling load. */
function rowsOf(shown: Shown): string[] {
  const { loads } = shown.answers.overLoads(shown.conditions);
  return loads[Math.floor((loads.length - 1) / 2)]?.order.map((e) => e.cooler) ?? [];
}
