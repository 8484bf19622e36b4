import { listOf, load, percent } from '../../answers/text/wording.ts';
import { unparted } from '../page/escape.ts';
import { conditionWords } from '../state.ts';
import { type Chart, type Ink, LETTER, type Shown, unmarked } from './chart.ts';
import { inColour } from './emphasis.ts';
import { innerSvg } from './svg.ts';

/** What a picture says around its drawing: it stands in an article without the page. */
export interface Framing {
  title: string;
  /** Bench, condition and level, unless the chart has its own. */
  under: string;
  /** What bars, bands, letters and paleness mean, who ties in words, and what is extrapolated. */
  notes: readonly string[];
  credit: string;
}

/** The words around a chart; title and credit may be the reader's own. */
export function framingOf(
  chart: Chart,
  shown: Shown,
  own: { title?: string; credit?: string } = {},
): Framing {
  const { answers, state, compare } = shown;
  const condition = `${conditionWords(state)}; intervals at ${percent(compare.level)}`;
  return {
    title: own.title || chart.savedTitle(shown),
    under: `${answers.bench.name}; ${chart.savedUnder?.(shown) ?? condition}`,
    notes: [
      // What the page lets a reader choose, a picture does not.
      chart.about(shown).replace(/[:;] choose [^.]*| Choose [^.]*\./g, ''),
      chart.inWords?.(shown) ?? '',
      ...(chart.follows === 'load' && !chart.savedUnder ? [extrapolatedAt(shown)] : []),
      ...(chart.follows === 'source' || chart.id === 'pairs' ? [] : [paleWords(shown)]),
    ].filter((one) => one !== ''),
    credit: own.credit || answers.data.credit,
  };
}

function extrapolatedAt({ compare, state }: Shown): string {
  const beyond = compare.loads[0]?.order.filter((e) => e.extrapolated).map((e) => e.cooler) ?? [];
  return beyond.length === 0
    ? ''
    : `Extrapolated at ${load(state.power_W)}, beyond the loads, speeds or source run: ${listOf(beyond, 40)}.`;
}

/** Who is pale, where not all are in colour. */
function paleWords(shown: Shown): string {
  const order = shown.compare.loads[0]?.order ?? [];
  if (inColour(shown).size >= order.length) return '';
  const [first] = shown.view.chosen;
  const lit = first === undefined ? 'the coolers in front' : `the chosen coolers and who ties with ${first}`;
  return `In colour at ${load(shown.state.power_W)}: ${lit}; the others are grey.`;
}

/** The whole of it as one text, as a caption under a figure says it. */
export const captionOf = ({ title, under, notes, credit }: Framing): string =>
  [`${title}.`, `${under}.`, ...notes, `${credit}.`].join(' ');

/** A text broken into lines of at most so many letters, words whole. */
export function wrapped(text: string, letters: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const last = lines[lines.length - 1];
    if (last !== undefined && last.length + 1 + word.length <= letters)
      lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}

/** Height of a picture before it is scaled, px: small enough for the text to be read on a phone's screen. */
const LEAST_HEIGHT = 540;
const SIDE = 18;
/** The least height of a drawing whose height is free, px. */
const LEAST_DRAWING = 330;

interface Line {
  text: string;
  size: number;
  colour: string;
  bold?: boolean;
}

/** Height of a line of text over its size. */
const LEADING = 1.35;

/**
 * A chart with everything it needs to stand alone, 16 to 9; tall ones are set smaller rather than cut.
 *
 * @returns the picture as an SVG document, and its size, px
 */
export function pictureOf(
  chart: Chart,
  shown: Shown,
  ink: Ink,
  framing: Framing,
): { svg: string; width: number; height: number } {
  const lines = (width: number) => {
    const broken = (text: string, size: number): string[] =>
      wrapped(unparted(text), Math.floor((width - 2 * SIDE) / ((LETTER / 12.5) * size)));
    const head: Line[] = [
      ...broken(framing.title, 21).map((text) => ({ text, size: 21, colour: ink.text, bold: true })),
      ...broken(framing.under, 13).map((text) => ({ text, size: 13, colour: ink.quiet })),
    ];
    const foot: Line[] = [
      ...broken(framing.notes.join(' '), 11.5).map((text) => ({ text, size: 11.5, colour: ink.quiet })),
      ...broken(framing.credit, 11.5).map((text) => ({ text, size: 11.5, colour: ink.text })),
    ];
    const room = (list: readonly Line[]): number => list.reduce((sum, { size }) => sum + size * LEADING, 0);
    return { head, foot, headRoom: SIDE + room(head) + 8, footRoom: room(foot) + SIDE };
  };
  const sized = (width: number): number => {
    const { headRoom, footRoom } = lines(width);
    const drawing = chart.byRows ? chart.height(shown, width) : LEAST_DRAWING;
    return headRoom + drawing + footRoom;
  };
  // A wider picture needs fewer lines of text, so once around is enough.
  const first = Math.max(LEAST_HEIGHT, sized((LEAST_HEIGHT * 16) / 9));
  // A height whose sixteen ninths are whole keeps both saved sizes exact.
  const height = Math.ceil(Math.max(LEAST_HEIGHT, sized((first * 16) / 9)) / 9) * 9;
  const width = (height * 16) / 9;
  const { head, foot, headRoom, footRoom } = lines(width);
  const drawn = chart.draw(shown, ink, {
    width: width - SIDE,
    height: height - headRoom - footRoom,
    alone: true,
  });
  const texts = (list: readonly Line[], from: number): string => {
    let y = from;
    return list
      .map(({ text, size, colour, bold }) => {
        y += size * LEADING;
        return `<text x="${SIDE}" y="${(y - size * 0.35).toFixed(1)}" font-size="${size}" fill="${colour}"${bold ? ' font-weight="600"' : ''}>${unmarked(text)}</text>`;
      })
      .join('');
  };
  const family = drawn.layout.font.family.replaceAll('"', "'");
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" font-family="${family}" font-size="12.5" fill="${ink.text}" role="img"><title>${unmarked(framing.title)}</title><desc>${unmarked(captionOf(framing))}</desc><rect width="${width}" height="${height}" fill="${ink.paper}"/>${texts(head, SIDE)}<g transform="translate(${SIDE / 2} ${headRoom.toFixed(1)})">${innerSvg(drawn, 'picture')}</g>${texts(foot, height - footRoom)}</svg>`;
  return { svg, width, height };
}
