import { lazily } from '../../numerics/lazily.ts';

/**
 * How many columns of a terminal a text takes, so that tables line up whatever script the names are in.
 *
 * Characters that Unicode Standard Annex 11 calls wide or full-width take two columns; combining marks and joiners take
 * none. The ranges are the blocks in which such characters live, not the whole table of the annex.
 */

const WIDE: readonly (readonly [number, number])[] = [
  [0x1100, 0x115f],
  [0x231a, 0x231b],
  [0x2e80, 0x303e],
  [0x3041, 0x33ff],
  [0x3400, 0x4dbf],
  [0x4e00, 0x9fff],
  [0xa000, 0xa4cf],
  [0xa960, 0xa97f],
  [0xac00, 0xd7a3],
  [0xf900, 0xfaff],
  [0xfe30, 0xfe6f],
  [0xff00, 0xff60],
  [0xffe0, 0xffe6],
  [0x1f300, 0x1f64f],
  [0x1f680, 0x1f6ff],
  [0x1f900, 0x1f9ff],
  [0x20000, 0x3fffd],
];

/** Made where text beyond ASCII is first met: it takes longer to make than most tables to lay out. */
const segmenter = lazily(() => new Intl.Segmenter('en', { granularity: 'grapheme' }));

/** The characters as a reader counts them: a letter with its accents is one. */
function graphemes(text: string): string[] {
  return Array.from(segmenter().segment(text), (part) => part.segment);
}

function graphemeWidth(grapheme: string): number {
  if (/^[\p{Mn}\p{Me}\p{Cf}]+$/u.test(grapheme)) return 0;
  const code = grapheme.codePointAt(0) ?? 0;
  return WIDE.some(([low, high]) => code >= low && code <= high) ? 2 : 1;
}

const PLAIN = /^[\x20-\x7e±°µ]*$/;

/**
 * Columns that `text` takes in a terminal.
 *
 * @example displayWidth('冷却器 A') // 8
 */
export function displayWidth(text: string): number {
  if (PLAIN.test(text)) return text.length;
  return graphemes(text).reduce((sum, grapheme) => sum + graphemeWidth(grapheme), 0);
}

/** `text` filled with blanks to `width` columns. */
export function pad(text: string, width: number, align: 'left' | 'right'): string {
  const blanks = ' '.repeat(Math.max(0, width - displayWidth(text)));
  return align === 'left' ? text + blanks : blanks + text;
}

/**
 * `text` cut to at most `width` columns by taking out its middle, because product names differ at both ends.
 *
 * @example shorten('North Lab Tower 140 black', 16) // 'North L..0 black'
 */
export function shorten(text: string, width: number): string {
  if (displayWidth(text) <= width) return text;
  const parts = graphemes(text);
  const room = Math.max(2, width - 2);
  const take = (list: string[], most: number): string[] => {
    const kept: string[] = [];
    let used = 0;
    for (const grapheme of list) {
      used += graphemeWidth(grapheme);
      if (used > most) break;
      kept.push(grapheme);
    }
    return kept;
  };
  const head = take(parts, Math.ceil(room / 2));
  const tail = take(parts.slice(head.length).reverse(), Math.floor(room / 2)).reverse();
  return `${head.join('')}..${tail.join('')}`;
}

/**
 * `text` broken at blanks into lines of at most `width` columns; a longer word stands alone and is not cut.
 *
 * @param indent  blanks in front of every line after the first
 */
export function wrap(text: string, width: number, indent = 0): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/ +/).filter((w) => w !== '')) {
    const candidate = line === '' ? word : `${line} ${word}`;
    if (line.trim() !== '' && displayWidth(candidate) > width) {
      lines.push(line);
      line = ' '.repeat(indent) + word;
    } else {
      line = candidate;
    }
  }
  if (line !== '' || lines.length === 0) lines.push(line);
  return lines;
}
