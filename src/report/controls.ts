import { listOf, load, plain } from '../answers/text/wording.ts';
import { sourceOf, temperatureLimit } from '../bench/source.ts';
import { leastAnswered_rpm } from '../predict/at-conditions.ts';
import type { Answers } from './answers.ts';
import { escapeHtml, prose } from './page/escape.ts';
import type { PageState, SpeedChoice } from './state.ts';

/** The control of a speed choice: its ends, its step and what it reads. */
export interface SpeedControl {
  min: number;
  max: number;
  step: number;
  value: number;
  unit: string;
  label: string;
}

/** What the second control sets for a speed choice; `undefined` at full speed. */
export function speedControl(state: PageState, answers: Answers): SpeedControl | undefined {
  const coolers = answers.posterior(state.source).coolers;
  if (state.speed === 'percent') {
    const least = coolers.map((one) => leastAnswered_rpm(one) / (one.data.cooler.fan_max_rpm || 1));
    return {
      min: Math.max(10, Math.ceil(100 * Math.max(...least))),
      max: 100,
      step: 1,
      value: state.fan_percent,
      unit: '%',
      label: 'Share of full',
    };
  }
  if (state.speed === 'rpm') {
    const most = Math.max(100, ...answers.bench.coolers.map((one) => one.fan_max_rpm));
    return {
      min: Math.max(100, Math.ceil(Math.max(...coolers.map(leastAnswered_rpm)) / 10) * 10),
      max: Math.ceil(most / 50) * 50,
      step: 10,
      value: state.fan_rpm,
      unit: 'rpm',
      label: 'Every fan at',
    };
  }
  if (state.speed === 'sound') {
    const { low_dBA, high_dBA } = answers.soundRange();
    return {
      min: low_dBA,
      max: high_dBA,
      step: 0.5,
      value: state.sound_dBA,
      unit: 'dBA',
      label: 'Sound as metered',
    };
  }
  return undefined;
}

const CHOICES: readonly { choice: SpeedChoice; words: string }[] = [
  { choice: 'full', words: 'full speed' },
  { choice: 'percent', words: 'a share of it' },
  { choice: 'rpm', words: 'one speed' },
  { choice: 'sound', words: 'equal sound' },
];

/** The controls as HTML; the page's script brings them to life. */
export function controlsHtml(state: PageState, answers: Answers): string {
  const span = answers.span({ source: state.source });
  const speed = speedControl(state, answers);
  const choices = CHOICES.map(
    ({ choice, words }) =>
      `<label${choice === 'sound' && !answers.hasSound ? ' hidden' : ''}><input type="radio" name="speed" value="${choice}"${choice === state.speed ? ' checked' : ''} disabled> ${words}</label>`,
  ).join('');
  return `<form id="controls" class="controls" aria-label="Conditions of the answer" autocomplete="off">
<div class="control"><label for="load">Load</label><input id="load" type="range" min="${span.from_W}" max="${span.to_W}" step="${span.step_W}" value="${state.power_W}" aria-valuetext="${load(state.power_W)}" disabled><span class="typed"><input id="loads" type="text" inputmode="text" value="${typedLoads(state)}" aria-label="Load in W, or several such as 150, 250" aria-describedby="load-word" disabled> W</span></div>
<p id="load-word" class="word" role="status">${prose(loadWord(state, answers))}</p>
<div class="control"><fieldset><legend>Fans</legend>${choices}</fieldset></div>
<div class="control" id="speed-row"${speed ? '' : ' hidden'}><label for="speed-value" id="speed-label">${speed?.label ?? ''}</label><input id="speed-value" type="range" min="${speed?.min ?? 0}" max="${speed?.max ?? 1}" step="${speed?.step ?? 1}" value="${speed?.value ?? 0}" aria-valuetext="${speed ? `${plain(speed.value)} ${speed.unit}` : ''}" disabled><output id="speed-shown" for="speed-value">${speed ? `${plain(speed.value)} ${speed.unit}` : ''}</output></div>
<div class="control pair"><span><label for="source">Source</label> <select id="source" disabled>${options(answers.sources, state.source)}</select></span><span><label for="room">Room, °C</label> <input id="room" type="number" min="-60" max="80" step="0.5" value="${plain(state.ambient_C)}" aria-describedby="room-word" disabled></span><fieldset class="units"><legend>Charts in</legend><label><input type="radio" name="unit" value="K" checked disabled> K</label><label><input type="radio" name="unit" value="C" disabled> °C</label></fieldset></div>
<p id="room-word" class="word fault" role="alert"></p>
<div class="control"><label for="find">Choose coolers</label><span class="picked"><input id="find" type="text" list="cooler-names" placeholder="a name" disabled><datalist id="cooler-names">${options(answers.places.keys())}</datalist><span id="chosen"></span></span></div>
</form>`;
}

/** Names to choose from, as HTML. */
export const options = (names: Iterable<string>, selected?: string): string =>
  [...names]
    .map(
      (name) =>
        `<option value="${escapeHtml(name)}"${name === selected ? ' selected' : ''}>${escapeHtml(name)}</option>`,
    )
    .join('');

/** Runs to choose from, each with its cooler and load. */
export const runOptions = (runs: readonly { run: string; cooler: string; power_W: number }[]): string =>
  runs
    .map(
      ({ run, cooler, power_W }) =>
        `<option value="${escapeHtml(run)}">${escapeHtml(`${run}: ${cooler}, ${load(Math.round(power_W))}`)}</option>`,
    )
    .join('');

/** The loads as they are typed. */
export const typedLoads = ({ power_W, loads_W }: PageState): string =>
  loads_W.length > 1 ? loads_W.map(plain).join(', ') : plain(power_W);

/** A chosen cooler with what takes it off the list. */
export const chosenHtml = (chosen: readonly string[]): string =>
  chosen
    .map(
      (name) =>
        `<button type="button" class="chip" data-cooler="${escapeHtml(name)}" aria-label="${escapeHtml(name)}: no longer chosen"><span class="name">${escapeHtml(name)}</span> <span aria-hidden="true">×</span></button>`,
    )
    .join('');

/** What has to be known of the load: that the supply does not give it, or that the source would pass its limit. */
export function loadWord(
  state: PageState,
  answers: Answers,
  rises: readonly { cooler: string; rise_K: number }[] = [],
): string {
  const { bench } = answers;
  const most_W = sourceOf(bench, state.source).power_max_W;
  const limit_C = temperatureLimit(bench, state.source);
  const most = Math.max(state.power_W, ...state.loads_W);
  const over =
    limit_C === undefined
      ? []
      : rises.filter(({ rise_K }) => state.ambient_C + rise_K > limit_C).map(({ cooler }) => cooler);
  return [
    ...(most_W !== undefined && most > most_W
      ? [`${load(most)} is beyond what the ${state.source} gives, ${load(most_W)}.`]
      : []),
    ...(over.length > 0
      ? [
          `At ${load(state.power_W)} the source would pass its limit of ${plain(limit_C ?? 0)} °C on ${listOf(over, 3)}: it cannot be run so.`,
        ]
      : []),
  ].join(' ');
}
