import { CHARTS } from '../charts/all-charts.ts';
import type { Chart, Ink, Shown } from '../charts/chart.ts';
import { tableHtml } from '../charts/chart-table.ts';
import { byId } from './dom.ts';
import { unparted } from './escape.ts';
import { paperInk, screenInk } from './ink.ts';
import type { Plotly } from './plotly.ts';

/** What has changed since a chart was drawn; the greater holds the lesser. */
export type Change = 'nothing' | 'load' | 'all';

interface Panel {
  chart: Chart;
  place: HTMLElement;
  inView: boolean;
  drawn: boolean;
  due: Change;
  /** The numbers that are drawn but not yet in the table. */
  tableDue: boolean;
}

/** How long the controls have rested before a slow chart follows, ms. */
const REST = 160;

/** Width of a chart on a sheet of A4 between usual margins, px. */
const PAPER_WIDTH = 680;

/** Height that stands on such a sheet below its heading, px: a chart up to so many times as tall is pressed into it rather than cut. */
const PAPER_HEIGHT = 800;
const PRESSED = 1.9;

function onPaper(height: number): number {
  return height <= PRESSED * PAPER_HEIGHT ? Math.min(height, PAPER_HEIGHT) : height;
}

const CONFIG = { displayModeBar: false };

/**
 * The charts of the page: each is drawn when it comes into view and follows the controls while it is there; what is out
 * of view waits.
 */
export class Panels {
  private readonly panels: Panel[];
  private readonly watcher: IntersectionObserver;
  private plotly: Plotly | undefined;
  private shown: Shown;
  private asked = false;
  private settled = true;
  private closed = false;
  private timer = 0;

  constructor(shown: Shown) {
    this.shown = shown;
    this.panels = CHARTS.filter((chart) => chart.has(shown.answers)).map((chart) => ({
      chart,
      place: byId(`${chart.id}-chart`),
      inView: false,
      drawn: false,
      due: 'all',
      tableDue: false,
    }));
    for (const panel of this.panels) this.reserve(panel);
    this.watcher = new IntersectionObserver(
      (entries) => {
        for (const entry of entries) {
          const panel = this.panels.find((one) => one.place === entry.target);
          if (panel) panel.inView = entry.isIntersecting;
        }
        this.ask();
      },
      { rootMargin: '20px' },
    );
    for (const panel of this.panels) {
      this.watcher.observe(panel.place);
      document
        .querySelector(`details[data-table="${panel.chart.id}"]`)
        ?.addEventListener('toggle', () => this.fillTable(panel));
    }
  }

  /** Lets go of the page's elements, which are about to be replaced. */
  close(): void {
    this.watcher.disconnect();
    this.closed = true;
    for (const panel of this.panels) if (panel.drawn) this.plotly?.purge(panel.place);
  }

  use(plotly: Plotly): void {
    this.plotly = plotly;
    this.ask();
    this.drawAhead();
  }

  /** Draws what has not come into view yet, one chart at a time between other work. */
  private drawAhead(): void {
    setTimeout(() => {
      const next = this.panels.find((panel) => !panel.drawn);
      if (!next || this.closed) return;
      this.draw(next, screenInk());
      this.drawAhead();
    }, 60);
  }

  chartOf(id: string): Chart | undefined {
    return this.panels.find((panel) => panel.chart.id === id)?.chart;
  }

  /** Shows another answer: charts in view at the next picture, the others when they come into view. */
  show(shown: Shown, change: Change, only?: string): void {
    this.shown = shown;
    for (const panel of this.panels) {
      const { id, follows, loadAt } = panel.chart;
      if (only !== undefined && id !== only) continue;
      if (change === 'load' && follows !== 'load' && !loadAt) continue;
      if (panel.due !== 'all') panel.due = change;
      if (change === 'all' || follows === 'load') panel.tableDue = true;
    }
    if (change === 'all') this.settle();
    this.ask();
  }

  /** Draws all charts anew in other colours or another width. */
  redraw(): void {
    for (const panel of this.panels) {
      panel.due = 'all';
      if (panel.inView) this.draw(panel, screenInk());
    }
  }

  /** Draws all charts for paper: the page still has its width on the screen when it is told that it will be printed. */
  drawForPaper(): void {
    for (const panel of this.panels) {
      panel.due = 'all';
      this.draw(panel, paperInk, PAPER_WIDTH, onPaper(panel.chart.height(this.shown, PAPER_WIDTH)));
      panel.due = 'all';
    }
  }

  /** Brings every table up to the numbers that are shown. */
  fillTables(): void {
    for (const panel of this.panels) this.fillTable(panel, true);
  }

  /** Charts that take long wait until no further change has come for a while. */
  private settle(): void {
    this.settled = false;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      this.settled = true;
      this.ask();
    }, REST) as unknown as number;
  }

  private ask(): void {
    if (this.asked || !this.plotly) return;
    this.asked = true;
    requestAnimationFrame(() => {
      this.asked = false;
      for (const panel of this.panels) {
        const waits = panel.chart.atRest && panel.due === 'all' && !this.settled;
        if (panel.inView && panel.due !== 'nothing' && !waits) this.draw(panel, screenInk());
      }
      performance.mark('charts');
      document.documentElement.dataset.charts = String(
        Number(document.documentElement.dataset.charts ?? 0) + 1,
      );
    });
  }

  private reserve({ chart, place }: Panel): void {
    place.style.minHeight = `${chart.height(this.shown, place.clientWidth)}px`;
  }

  private draw(panel: Panel, ink: Ink, width = panel.place.clientWidth, fitted?: number): void {
    const { plotly, shown } = this;
    if (!plotly) return;
    const { chart, place } = panel;
    if (panel.due === 'all' || !panel.drawn || chart.follows === 'load') {
      const height = fitted ?? chart.height(shown, width);
      const { data, layout } = chart.draw(shown, ink, { width, height });
      void plotly.react(place, data, layout, CONFIG);
      if (place.style.minHeight !== `${height}px`) place.style.minHeight = `${height}px`;
      this.describe(panel);
      if (!panel.drawn) performance.mark(`drawn-${chart.id}`);
      panel.drawn = true;
      place.dataset.drawn = 'yes';
    }
    if (chart.loadAt) this.moveLine(panel, width);
    panel.due = 'nothing';
    this.fillTable(panel);
  }

  /** Words are set only where they differ: each setting costs a layout of the page. */
  private describe({ chart, place }: Panel): void {
    const about = byId(`${chart.id}-about`);
    const words = unparted(chart.about(this.shown));
    if (about.textContent !== words) about.textContent = words;
    const label = chart.label(this.shown);
    if (place.getAttribute('aria-label') !== label) place.setAttribute('aria-label', label);
  }

  private moveLine({ chart, place }: Panel, width: number): void {
    const line = byId(`${chart.id}-line`);
    const at = chart.loadAt?.(this.shown, { width, height: place.clientHeight });
    line.hidden = at === undefined;
    if (!at) return;
    line.style.top = `${at.top}px`;
    line.style.bottom = `${at.bottom}px`;
    line.style.transform = `translateX(${at.x.toFixed(1)}px)`;
  }

  private fillTable(panel: Panel, closedToo = false): void {
    const { chart } = panel;
    const details = document.querySelector<HTMLDetailsElement>(`details[data-table="${chart.id}"]`);
    if (!panel.tableDue || !(closedToo || details?.open)) return;
    panel.tableDue = false;
    byId(`${chart.id}-table`).innerHTML = tableHtml(chart.table(this.shown), this.shown.answers.places);
  }
}
