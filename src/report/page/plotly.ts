import type { Layout, Trace } from '../charts/figure.ts';
import { unpacked } from './unpack.ts';

/** A place that the library has drawn in. */
export interface PlotPlace extends HTMLElement {
  on: (event: 'plotly_click', told: (event: { points: { customdata?: unknown }[] }) => void) => void;
}

/** The part of the chart library that the page uses. */
export interface Plotly {
  react: (place: HTMLElement, traces: Trace[], layout: Layout, config: object) => Promise<unknown>;
  purge: (place: HTMLElement) => void;
}

/**
 * Unpacks the chart library from its block in the page and runs it. It is large, so this waits until the controls are
 * alive; its text is the one that the page's policy allows by hash.
 */
export async function unpackPlotly(): Promise<Plotly> {
  const script = document.createElement('script');
  script.textContent = await unpacked('plotly-packed');
  document.head.append(script);
  return (globalThis as unknown as { Plotly: Plotly }).Plotly;
}
