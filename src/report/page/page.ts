import { Answers } from '../answers.ts';
import type { PageData } from '../page-data.ts';
import { atRest } from './at-rest.ts';
import { fillBench } from './bench-in-page.ts';
import { listenToControls } from './control-row.ts';
import { byId } from './dom.ts';
import { inkChanged } from './ink.ts';
import { LiveBench } from './live-bench.ts';
import { listenToGiven, listenToPlan, listenToStrange, type ShowOther } from './openings.ts';
import { type Plotly, unpackPlotly } from './plotly.ts';
import { Publisher } from './publish.ts';

/** The page's script: the controls drive the answer, the tables and the charts. */

let plotly: Plotly | undefined;

/** Brings a bench to life in the page's elements, which show its first state. */
function start(answers: Answers, fragment: string): LiveBench {
  const live = new LiveBench(answers);
  const { on, panels } = live;
  if (plotly) panels.use(plotly);
  listenToControls(live);
  listenToGiven(live, showOther);
  listenToStrange(live, showOther);
  listenToPlan(live);
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
  for (const id of ['load', 'loads', 'find', 'speed-value', 'source', 'room', 'folder', 'table', 'pasted']) {
    byId<HTMLInputElement>(id).disabled = false;
  }
  for (const radio of document.querySelectorAll<HTMLInputElement>('#controls input')) radio.disabled = false;
  live.takeAddress(fragment);
  return live;
}

/** Puts another bench in the place of this one. */
const showOther: ShowOther = (data, read, fragment) => {
  live.close();
  byId('read-as').before(byId('given'));
  // Files and words are of the bench before.
  for (const id of ['folder', 'table', 'pasted', 'own-credit']) byId<HTMLInputElement>(id).value = '';
  history.replaceState(null, '', `#${fragment ?? ''}`);
  const answers = new Answers(data);
  fillBench(answers);
  live = start(answers, fragment ?? '');
  live.tellAll();
  byId('read-as').hidden = read.length === 0;
  byId('read-as').textContent = read.join('\n');
  scrollTo(0, 0);
  const headline = byId('headline');
  headline.tabIndex = -1;
  headline.focus({ preventScroll: true });
  byId('spoken').textContent =
    `${answers.bench.name} is ${fragment === undefined ? 'read and fitted' : 'fitted again'}. ${headline.textContent}`;
};

let live = start(new Answers(JSON.parse(byId('page-data').textContent ?? '') as PageData), location.hash);
document.documentElement.dataset.ready = 'yes';
performance.mark('controls');

/**
 * The chart library is large and only answers to the pointer: it starts when a pointer first comes to a chart. Without it the charts
 * stay as they are drawn.
 */
let asked = false;
addEventListener('pointerover', ({ target }) => {
  if (asked || !(target instanceof Element && target.closest('.chart'))) return;
  asked = true;
  unpackPlotly()
    .then((library) => {
      plotly = library;
      live.panels.use(library);
    })
    .catch(() => {});
});

const resized = atRest(120);
addEventListener('resize', () => resized(() => live.panels.redraw()));
matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => {
  inkChanged();
  live.panels.redraw();
});
addEventListener('beforeprint', () => {
  live.panels.fillTables();
  live.panels.drawForPaper();
});
