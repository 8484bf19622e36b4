import { Answers } from '../answers.ts';
import type { PageData } from '../page-data.ts';
import { GivenFits } from './another-bench.ts';
import { atRest } from './at-rest.ts';
import { fillBench } from './bench-in-page.ts';
import { listenToControls } from './control-row.ts';
import { byId } from './dom.ts';
import { LiveBench } from './live-bench.ts';
import { listenToGiven, listenToPlan, listenToStrange, type ShowOther } from './openings.ts';
import { type Plotly, unpackPlotly } from './plotly.ts';
import { Publisher } from './publish.ts';

/** The page's script: the controls drive the answer, the tables and the charts. */
class Page {
  readonly #fits = new GivenFits();
  #plotly: Plotly | undefined;
  #live: LiveBench;

  /** @param data  what the page carries */
  constructor(data: PageData) {
    this.#live = this.#start(new Answers(data), location.hash);
    this.#startLibraryForPointer();
    const resized = atRest(120);
    addEventListener('resize', () => resized(() => this.#live.panels.redraw()));
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => this.#live.panels.recolour());
    addEventListener('beforeprint', () => {
      this.#live.panels.fillTables();
      this.#live.panels.drawForPaper();
    });
  }

  /** Brings a bench to life in the page's elements, which show its first state. */
  #start(answers: Answers, fragment: string): LiveBench {
    const live = new LiveBench(answers);
    const { on, panels } = live;
    if (this.#plotly) panels.use(this.#plotly);
    listenToControls(live);
    listenToGiven(live, this.#fits, this.#showOther);
    listenToStrange(live, this.#fits, this.#showOther);
    listenToPlan(live, this.#fits);
    const publisher = new Publisher(on);
    for (const button of document.querySelectorAll<HTMLButtonElement>('button[data-publish]')) {
      button.addEventListener(
        'click',
        () => {
          const chart = panels.chartOf(button.dataset.publish ?? '');
          if (chart) publisher.open(chart, live.shown);
        },
        on,
      );
      button.disabled = false;
    }
    addEventListener('hashchange', () => live.takeAddress(location.hash), on);
    for (const id of [
      'load',
      'loads',
      'find',
      'speed-value',
      'source',
      'room',
      'folder',
      'table',
      'pasted',
    ]) {
      byId<HTMLInputElement>(id).disabled = false;
    }
    for (const radio of document.querySelectorAll<HTMLInputElement>('#controls input'))
      radio.disabled = false;
    live.takeAddress(fragment);
    return live;
  }

  /** Puts another bench in the place of this one. */
  readonly #showOther: ShowOther = (data, read, fragment) => {
    this.#live.close();
    byId('read-as').before(byId('given'));
    // Files and words are of the bench before.
    for (const id of ['folder', 'table', 'pasted', 'own-credit']) byId<HTMLInputElement>(id).value = '';
    history.replaceState(null, '', `#${fragment ?? ''}`);
    const answers = new Answers(data);
    fillBench(answers);
    this.#live = this.#start(answers, fragment ?? '');
    this.#live.tellAll();
    byId('read-as').hidden = read.length === 0;
    byId('read-as').textContent = read.join('\n');
    scrollTo(0, 0);
    const headline = byId('headline');
    headline.tabIndex = -1;
    headline.focus({ preventScroll: true });
    byId('spoken').textContent =
      `${answers.bench.name} is ${fragment === undefined ? 'read and fitted' : 'fitted again'}. ${headline.textContent}`;
  };

  /**
   * The chart library is large and only answers to the pointer: it starts when a pointer first comes to a chart. Without it the charts
   * stay as they are drawn.
   */
  #startLibraryForPointer(): void {
    const heard = new AbortController();
    addEventListener(
      'pointerover',
      ({ target }) => {
        if (!(target instanceof Element && target.closest('.chart'))) return;
        heard.abort();
        unpackPlotly()
          .then((library) => {
            this.#plotly = library;
            this.#live.panels.use(library);
          })
          .catch(() => {});
      },
      { signal: heard.signal },
    );
  }
}

new Page(JSON.parse(byId('page-data').textContent ?? '') as PageData);
document.documentElement.dataset.ready = 'yes';
performance.mark('controls');
