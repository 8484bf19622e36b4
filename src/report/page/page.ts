import { BenchError } from '../../bench/bench-error.ts';
import { load, plain } from '../../tables/wording.ts';
import { answerPieces } from '../answer-rows.ts';
import { Answers, conditionName } from '../answers.ts';
import { crossingsOf, evidenceOf, FIRST_VIEW, orderAnswers, pageBody, shownAt } from '../body.ts';
import type { Shown, View } from '../charts/chart.ts';
import { speedControl } from '../controls.ts';
import type { PageData } from '../page-data.ts';
import { firstState, fromFragment, type PageState, type SpeedChoice, toFragment } from '../state.ts';
import { fitGiven } from './another-bench.ts';
import { byId } from './dom.ts';
import { unparted } from './escape.ts';
import { dropped, type Given, pastedTable, pickedFolder, pickedTable } from './given-files.ts';
import { inkChanged } from './ink.ts';
import { Panels } from './panels.ts';
import { type Plotly, unpackPlotly } from './plotly.ts';
import { chartAs, type Format, handOver } from './save.ts';

/** The page's script: the controls drive the answer, the tables and the charts. */

/** How long a control has rested before what is slow follows, ms. */
const REST = 160;
const SPOKEN_AFTER = 700;

let plotly: Plotly | undefined;
let panels: Panels;
let listening = new AbortController();

/** Calls the last of several calls in a row, once they have ceased for so long. */
function atRest(wait: number): (call: () => void) => void {
  let timer = 0;
  return (call) => {
    clearTimeout(timer);
    timer = setTimeout(call, wait) as unknown as number;
  };
}

