import { percent } from '../../tables/wording.ts';
import { type Chart, LETTER, type PlotlyLayout, type Shown, shortened, unmarked } from '../charts/chart.ts';
import { csvOf } from '../charts/chart-table.ts';
import { baseLayout, type Margin } from '../charts/layout.ts';
import { conditionWords } from '../state.ts';
import { paperInk } from './ink.ts';
import type { Plotly } from './plotly.ts';

/** How a chart is saved. */
export type Format = 'svg' | 'png-1920' | 'png-3840' | 'csv';

/** Height of a picture before it is scaled, px: small enough for the text to be read on a phone's screen. */
const BASE_HEIGHT = 540;
const TITLE_HEIGHT = 62;

/** The bytes of a chart in a format, as an address of data or of a blob. */
export async function chartAs(
  chart: Chart,
  shown: Shown,
  format: Format,
  plotly: Plotly | undefined,
): Promise<{ href: string; name: string }> {
  const stem = `${chart.id}-${Math.round(shown.state.power_W)}W`;
  if (format === 'csv') {
    const text = csvOf(chart.table(shown));
    return { href: URL.createObjectURL(new Blob([text], { type: 'text/csv' })), name: `${stem}.csv` };
  }
  if (!plotly) throw new Error('the charts are not drawn yet');
  const { figure, width, height } = picture(chart, shown);
  if (format === 'svg') {
    return { href: await plotly.toImage(figure, { format, width, height }), name: `${stem}.svg` };
  }
  const lines = format === 'png-1920' ? 1080 : 2160;
  const href = await plotly.toImage(figure, { format: 'png', width, height, scale: lines / height });
  return { href, name: `${stem}-${format.slice(4)}.png` };
}

/** A chart with its title and condition, on white, 16 to 9; tall ones are set smaller rather than cut. */
function picture(chart: Chart, shown: Shown) {
  const room = chart.byRows ? chart.height(shown, 960) + TITLE_HEIGHT : 0;
  // A height whose sixteen ninths are whole keeps both saved sizes exact.
  const height = Math.ceil(Math.max(BASE_HEIGHT, room) / 9) * 9;
  const width = (height * 16) / 9;
  const { data, layout } = chart.draw(shown, paperInk, { width, height: height - TITLE_HEIGHT, alone: true });
  const margin = layout.margin as Margin;
  const condition = (): string =>
    `${conditionWords(shown.state)}; intervals at ${percent(shown.compare.level)}`;
  const words = `; ${chart.savedUnder?.(shown) ?? condition()}`;
  // A long name of a bench gives way to what the reader has to know.
  const under = `${shortened(shown.answers.bench.name, Math.max(16, Math.floor((width - 32) / LETTER) - words.length))}${words}`;
  const heading = (text: string, y: number, size: number, color: string): object => ({
    text: unmarked(text),
    xref: 'paper',
    yref: 'paper',
    x: 0,
    y: 1,
    xanchor: 'left',
    yanchor: 'bottom',
    xshift: 16 - margin.l,
    yshift: margin.t + y,
    showarrow: false,
    font: { size, color },
  });
  const whole: PlotlyLayout = {
    ...layout,
    ...pick(baseLayout(paperInk, { width, height }, { ...margin, t: margin.t + TITLE_HEIGHT })),
    paper_bgcolor: paperInk.paper,
    annotations: [
      ...((layout.annotations as object[] | undefined) ?? []),
      heading(chart.savedTitle(shown), 28, 20, paperInk.text),
      heading(under, 6, 13, paperInk.quiet),
    ],
  };
  return { figure: { data, layout: whole, config: { staticPlot: true } }, width, height };
}

const pick = ({ width, height, margin }: PlotlyLayout): PlotlyLayout => ({ width, height, margin });

/** Hands a file to the reader's browser. */
export function handOver({ href, name }: { href: string; name: string }): void {
  const link = document.createElement('a');
  link.href = href;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  if (href.startsWith('blob:')) setTimeout(() => URL.revokeObjectURL(href), 10_000);
}
