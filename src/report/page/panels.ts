import { CHARTS, isShown } from '../charts/all-charts.ts';
import type { Chart, Ink, Shown } from '../charts/chart.ts';
import { tableHtml } from '../charts/chart-table.ts';
import type { Drawing } from '../charts/figure.ts';
import { svgOf } from '../charts/svg.ts';
import { byId } from './dom.ts';
import { unparted } from './escape.ts';
import { fixedInk, screenInk } from './ink.ts';
import type { Plotly, PlotPlace } from './plotly.ts';

/** What has changed since a chart was drawn; the greater holds the lesser. */
export type Change = 'nothing' | 'load' | 'condition' | 'all';

interface Panel {
  chart: Chart;
  place: HTMLElement;
  inView: boolean;
  drawn: boolean;
  /** Drawn by the chart library, so that it answers to the pointer. */
  alive: boolean;
  /** What the chart library has drawn, while the place shows a drawing made without it. */
  aside?: Node[];
  due: Change;
  /** Drawn while a control moved, to be drawn anew at rest. */
  rough: boolean;
  /** What is to be worked out before it can be drawn, so far as it has come. */
  work?: Iterator<unknown>;
  /** The numbers that are drawn but not yet in the table. */
  tableDue: boolean;
}

/** How long the controls have rested since the last picture before what is slow follows, ms. */
const REST = 160;

/** A picture of the screen waits for no further chart once so much of its time is gone, ms. */
const FRAME = 20;

/** Width of a chart on a sheet of A4 between usual margins, px. */
const PAPER_WIDTH = 680;

/** Height that stands on such a sheet below its heading, px: a chart up to so many times as tall is pressed into it rather than cut. */
const PAPER_HEIGHT = 800;
const PRESSED = 1.9;

function onPaper(height: number): number {
  return height <= PRESSED * PAPER_HEIGHT ? Math.min(height, PAPER_HEIGHT) : height;
}

/** Whether a chart is to be drawn anew of what takes long to work out. */
const hasWork = ({ chart: { work, follows }, due }: Panel): boolean =>
  work !== undefined && (due === 'all' || follows === 'load');

const CONFIG = { displayModeBar: false };

/**
 * The charts of the page: each is drawn when it comes into view and follows the controls while it is there; what is out
 * of view waits. While a control moves, and until the chart library has started, they are drawn without it, which takes a tenth of the
 * time, and answer to no pointer; what takes long to work out follows at rest.
 */
export class Panels {
  readonly #panels: Panel[];
  readonly #watcher: IntersectionObserver;
  #plotly: Plotly | undefined;
  #inkOnScreen: Ink | undefined;
  #shown: Shown;
  #asked = false;
  #settled = true;
  #closed = false;
  #timer = 0;
  #ahead = 0;
  readonly #onPick: (cooler: string) => void;
  readonly #onRest: () => void;