/** Brings a bench to life in the page's elements, which show its first state. */
function start(answers: Answers, fragment: string): void {
  listening = new AbortController();
  const on = { signal: listening.signal };
  const first = firstState(answers);
  let state = first;
  let view: View = FIRST_VIEW;
  let shown: Shown = shownAt(answers, first, view);
  panels = new Panels(shown);
  if (plotly) panels.use(plotly);
  const slow = atRest(REST);
  const keep = atRest(REST);
  const speak = atRest(SPOKEN_AFTER);

  /** Takes another state: sentence and table at once, charts at the next picture, what runs over all loads at rest. */
  function take(next: PageState): void {
    state = next;
    showControls();
    keep(() => history.replaceState(null, '', `#${toFragment(state)}`));
    try {
      const before = shown;
      shown = shownAt(answers, next, view);
      byId('fault').textContent = '';
      tell();
      const moved = conditionName(shown.conditions) !== conditionName(before.conditions);
      const roomMoved = next.ambient_C !== before.state.ambient_C;
      panels.show(shown, moved || roomMoved ? 'all' : 'load');
      if (moved) slow(() => tellOverLoads(next.source !== before.state.source));
    } catch (error) {
      if (!(error instanceof BenchError)) throw error;
      byId('fault').textContent = unparted(error.message.replace(/^--[\w-]+: /, ''));
    }
    performance.mark('told');
  }

  function tell(): void {
    const pieces = answerPieces(shown.compare, shown.state, answers);
    byId('conditions').innerHTML = pieces.conditions;
    byId('headline').innerHTML = pieces.headline;
    byId('beneath').innerHTML = pieces.beneath;
    byId('order-caption').innerHTML = pieces.caption;
    byId('order-scale').innerHTML = pieces.scale;
    byId('order-rows').innerHTML = pieces.rows;
    byId('order-foot').classList.toggle('blank', !pieces.starred);
    byId('remarks').hidden = pieces.remarks === '';
    byId('remark-list').innerHTML = pieces.remarks;
    speak(() => {
      byId('spoken').textContent = byId('headline').textContent;
    });
  }

  function tellOverLoads(otherSource: boolean): void {
    if (document.getElementById('order-answers')) {
      byId('order-answers').innerHTML = orderAnswers(shown);
      byId('crossings').innerHTML = crossingsOf(shown);
    }
    if (otherSource) byId('evidence').innerHTML = evidenceOf(shown);
  }

  function showControls(): void {
    const span = answers.span({ source: state.source });
    const slider = byId<HTMLInputElement>('load');
    put(slider, span.from_W, span.to_W, span.step_W, state.power_W);
    reads(slider, byId('load-shown'), load(state.power_W));
    for (const radio of document.querySelectorAll<HTMLInputElement>('#controls input[name=speed]')) {
      radio.checked = radio.value === state.speed;
    }
    const speed = speedControl(state, answers);
    byId('speed-row').hidden = speed === undefined;
    if (speed) {
      const range = byId<HTMLInputElement>('speed-value');
      byId('speed-label').textContent = speed.label;
      put(range, speed.min, speed.max, speed.step, speed.value);
      reads(range, byId('speed-shown'), `${plain(speed.value)} ${speed.unit}`);
    }
    const source = byId<HTMLSelectElement>('source');
    if (source.value !== state.source) source.value = state.source;
    const room = byId<HTMLInputElement>('room');
    if (document.activeElement !== room) room.value = plain(state.ambient_C);
  }

  byId('load').addEventListener(
    'input',
    (event) => take({ ...state, power_W: Number((event.target as HTMLInputElement).value) }),
    on,
  );
  byId('speed-value').addEventListener(
    'input',
    (event) => {
      const value = Number((event.target as HTMLInputElement).value);
      const key = { percent: 'fan_percent', rpm: 'fan_rpm', sound: 'sound_dBA', full: undefined }[
        state.speed
      ];
      if (key) take({ ...state, [key]: value });
    },
    on,
  );
  byId('controls').addEventListener(
    'change',
    ({ target }) => {
      if (target instanceof HTMLInputElement && target.name === 'speed') {
        take({ ...state, speed: target.value as SpeedChoice });
      } else if (target instanceof HTMLSelectElement && target.id === 'source') {
        take({ ...state, source: target.value });
      }
    },
    on,
  );
  byId('room').addEventListener(
    'input',
    ({ target }) => {
      const room = target as HTMLInputElement;
      if (room.value !== '' && room.validity.valid) take({ ...state, ambient_C: Number(room.value) });
    },
    on,
  );
  byId('room').addEventListener('blur', showControls, on);
  byId('controls').addEventListener('submit', (event) => event.preventDefault(), on);
  byId('rise-choice').addEventListener(
    'change',
    () => {
      const measure = document.querySelector<HTMLInputElement>('input[name=measure]:checked')?.value;
      const boxes = [...document.querySelectorAll<HTMLInputElement>('#drawn input')];
      const hidden = new Set(boxes.filter((box) => !box.checked).map((box) => box.value));
      look({ ...view, measure: measure === 'resistance' ? 'resistance' : 'rise', hidden }, 'rise');
    },
    on,
  );
  document.getElementById('against')?.addEventListener(
    'change',
    ({ target }) => {
      const { value } = target as HTMLSelectElement;
      const cooler = value.startsWith('cooler:') ? value.slice(7) : undefined;
      const kind = value === 'all' ? 'all' : 'front';
      look({ ...view, against: cooler === undefined ? { kind } : { kind: 'cooler', cooler } }, 'pairs');
    },
    on,
  );

  /** Shows the same answer with another choice of a chart. */
  function look(next: View, chart: string): void {
    view = next;
    shown = { ...shown, view };
    panels.show(shown, 'all', chart);
  }

  for (const button of document.querySelectorAll<HTMLButtonElement>('button[data-save]')) {
    button.addEventListener(
      'click',
      () => {
        const chart = panels.chartOf(button.dataset.save ?? '');
        if (!chart) return;
        button.disabled = true;
        chartAs(chart, shown, button.dataset.format as Format, plotly)
          .then(handOver)
          .catch((error: unknown) => {
            byId('fault').textContent = `This browser cannot make the picture: ${String(error)}`;
          })
          .finally(() => {
            button.disabled = false;
          });
      },
      on,
    );
    button.disabled = plotly === undefined && button.dataset.format !== 'csv';
  }
  const openGiven = (given: () => ReturnType<typeof dropped> | Given): void => {
    void fitGiven(given, answers.data.version, showOther);
  };
  byId('folder').addEventListener(
    'change',
    ({ target }) => {
      const { files } = target as HTMLInputElement;
      if (files && files.length > 0) openGiven(() => pickedFolder(files));
    },
    on,
  );
  byId('table').addEventListener(
    'change',
    ({ target }) => {
      const [file] = (target as HTMLInputElement).files ?? [];
      if (file) openGiven(() => pickedTable(file));
    },
    on,
  );
  byId('pasted').addEventListener(
    'paste',
    (event) => {
      const text = event.clipboardData?.getData('text') ?? '';
      if (/[\n\t]/.test(text)) openGiven(() => pastedTable(text));
    },
    on,
  );
  byId('another').addEventListener('dragover', (event) => event.preventDefault(), on);
  byId('another').addEventListener(
    'drop',
    (event) => {
      event.preventDefault();
      const { dataTransfer } = event;
      if (dataTransfer) openGiven(() => dropped(dataTransfer));
    },
    on,
  );
  addEventListener(
    'hashchange',
    () => {
      if (location.hash.slice(1) !== toFragment(state)) take(fromFragment(location.hash, state, answers));
    },
    on,
  );
  for (const id of ['load', 'speed-value', 'source', 'room', 'folder', 'table', 'pasted']) {
    byId<HTMLInputElement>(id).disabled = false;
  }
  for (const radio of document.querySelectorAll<HTMLInputElement>('#controls input')) radio.disabled = false;
  // A browser that comes back to the page may have kept the controls where they were.
  showControls();
  const asked = fromFragment(fragment, first, answers);
  if (toFragment(asked) !== toFragment(first)) take(asked);
}

