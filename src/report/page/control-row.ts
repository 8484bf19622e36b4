import { parseLoads } from '../../answers/options/parse-loads.ts';
import { load, plain } from '../../answers/text/wording.ts';
import { BenchError } from '../../bench/bench-error.ts';
import type { Answers } from '../answers.ts';
import { speedControl, typedLoads } from '../controls.ts';
import { MOST_SIDE_BY_SIDE, type PageState, type SpeedChoice, type View } from '../state.ts';
import { byId } from './dom.ts';
import { unparted } from './escape.ts';

/** Charts of one run, each with its own choice of it. */
const RUNS = ['log', 'parting'] as const;

/** Puts every control where the state has it. */
export function showControls(state: PageState, answers: Answers): void {
  const span = answers.span({ source: state.source });
  const slider = byId<HTMLInputElement>('load');
  put(slider, span.from_W, span.to_W, span.step_W, state.power_W);
  slider.setAttribute('aria-valuetext', unparted(load(state.power_W)));
  const typed = byId<HTMLInputElement>('loads');
  if (document.activeElement !== typed) typed.value = typedLoads(state);
  typed.removeAttribute('aria-invalid');
  check('speed', state.speed);
  const speed = speedControl(state, answers);
  byId('speed-row').hidden = speed === undefined;
  if (speed) {
    const range = byId<HTMLInputElement>('speed-value');
    const words = unparted(`${plain(speed.value)} ${speed.unit}`);
    byId('speed-label').textContent = speed.label;
    put(range, speed.min, speed.max, speed.step, speed.value);
    range.setAttribute('aria-valuetext', words);
    byId('speed-shown').textContent = words;
  }
  const source = byId<HTMLSelectElement>('source');
  if (source.value !== state.source) source.value = state.source;
  const room = byId<HTMLInputElement>('room');
  if (document.activeElement !== room) {
    room.value = plain(state.ambient_C);
    tellRoom('');
  }
}

/** Puts the choices of what is seen where the view has them. */
export function showView(view: View): void {
  check('unit', view.unit);
  check('measure', view.measure);
  byId<HTMLInputElement>('all-pairs').checked = view.allPairs;
  for (const id of RUNS) {
    const select = byId<HTMLSelectElement>(`${id}-run`);
    select.value = view[id] ?? select.options[0]?.value ?? '';
  }
}

function check(name: string, value: string): void {
  for (const radio of document.querySelectorAll<HTMLInputElement>(`input[name=${name}]`)) {
    radio.checked = radio.value === value;
  }
}

function put(range: HTMLInputElement, min: number, max: number, step: number, value: number): void {
  range.min = String(min);
  range.max = String(Math.max(max, value));
  range.step = String(step);
  if (Number(range.value) !== value) range.value = String(value);
}

/** What the controls steer: a bench in the page. */
export interface Steered {
  readonly answers: Answers;
  readonly state: PageState;
  readonly view: View;
  /** How long the controls are listened to. */
  readonly on: AddEventListenerOptions;
  ask(changed: Partial<PageState>): void;
  look(changed: Partial<View>, chart?: string): void;
  pick(cooler: string): void;
}

/** Hears an element's event until the bench gives way to another. */
type Hear = <T extends HTMLElement>(id: string, event: string, told: (element: T) => void) => void;

/** Every control tells the bench what is asked for. */
export function listenToControls(live: Steered): void {
  const hear: Hear = (id, event, told) =>
    byId(id).addEventListener(event, ({ target }) => told(target as never), live.on);
  const back = (): void => showControls(live.state, live.answers);
  hear<HTMLInputElement>('load', 'input', ({ value }) => live.ask({ loads_W: [], power_W: Number(value) }));
  hear<HTMLInputElement>('loads', 'change', (field) => takeLoads(live, field));
  hear('loads', 'blur', back);
  hear<HTMLInputElement>('speed-value', 'input', ({ value }) => {
    const { speed } = live.state;
    if (speed === 'full') return;
    const key = { percent: 'fan_percent', rpm: 'fan_rpm', sound: 'sound_dBA' }[speed];
    live.ask({ [key]: Number(value) });
  });
  hear<HTMLInputElement>('room', 'input', (room) => takeRoom(live, room));
  hear('room', 'blur', back);
  hear<HTMLInputElement | HTMLSelectElement>('controls', 'change', ({ id, name, value }) => {
    if (name === 'speed') live.ask({ speed: value as SpeedChoice });
    else if (name === 'unit') live.look({ unit: value as View['unit'] });
    else if (id === 'source') live.ask({ source: value });
  });
  byId('controls').addEventListener('submit', (event) => event.preventDefault(), live.on);
  hear<HTMLInputElement>('find', 'change', (field) => find(live, field));
  hear('page', 'click', (target) => {
    const cooler = target.closest<HTMLElement>('button[data-cooler]')?.dataset.cooler;
    if (cooler !== undefined) live.pick(cooler);
  });
  hear<HTMLInputElement>('section-rise', 'change', ({ name, value }) => {
    if (name === 'measure') live.look({ measure: value as View['measure'] }, 'rise');
  });
  hear<HTMLInputElement>('all-pairs', 'change', ({ checked }) => live.look({ allPairs: checked }, 'pairs'));
  for (const id of RUNS) {
    hear<HTMLSelectElement>(`${id}-run`, 'change', ({ value }) => live.look({ [id]: value }, id));
  }
}

/** What a control that takes words cannot use, said beside it. */
const said = (error: BenchError): string => unparted(error.message.replace(/^--[\w-]+: /, ''));

/** Acts, and gives a fault of the reader's own to `tell`. */
export function orSay(act: () => void, tell: (words: string) => void): void {
  try {
    act();
  } catch (error) {
    if (!(error instanceof BenchError)) throw error;
    tell(said(error));
  }
}

function takeLoads(live: Steered, field: HTMLInputElement): void {
  const take = (): void => {
    const loads = parseLoads(field.value);
    if (loads.length > MOST_SIDE_BY_SIDE) {
      const many = `${loads.length} loads do not stand side by side; give at most ${MOST_SIDE_BY_SIDE}`;
      throw new BenchError('--power', 0, 0, many);
    }
    field.removeAttribute('aria-invalid');
    byId('load-word').textContent = '';
    live.ask({ power_W: loads[loads.length - 1], loads_W: loads.length > 1 ? loads : [] });
  };
  orSay(take, (words) => {
    field.setAttribute('aria-invalid', 'true');
    byId('load-word').textContent = words;
  });
}

function takeRoom(live: Steered, { value, validity }: HTMLInputElement): void {
  const good = value !== '' && (validity.valid || validity.stepMismatch);
  tellRoom(
    good
      ? ''
      : 'That is no room temperature; give a number from −60 to 80 °C. The answer stays for the last one.',
  );
  if (good) live.ask({ ambient_C: Number(value) });
}

function tellRoom(words: string): void {
  byId('room-word').textContent = unparted(words);
  byId('room').toggleAttribute('aria-invalid', words !== '');
}

/** Chooses the cooler of a typed name, or the first that has it in its own. */
function find(live: Steered, field: HTMLInputElement): void {
  const wanted = field.value.trim().toLowerCase();
  const names = [...live.answers.places.keys()];
  const found =
    names.find((name) => name.toLowerCase() === wanted) ??
    names.find((name) => wanted !== '' && name.toLowerCase().includes(wanted));
  if (found === undefined) return;
  field.value = '';
  if (!live.view.chosen.includes(found)) live.pick(found);
}
