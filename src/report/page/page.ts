import { parseLoads } from '../../answers/options/parse-loads.ts';
import { load, plain } from '../../answers/text/wording.ts';
import { BenchError } from '../../bench/bench-error.ts';
import { answerPieces } from '../answer-rows.ts';
import { Answers, conditionName } from '../answers.ts';
import {
  benchBody,
  benchHeader,
  crossingsOf,
  evidenceOf,
  FIRST_VIEW,
  orderAnswers,
  shownAt,
} from '../body.ts';
import type { Shown } from '../charts/chart.ts';
import { chosenHtml, loadWord, speedControl, typedLoads } from '../controls.ts';
import type { PageData } from '../page-data.ts';
import {
  firstState,
  fromFragment,
  MOST_SIDE_BY_SIDE,
  type PageState,
  type SpeedChoice,
  toFragment,
  type View,
} from '../state.ts';
import { fitGiven } from './another-bench.ts';
import { byId } from './dom.ts';
import { unparted } from './escape.ts';
import { dropped, type Given, pastedTable, pickedFolder, pickedTable } from './given-files.ts';
import { inkChanged } from './ink.ts';
import { Panels } from './panels.ts';
import { type Plotly, unpackPlotly } from './plotly.ts';
import { Publisher } from './publish.ts';
import type { FitRequest } from './worker-messages.ts';

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
  panels = new Panels(shown, pick);
  const publisher = new Publisher(on);
  if (plotly) panels.use(plotly);
  const slow = atRest(REST);
  const keep = atRest(REST);
  const speak = atRest(SPOKEN_AFTER);

  /** Takes another state: sentence and table at once, charts at the next picture, what runs over all loads at rest. */
  function take(next: PageState): void {
    state = next;
    showControls();
    keepAddress();
    try {
      const before = shown;
      shown = shownAt(answers, next, view);
      byId('fault').textContent = '';
      tell();
      const moved = conditionName(shown.conditions) !== conditionName(before.conditions);
      const roomMoved = next.ambient_C !== before.state.ambient_C;
      const all = roomMoved || next.source !== before.state.source;
      panels.show(shown, all ? 'all' : moved ? 'condition' : 'load');
      if (moved) slow(() => tellOverLoads(next.source !== before.state.source));
    } catch (error) {
      if (!(error instanceof BenchError)) throw error;
      byId('fault').textContent = unparted(error.message.replace(/^--[\w-]+: /, ''));
    }
    performance.mark('told');
  }

  function tell(): void {
    const pieces = answerPieces(shown);
    byId('conditions').innerHTML = pieces.conditions;
    byId('headline').innerHTML = pieces.headline;
    byId('beneath').innerHTML = pieces.beneath;
    byId('order-caption').innerHTML = pieces.caption;
    byId('order-scale').innerHTML = pieces.scale;
    byId('order-rows').innerHTML = pieces.rows;
    byId('load-word').textContent = unparted(loadWord(state, answers, shown.compare.loads[0].order));
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
    slider.setAttribute('aria-valuetext', unparted(load(state.power_W)));
    const typed = byId<HTMLInputElement>('loads');
    if (document.activeElement !== typed) typed.value = typedLoads(state);
    typed.removeAttribute('aria-invalid');
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
    if (document.activeElement !== room) {
      room.value = plain(state.ambient_C);
      tellRoom('');
    }
  }

  byId('load').addEventListener(
    'input',
    (event) => take({ ...state, loads_W: [], power_W: Number((event.target as HTMLInputElement).value) }),
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
      } else if (target instanceof HTMLInputElement && target.name === 'unit') {
        look({ ...view, unit: target.value === 'C' ? 'C' : 'K' });
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
      const { valid, stepMismatch } = room.validity;
      const good = room.value !== '' && (valid || stepMismatch);
      tellRoom(
        good
          ? ''
          : 'That is no room temperature; give a number from −60 to 80 °C. The answer stays for the last one.',
      );
      if (good) take({ ...state, ambient_C: Number(room.value) });
    },
    on,
  );
  byId('room').addEventListener('blur', showControls, on);
  byId('controls').addEventListener('submit', (event) => event.preventDefault(), on);
  byId('loads').addEventListener('change', ({ target }) => takeLoads(target as HTMLInputElement), on);
  byId('loads').addEventListener('blur', showControls, on);
  byId('find').addEventListener(
    'change',
    ({ target }) => {
      const field = target as HTMLInputElement;
      const wanted = field.value.trim().toLowerCase();
      const names = [...answers.places.keys()];
      const found =
        names.find((name) => name.toLowerCase() === wanted) ??
        names.find((name) => wanted !== '' && name.toLowerCase().includes(wanted));
      if (found === undefined) return;
      field.value = '';
      if (!view.chosen.includes(found)) pick(found);
    },
    on,
  );
  byId('page').addEventListener(
    'click',
    ({ target }) => {
      const button = target instanceof Element ? target.closest<HTMLElement>('button[data-cooler]') : null;
      if (button?.dataset.cooler !== undefined) pick(button.dataset.cooler);
    },
    on,
  );
  for (const radio of document.querySelectorAll<HTMLInputElement>('input[name=measure]')) {
    radio.addEventListener(
      'change',
      () => look({ ...view, measure: radio.value === 'resistance' ? 'resistance' : 'rise' }, 'rise'),
      on,
    );
  }
  document
    .getElementById('all-pairs')
    ?.addEventListener(
      'change',
      ({ target }) => look({ ...view, allPairs: (target as HTMLInputElement).checked }, 'pairs'),
      on,
    );

  document
    .getElementById('log-run')
    ?.addEventListener(
      'change',
      ({ target }) => look({ ...view, log: (target as HTMLSelectElement).value }, 'log'),
      on,
    );

  function takeLoads(field: HTMLInputElement): void {
    try {
      const loads = parseLoads(field.value);
      if (loads.length > MOST_SIDE_BY_SIDE) {
        throw new BenchError(
          '--power',
          0,
          0,
          `${loads.length} loads do not stand side by side; give at most ${MOST_SIDE_BY_SIDE}`,
        );
      }
      field.removeAttribute('aria-invalid');
      byId('load-word').textContent = '';
      take({ ...state, power_W: loads[loads.length - 1], loads_W: loads.length > 1 ? loads : [] });
    } catch (error) {
      if (!(error instanceof BenchError)) throw error;
      field.setAttribute('aria-invalid', 'true');
      byId('load-word').textContent = unparted(error.message.replace(/^--[\w-]+: /, ''));
    }
  }

  function tellRoom(words: string): void {
    byId('room-word').textContent = unparted(words);
    byId('room').toggleAttribute('aria-invalid', words !== '');
  }

  /** Puts a cooler among the chosen ones, or takes it off. */
  function pick(cooler: string): void {
    const chosen = view.chosen.includes(cooler)
      ? view.chosen.filter((name) => name !== cooler)
      : [...view.chosen, cooler];
    const held =
      document.activeElement instanceof HTMLElement ? document.activeElement.dataset.cooler : undefined;
    look({ ...view, chosen });
    // The row that was pressed is made anew: its button keeps the focus.
    if (held !== undefined)
      document.querySelector<HTMLElement>(`.pick[data-cooler="${CSS.escape(held)}"]`)?.focus();
  }

  /** Shows the same answer seen otherwise; `chart` where one alone is concerned. */
  function look(next: View, chart?: string): void {
    view = next;
    shown = { ...shown, view };
    if (chart === undefined) tell();
    showView();
    keepAddress();
    panels.show(shown, 'all', chart);
  }

  function showView(): void {
    byId('chosen').innerHTML = chosenHtml(view.chosen);
    for (const radio of document.querySelectorAll<HTMLInputElement>(
      'input[name=unit], input[name=measure]',
    )) {
      radio.checked = radio.value === view.unit || radio.value === view.measure;
    }
    const all = document.getElementById('all-pairs') as HTMLInputElement | null;
    if (all) all.checked = view.allPairs;
    const log = document.getElementById('log-run') as HTMLSelectElement | null;
    if (log) log.value = view.log ?? log.options[0].value;
  }

  function keepAddress(): void {
    keep(() => history.replaceState(null, '', `#${toFragment(state, view)}`));
  }

  /** Takes what an address says. */
  function takeAddress(given: string, from: PageState): void {
    const asked = fromFragment(given, from, answers);
    view = asked.view;
    showView();
    take(asked.state);
  }

  for (const button of document.querySelectorAll<HTMLButtonElement>('button[data-publish]')) {
    button.addEventListener(
      'click',
      () => {
        const chart = panels.chartOf(button.dataset.publish ?? '');
        if (chart) publisher.open(chart, shown);
      },
      on,
    );
    button.disabled = false;
  }
  const another = byId('another');
  const openGiven = (given: () => ReturnType<typeof dropped> | Given, place: Element = another): void => {
    const request = async (): Promise<FitRequest | undefined> => {
      const files = await given();
      return files && { ...files, version: answers.data.version };
    };
    void fitGiven(request, place, (data, read) => showOther(data, { read }));
  };
  for (const button of document.querySelectorAll<HTMLButtonElement>('#strange button')) {
    button.addEventListener(
      'click',
      () => {
        const { data } = answers;
        const { without: out, back } = button.dataset;
        const left = (data.asked.without ?? []).filter((name) => name !== back);
        const request: FitRequest = {
          kind: 'without',
          data,
          without: out === undefined ? left : [...left, out],
        };
        void fitGiven(
          () => request,
          byId('answer'),
          (other) => {
            showOther(other, { read: [], fragment: toFragment(state, view) });
          },
        );
      },
      on,
    );
    button.disabled = false;
  }
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
  addEventListener('dragover', (event) => event.preventDefault(), on);
  addEventListener(
    'drop',
    (event) => {
      event.preventDefault();
      const { dataTransfer, target } = event;
      const place = target instanceof Element ? target.closest('section') : null;
      if (dataTransfer) openGiven(() => dropped(dataTransfer), place ?? byId('answer'));
    },
    on,
  );
  addEventListener(
    'hashchange',
    () => {
      if (location.hash.slice(1) !== toFragment(state, view)) takeAddress(location.hash, state);
    },
    on,
  );
  for (const id of ['load', 'loads', 'find', 'speed-value', 'source', 'room', 'folder', 'table', 'pasted']) {
    byId<HTMLInputElement>(id).disabled = false;
  }
  for (const radio of document.querySelectorAll<HTMLInputElement>('#controls input')) radio.disabled = false;
  // A browser that comes back to the page may have kept the controls where they were.
  showControls();
  showView();
  const asked = fromFragment(fragment, first, answers);
  if (toFragment(asked.state, asked.view) !== toFragment(first, FIRST_VIEW)) takeAddress(fragment, first);
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