function put(range: HTMLInputElement, min: number, max: number, step: number, value: number): void {
  range.min = String(min);
  range.max = String(Math.max(max, value));
  range.step = String(step);
  if (Number(range.value) !== value) range.value = String(value);
}

function reads(range: HTMLInputElement, output: HTMLElement, words: string): void {
  range.setAttribute('aria-valuetext', unparted(words));
  output.textContent = unparted(words);
}

/** Puts another bench in the place of this one. */
function showOther(data: PageData, read: readonly string[]): void {
  listening.abort();
  panels.close();
  const answers = new Answers(data);
  byId('page').innerHTML = pageBody(shownAt(answers, firstState(answers), FIRST_VIEW));
  document.title = `${answers.bench.name}: coolers compared`;
  history.replaceState(null, '', '#');
  start(answers, '');
  byId('read-as').hidden = read.length === 0;
  byId('read-as').textContent = read.join('\n');
  scrollTo(0, 0);
  const headline = byId('headline');
  headline.tabIndex = -1;
  headline.focus({ preventScroll: true });
  byId('spoken').textContent = `${answers.bench.name} is read and fitted. ${headline.textContent}`;
}

start(new Answers(JSON.parse(byId('page-data').textContent ?? '') as PageData), location.hash);
document.documentElement.dataset.ready = 'yes';
performance.mark('controls');

/** After the first picture stands, so that the large library holds nothing up. */
requestAnimationFrame(() => {
  setTimeout(() => {
    unpackPlotly()
      .then((library) => {
        plotly = library;
        panels.use(library);
        for (const button of document.querySelectorAll<HTMLButtonElement>('button[data-save]')) {
          button.disabled = false;
        }
      })
      .catch(() => {
        for (const place of document.querySelectorAll('.chart')) {
          place.textContent = 'This browser cannot draw the chart; its numbers stand in the table below.';
        }
      });
  }, 30);
});

const resized = atRest(120);
addEventListener('resize', () => resized(() => panels.redraw()));
matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => {
  inkChanged();
  panels.redraw();
});
addEventListener('beforeprint', () => {
  panels.fillTables();
  panels.drawForPaper();
});
addEventListener('afterprint', () => panels.redraw());
