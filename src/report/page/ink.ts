import type { Ink } from '../charts/chart.ts';
import { colourProperty, DAY, HUES, NIGHT } from './marks.ts';

/** The page's colours as they stand. Each question makes the browser settle the styles of the page. */
export function screenInk(): Ink {
  const style = getComputedStyle(document.documentElement);
  const colour = (name: string): string => style.getPropertyValue(name).trim();
  const hues = Array.from({ length: HUES }, (_, place) => colour(colourProperty(place)));
  return {
    text: colour('--text'),
    quiet: colour('--quiet'),
    rule: colour('--rule'),
    paper: colour('--paper'),
    pale: colour('--pale'),
    hue: (place) => hues[place % HUES],
  };
}

/** The colours of paper and of pictures that are saved, whatever the screen has: light or dark. */
export function fixedInk(dark: boolean): Ink {
  const hues = dark ? NIGHT : DAY;
  const hue = (place: number): string => hues[place % HUES];
  return dark
    ? { text: '#ebe9e4', quiet: '#a4a7ac', rule: '#363a40', paper: '#16181b', pale: '#4a4e54', hue }
    : { text: '#1c1e21', quiet: '#5c6066', rule: '#d9d6cd', paper: '#ffffff', pale: '#c9c7c0', hue };
}

/** The page's colours by name, for a drawing that is made before there is a screen. */
export const namedInk: Ink = {
  text: 'var(--text)',
  quiet: 'var(--quiet)',
  rule: 'var(--rule)',
  paper: 'var(--paper)',
  pale: 'var(--pale)',
  hue: (place) => `var(${colourProperty(place)})`,
};
