/**
 * A mark and a colour for each cooler, by its place in the bench, so that it keeps both wherever it is shown.
 *
 * Eight hues, chosen in OKLCH so that any two stay at least 0.1 apart in OKLab for full colour vision and for the three
 * dichromacies as simulated by Machado, Oliveira and Fernandes (2009), and hold 3:1 against the paper by day and 4.5:1
 * by night. The shape of the mark is the second coding: it differs between neighbours and between coolers of one hue: nine shapes
 * and eight hues make 72 pairs before one comes again.
 */
export const HUES = 8;

export const DAY = ['#002a50', '#df5286', '#8f7900', '#0989ae', '#4b1400', '#7563de', '#005638', '#773790'];
export const NIGHT = ['#d3f1fd', '#fda6c7', '#e7de28', '#368ca7', '#f27700', '#bd9cfe', '#2bba7b', '#9670ec'];

/** Shapes by the chart library's names, and the same drawn in a square from -5 to 5. */
const SHAPES: readonly { name: string; path: string }[] = [
  { name: 'circle', path: 'M4 0A4 4 0 1 1-4 0A4 4 0 1 1 4 0Z' },
  { name: 'square', path: 'M-3.6-3.6H3.6V3.6H-3.6Z' },
  { name: 'diamond', path: 'M0-5L5 0L0 5L-5 0Z' },
  { name: 'triangle-up', path: 'M0-4.6L4.6 3.6H-4.6Z' },
  { name: 'cross', path: 'M-1.7-4.7H1.7V-1.7H4.7V1.7H1.7V4.7H-1.7V1.7H-4.7V-1.7H-1.7Z' },
  { name: 'triangle-down', path: 'M0 4.6L4.6-3.6H-4.6Z' },
  {
    name: 'x',
    path: 'M-4.4-2.2L-2.2-4.4L0-2.2L2.2-4.4L4.4-2.2L2.2 0L4.4 2.2L2.2 4.4L0 2.2L-2.2 4.4L-4.4 2.2L-2.2 0Z',
  },
  { name: 'pentagon', path: 'M0-4.8L4.6-1.5L2.8 3.9H-2.8L-4.6-1.5Z' },
  { name: 'star', path: 'M0-5L1.4-1.6L5-1.5L2.2.7L3.1 4.1L0 2.2L-3.1 4.1L-2.2.7L-5-1.5L-1.4-1.6Z' },
];

/** The chart library's name of the shape. */
export function symbol(place: number): string {
  return SHAPES[place % SHAPES.length].name;
}

/** The shape's outline in a square from -5 to 5, by the chart library's name. */
export function shapePath(name: string): string {
  return (SHAPES.find((one) => one.name === name) ?? SHAPES[0]).path;
}

/** Style property that holds the colour, so that day, night and print each have their own. */
export function colourProperty(place: number): string {
  return `--hue-${place % HUES}`;
}

/** The mark as a small drawing beside a name; the name says what it is. Its shape stands in the page's sprite. */
export function markSvg(place: number): string {
  return `<svg class="mark" aria-hidden="true"><use href="#mark-${place}"/></svg>`;
}

/** The marks of so many coolers, once for the whole page. */
export function markSprite(count: number): string {
  const symbols = Array.from({ length: count }, (_, place) => {
    const { path } = SHAPES[place % SHAPES.length];
    return `<symbol id="mark-${place}" viewBox="-6 -6 12 12"><path d="${path}" fill="var(${colourProperty(place)})"/></symbol>`;
  });
  return `<svg class="unseen" aria-hidden="true">${symbols.join('')}</svg>`;
}
