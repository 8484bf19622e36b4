import type { Ink } from '../charts/chart.ts';
import { colourProperty, DAY, HUES } from './marks.ts';

let onScreen: Ink | undefined;

/** The page's colours as they stand: asked for once, since each question makes the browser settle the styles of the page. */
export function screenInk(): Ink {
  onScreen ??= readInk();
  return onScreen;
}

/** Has the colours asked for again, after day and night have changed places. */
export function inkChanged(): void {
  onScreen = undefined;
}

function readInk(): Ink {
  const style = getComputedStyle(document.documentElement);
  const colour = (name: string): string => style.getPropertyValue(name).trim();
  const hues = Array.from({ length: HUES }, (_, place) => colour(colourProperty(place)));
  return {
    text: colour('--text'),
    quiet: colour('--quiet'),
    rule: colour('--rule'),
    paper: colour('--paper'),
    hue: (place) => hues[place % HUES],
  };
}

/** Black on white, for paper and for pictures that are saved. */
export const paperInk: Ink = {
  text: '#1c1e21',
  quiet: '#5c6066',
  rule: '#d9d6cd',
  paper: '#ffffff',
  hue: (place) => DAY[place % DAY.length],
};