  /**
   * @param onPick  told the cooler whose mark or curve was pressed
   * @param onRest  told when the controls have come to rest
   * @param on  until when the page is listened to
   */
  constructor(
    shown: Shown,
    onPick: (cooler: string) => void,
    onRest: () => void,
    on: AddEventListenerOptions,
  ) {
    this.#shown = shown;
    this.#onPick = onPick;
    this.#onRest = onRest;
    this.#panels = CHARTS.filter((chart) => chart.has(shown.answers)).map((chart) => ({
      chart,
      place: byId(`${chart.id}-chart`),
      inView: false,
      drawn: false,
      alive: false,
      due: 'all',
      rough: false,
      // Tables are made when they are opened: they would outweigh the rest of the page.
      tableDue: true,
    }));
    this.#showWhatApplies();
    for (const panel of this.#panels) this.#reserve(panel);
    this.#watcher = new IntersectionObserver(
      (entries) => {
        for (const entry of entries) {
          const panel = this.#panels.find((one) => one.place === entry.target);
          if (panel) panel.inView = entry.isIntersecting;
        }
        this.#ask();
      },
      { rootMargin: '20px' },
    );
    for (const panel of this.#panels) {
      this.#watcher.observe(panel.place);
      document
        .querySelector(`details[data-table="${panel.chart.id}"]`)
        ?.addEventListener('toggle', () => this.#fillTable(panel), on);
    }
    this.#drawAhead();
  }

  /** Lets go of the page's elements, which another bench is about to fill. */
  close(): void {
    this.#watcher.disconnect();
    this.#closed = true;
    clearTimeout(this.#timer);
    for (const { alive, aside, chart, place } of this.#panels) {
      if (alive || aside) this.#plotly?.purge(place);
      delete place.dataset.drawn;
      for (const what of ['chart', 'paper', 'table', 'about']) byId(`${chart.id}-${what}`).textContent = '';
    }
  }

  use(plotly: Plotly): void {
    this.#plotly = plotly;
    for (const panel of this.#panels) panel.due = 'all';
    this.#ask();
  }

  /** The page's colours, asked for once between day and night. */
  #ink(): Ink {
    this.#inkOnScreen ??= screenInk();
    return this.#inkOnScreen;
  }

  /** Day and night have changed places. */
  recolour(): void {
    this.#inkOnScreen = undefined;
    this.redraw();
  }

  /** Draws what has not come into view yet, one chart at a time between other work. */
  #drawAhead(): void {
    clearTimeout(this.#ahead);
    this.#ahead = setTimeout(() => {
      const next = this.#panels.find(
        ({ chart, drawn, place }) => !drawn && place.clientWidth > 0 && isShown(chart, this.#shown),
      );
      if (!next || this.#closed) return;
      this.#draw(next, this.#ink());
      this.#drawAhead();
    }, 60) as unknown as number;
  }

  chartOf(id: string): Chart | undefined {
    return this.#panels.find((panel) => panel.chart.id === id)?.chart;
  }

  /** Shows another answer: charts in view at the next picture, the others when they come into view. */
  show(shown: Shown, change: Change, only?: string): void {
    this.#shown = shown;
    this.#settled = false;
    clearTimeout(this.#timer);
    for (const panel of this.#panels) {
      const { id, follows, loadAt } = panel.chart;
      panel.work = undefined;
      if (only !== undefined && id !== only) continue;
      if (change === 'load' && follows !== 'load' && !loadAt) continue;
      if (change === 'condition' && follows === 'source') continue;
      const due = change === 'condition' ? 'all' : change;
      if (panel.due !== 'all') panel.due = due;
      if (due === 'all' || follows === 'load') panel.tableDue = true;
    }
    this.#showWhatApplies();
    this.#drawAhead();
    this.#ask();
  }

  /** A section that has nothing to show at this state of the controls is not there. */
  #showWhatApplies(): void {
    for (const chart of CHARTS) byId(`section-${chart.id}`).hidden = !isShown(chart, this.#shown);
  }

  /** Draws all charts anew in other colours or another width. */
  redraw(): void {
    for (const panel of this.#panels) {
      panel.due = 'all';
      if (this.#isWanted(panel)) this.#draw(panel, this.#ink());
    }
  }

  /** Draws all charts for paper, beside those on the screen: the page still has its width on the screen when it is told that it will be printed. */
  drawForPaper(): void {
    const ink = fixedInk(false);
    for (const { chart } of this.#panels) {
      if (!isShown(chart, this.#shown)) continue;
      const height = onPaper(chart.height(this.#shown, PAPER_WIDTH));
      const drawing = chart.draw(this.#shown, ink, { width: PAPER_WIDTH, height, alone: true });
      byId(`${chart.id}-paper`).innerHTML = svgOf(drawing, `${chart.id}-paper`);
    }
  }

  /** Brings every table up to the numbers that are shown. */
  fillTables(): void {
    for (const panel of this.#panels) this.#fillTable(panel, true);
  }

  /** What waits until the controls rest has its turn, unless they move again. */
  #settle(): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => {
      this.#settled = true;
      for (const panel of this.#panels) if (panel.rough) panel.due = 'all';
      this.#ask();
      this.#onRest();
    }, REST) as unknown as number;
  }

  #ask(): void {
    if (this.#asked) return;
    this.#asked = true;
    requestAnimationFrame(() => {
      this.#asked = false;
      if (this.#closed) return;
      const start = performance.now();
      const due = this.#panels.filter((panel) => this.#isWanted(panel));
      while (due.length > 0 && performance.now() - start < FRAME)
        if (this.#isReady(due[0])) this.#draw(due.shift() as Panel, this.#ink());
      performance.mark(due.length > 0 ? 'some charts' : 'charts');
      if (due.length > 0) this.#ask();
      else if (!this.#settled) this.#settle();
    });
  }

  /** Whether a chart that is seen is due now. */
  #isWanted(panel: Panel): boolean {
    const { chart, place, due, inView } = panel;
    const waits = hasWork(panel) && !chart.roughly && !this.#settled;
    return inView && place.clientWidth > 0 && due !== 'nothing' && !waits && isShown(chart, this.#shown);
  }

  /** Takes a step of what a chart stands on; whether all of it is there. */
  #isReady(panel: Panel): boolean {
    if (!this.#settled || !hasWork(panel)) return true;
    panel.work ??= panel.chart.work?.(this.#shown);
    return panel.work?.next().done !== false;
  }

  #reserve({ chart, place }: Panel): void {
    place.style.minHeight = `${chart.height(this.#shown, place.clientWidth)}px`;
  }

  /** Draws a chart; until the chart library has started, without it. */
  #draw(panel: Panel, ink: Ink): void {
    const [shown, settled] = [this.#shown, this.#settled];
    const { chart, place } = panel;
    const width = place.clientWidth;
    if (panel.due === 'all' || !panel.drawn || chart.follows === 'load') {
      const isRough = chart.roughly === true && !settled;
      panel.rough = isRough || (this.#plotly !== undefined && !settled);
      const seen = isRough ? { ...shown, rough: true } : shown;
      const height = chart.height(seen, width);
      this.#put(panel, chart.draw(seen, ink, { width, height }));
      if (place.style.minHeight !== `${height}px`) place.style.minHeight = `${height}px`;
      if (!isRough) this.#describe(panel);
      if (!panel.drawn) performance.mark(`drawn-${chart.id}`);
      panel.drawn = true;
      place.dataset.drawn = panel.alive ? 'alive' : 'yes';
    }
    if (chart.loadAt) this.#moveLine(panel, width);
    panel.due = 'nothing';
    this.#fillTable(panel);
  }

  /** At rest by the chart library, in what it has drawn before; while a control moves without it. */
  #put(panel: Panel, drawing: Drawing): void {
    const [plotly, settled] = [this.#plotly, this.#settled];
    const { place, alive, aside } = panel;
    panel.alive = plotly !== undefined && settled;
    if (!plotly || !settled) {
      if (alive) panel.aside = [...place.childNodes];
      place.innerHTML = svgOf(drawing, panel.chart.id);
      return;
    }
    if (!alive) place.replaceChildren(...(aside ?? []));
    void plotly.react(place, drawing.data, drawing.layout, CONFIG);
    if (!alive && !aside) this.#onPointed(place);
    panel.aside = undefined;
  }

  #onPointed(place: HTMLElement): void {
    (place as PlotPlace).on('plotly_click', ({ points: [point] }) => {
      if (typeof point?.customdata === 'string') this.#onPick(point.customdata);
    });
  }

  /** Words are set only where they differ: each setting costs a layout of the page. */
  #describe({ chart, place }: Panel): void {
    const about = byId(`${chart.id}-about`);
    const words = unparted(chart.about(this.#shown));
    if (about.textContent !== words) about.textContent = words;
    const label = chart.label(this.#shown);
    if (place.getAttribute('aria-label') !== label) place.setAttribute('aria-label', label);
  }

  #moveLine({ chart, place }: Panel, width: number): void {
    const line = byId(`${chart.id}-line`);
    const at = chart.loadAt?.(this.#shown, { width, height: place.clientHeight });
    line.hidden = at === undefined;
    if (!at) return;
    line.style.top = `${at.top}px`;
    line.style.bottom = `${at.bottom}px`;
    line.style.transform = `translateX(${at.x.toFixed(1)}px)`;
  }

  #fillTable(panel: Panel, closedToo = false): void {
    const { chart } = panel;
    if (!isShown(chart, this.#shown)) return;
    const details = document.querySelector<HTMLDetailsElement>(`details[data-table="${chart.id}"]`);
    if (!panel.tableDue || !(closedToo || details?.open)) return;
    panel.tableDue = false;
    byId(`${chart.id}-table`).innerHTML = tableHtml(chart.table(this.#shown), this.#shown.answers.places);
  }
}
