import { load, plain } from '../tables/wording.ts';
import type { Answers } from './answers.ts';
import { escapeHtml } from './page/escape.ts';
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
  if (state.speed === 'percent') {
    return {
      min: 10,
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
      min: 100,
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
  const choices = CHOICES.filter(({ choice }) => choice !== 'sound' || answers.hasSound)
    .map(
      ({ choice, words }) =>
        `<label><input type="radio" name="speed" value="${choice}"${choice === state.speed ? ' checked' : ''} disabled> ${words}</label>`,
    )
    .join('');
  const sources = answers.sources
    .map(
      (name) =>
        `<option value="${escapeHtml(name)}"${name === state.source ? ' selected' : ''}>${escapeHtml(name)}</option>`,
    )
    .join('');
  return `<form id="controls" class="controls" aria-label="Conditions of the answer" autocomplete="off">
<div class="control"><label for="load">Load</label><input id="load" type="range" min="${span.from_W}" max="${span.to_W}" step="${span.step_W}" value="${state.power_W}" aria-valuetext="${load(state.power_W)}" disabled><output id="load-shown" for="load">${load(state.power_W)}</output></div>
<div class="control"><fieldset><legend>Fans</legend>${choices}</fieldset></div>
<div class="control" id="speed-row"${speed ? '' : ' hidden'}><label for="speed-value" id="speed-label">${speed?.label ?? ''}</label><input id="speed-value" type="range" min="${speed?.min ?? 0}" max="${speed?.max ?? 1}" step="${speed?.step ?? 1}" value="${speed?.value ?? 0}" aria-valuetext="${speed ? `${plain(speed.value)} ${speed.unit}` : ''}" disabled><output id="speed-shown" for="speed-value">${speed ? `${plain(speed.value)} ${speed.unit}` : ''}</output></div>
<div class="control pair"><span><label for="source">Source</label> <select id="source" disabled>${sources}</select></span><span><label for="room">Room, °C</label> <input id="room" type="number" min="-60" max="80" step="0.5" value="${plain(state.ambient_C)}" disabled></span></div>
</form>`;
}
