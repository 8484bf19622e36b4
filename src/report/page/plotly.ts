/** The part of the chart library that the page uses. */

export type PlotlyTrace = Record<string, unknown>;
export type PlotlyLayout = Record<string, unknown>;

export interface Plotly {
  react: (
    place: HTMLElement,
    traces: PlotlyTrace[],
    layout: PlotlyLayout,
    config: object,
  ) => Promise<unknown>;
  relayout: (place: HTMLElement, change: object) => Promise<unknown>;
}

/**
 * Unpacks the chart library from its block in the page and runs it. It is large, so this waits until the controls are
 * alive; its text is the one that the page's policy allows by hash.
 *
 * @param block  the element that holds the gzipped text in base64
 */
export async function unpackPlotly(block: HTMLElement): Promise<Plotly> {
  const packed = atob((block.textContent ?? '').trim());
  const bytes = new Uint8Array(packed.length);
  for (let i = 0; i < packed.length; i++) bytes[i] = packed.charCodeAt(i);
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
  const script = document.createElement('script');
  script.textContent = await new Response(stream).text();
  document.head.append(script);
  block.remove();
  return (globalThis as unknown as { Plotly: Plotly }).Plotly;
}