/** Puts another bench in the place of this one; where it is the same without some runs, controls and view stay, as `fragment` has them. */
function showOther(data: PageData, { read, fragment }: { read: readonly string[]; fragment?: string }): void {
  listening.abort();
  panels.close();
  const answers = new Answers(data);
  const shown = shownAt(answers, firstState(answers), FIRST_VIEW);
  byId('read-as').before(byId('given'));
  byId('header').innerHTML = benchHeader(shown);
  byId('bench').innerHTML = benchBody(shown);
  // Files and words are of the bench before.
  for (const id of ['folder', 'table', 'pasted', 'own-credit']) byId<HTMLInputElement>(id).value = '';
  document.title = `${answers.bench.name}: coolers compared`;
  history.replaceState(null, '', `#${fragment ?? ''}`);
  start(answers, fragment ?? '');
  byId('read-as').hidden = read.length === 0;
  byId('read-as').textContent = read.join('\n');
  scrollTo(0, 0);
  const headline = byId('headline');
  headline.tabIndex = -1;
  headline.focus({ preventScroll: true });
  byId('spoken').textContent =
    `${answers.bench.name} is ${fragment === undefined ? 'read and fitted' : 'fitted again'}. ${headline.textContent}`;
}

start(new Answers(JSON.parse(byId('page-data').textContent ?? '') as PageData), location.hash);
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
      panels.use(library);
    })
    .catch(() => {});
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
