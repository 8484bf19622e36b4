import type { PlotlyLayout, PlotlyTrace } from '../charts/chart.ts';
import { unpacked } from './unpack.ts';

/** The part of the chart library that the page uses. */
export interface Plotly {
  react: (
    place: HTMLElement,
    traces: PlotlyTrace[],
    layout: PlotlyLayout,
    config: object,
  ) => Promise<unknown>;
  relayout: (place: HTMLElement, change: object) => Promise<unknown>;
  purge: (place: HTMLElement) => void;
  toImage: (
    figure: { data: PlotlyTrace[]; layout: PlotlyLayout; config?: object },
    options: { format: 'svg' | 'png'; width: number; height: number; scale?: number },
  ) => Promise<string>;
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
