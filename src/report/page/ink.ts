import type { Ink } from '../charts/chart.ts';
import { colourProperty, DAY } from './marks.ts';

/** The page's colours as they stand now. */
export function screenInk(): Ink {
  const style = getComputedStyle(document.documentElement);
  const colour = (name: string): string => style.getPropertyValue(name).trim();
  return {
    text: colour('--text'),
    quiet: colour('--quiet'),
    rule: colour('--rule'),
    paper: colour('--paper'),
    hue: (place) => colour(colourProperty(place)),
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
