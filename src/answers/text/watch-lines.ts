import type { Finding } from '../../logs/findings.ts';
import type { RunAtHand } from '../../logs/plan-at-hand.ts';
import type { WatchState } from '../../logs/watch-log.ts';
import { displayWidth } from './text-width.ts';
import { plain } from './wording.ts';

/** What is said at the start of every watch. */
export const WATCH_SAFETY =
  'This is no safety device. The thermal cut-out on the heater has to work by itself and must not depend on it, and the bench never heats unattended. Local codes, and a licensed electrician where they ask for one, come first.';

/** What a row gives rise to. */
export interface Said {
  /** Lines to keep, each with the log's time. */
  lines: string[];
  /** Whether to ring: it may be stopped, or the limit is near. */
  bell: boolean;
}

/** Findings that somebody has to act on at once. */
const urgent: readonly Finding['what'][] = ['limit', 'pump stopped', 'fan stopped'];
const mostPoints = 256;
const blocks = { fine: ' ▁▂▃▄▅▆▇█', plain: ' .:-=+*#@' };

/** Turns the states of a watch into lines for people, those that are kept and the one that renews itself. */
export class WatchLines {
  private before: WatchState | undefined;
  private said_s = Number.NEGATIVE_INFINITY;
  private points: { step_s: number; rise_K: number }[] = [];
  private readonly every_s: number;
  private readonly marks: string;

  /**
   * @param every_s  of the log between two lines where nothing happens; `Infinity`: none
   * @param isUnicode  whether the picture may be drawn with block characters
   */
  constructor(every_s: number, isUnicode = false) {
    this.every_s = every_s;
    this.marks = isUnicode ? blocks.fine : blocks.plain;
  }

  /** What is to be said at a state. */
  take(state: WatchState): Said {
    const { before } = this;
    this.before = state;
    this.keepPoint(state, before);
    const events = eventsBetween(before, state);
    const isDue = state.time_s - this.said_s >= this.every_s || state.time_s < this.said_s;
    if (isDue || events.some(({ isState }) => isState)) this.said_s = state.time_s;
    const due = isDue && !events.some(({ isState }) => isState) ? [stateInWords(state)] : [];
    return {
      lines: [...events.map(({ says }) => says), ...due].map((says) => `${timeOf(state.time_s)}  ${says}`),
      bell: events.some(({ rings }) => rings),
    };
  }

  /** The state in one line of at most so many columns, with a small picture of the response. */
  line(state: WatchState, columns: number): string {
    const room = Math.max(20, columns);
    const worst = state.wrong.find(({ what }) => urgent.includes(what)) ?? state.wrong[0];
    const parts = [
      timeOf(state.time_s),
      ...(state.step_s === null ? [] : [`${plain(Math.round(state.power_W))} W`, this.picture(state)]),
      `${state.rise_K.toFixed(1)} K`,
      ...(state.asymptote_K === null ? [] : [`-> ${withHalf(state.asymptote_K, state.u_K as number)} K`]),
      ...(worst
        ? [`! ${worst.says}`]
        : [state.can_stop ? 'you can stop' : outlook(state), endInWords(state)]),
    ].filter((part) => part !== '');
    let line = parts[0];
    for (const part of parts.slice(1)) {
      const longer = `${line}  ${part}`;
      if (displayWidth(longer) > room) {
        if (part.startsWith('!')) line = `${[...longer].slice(0, room - 2).join('')}..`;
        break;
      }
      line = longer;
    }
    return line;
  }

  /** What is said when the watch ends. */
  last(state: WatchState): string {
    return `${timeOf(state.time_s)}  ${stateInWords(state)}`;
  }

  private keepPoint(state: WatchState, before: WatchState | undefined): void {
    const { step_s, rise_K } = state;
    if (step_s === null || (before?.step_s ?? 0) > step_s) this.points = [];
    if (step_s === null) return;
    this.points.push({ step_s, rise_K });
    if (this.points.length > mostPoints)
      this.points = this.points.filter((_, i) => i % 2 === 0 || i === mostPoints);
  }

  /** The response from the step to the end that is foreseen; what is to come is dots. */
  private picture({ step_s, minutes_left, asymptote_K }: WatchState): string {
    const columns = 12;
    const { points, marks } = this;
    const since = step_s ?? 0;
    const end = since + 60 * (minutes_left ?? Math.max(5, since / 60));
    const highest = Math.max(asymptote_K ?? 0, ...points.map(({ rise_K }) => rise_K), 0.5);
    let out = '';
    for (let c = 0, p = 0; c < columns; c++) {
      const until = ((c + 1) * end) / columns;
      let value: number | undefined;
      for (; p < points.length && points[p].step_s <= until + 1e-9; p++) value = points[p].rise_K;
      const isToCome = value === undefined && (c * end) / columns > since;
      const height = Math.round((8 * (value ?? points[Math.max(0, p - 1)]?.rise_K ?? 0)) / highest);
      out += isToCome ? '.' : marks[Math.min(8, Math.max(1, height))];
    }
    return out;
  }
}

/** Log time as h:mm:ss. */
function timeOf(time_s: number): string {
  const whole = Math.floor(Math.abs(time_s));
  const two = (value: number) => String(value).padStart(2, '0');
  const sign = time_s < 0 ? '-' : '';
  return `${sign}${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
}

/** A value with its 95 % half-width to two digits. */
function withHalf(value: number, u: number): string {
  const half = 1.96 * u;
  const digits = Math.min(2, Math.max(0, 1 - Math.floor(Math.log10(Math.max(half, 1e-9)))));
  return `${value.toFixed(digits)} ± ${half.toFixed(digits)}`;
}

/** When the run may stop, in words. */
function outlook({ can_stop, minutes_left, step_s, within_K, asymptote_K }: WatchState): string {
  if (step_s === null) return 'no load';
  if (can_stop) return `known within ${within_K} K: you can stop`;
  if (asymptote_K === null) return 'not known yet';
  if (minutes_left === null) return 'not expected to be known within 6 h';
  return minutes_left < 1 ? 'stop in under a minute' : `stop in about ${Math.ceil(minutes_left)} min`;
}

function endInWords({ source_at_end_C, limit_C }: WatchState): string {
  if (source_at_end_C === null) return '';
  return `source ${source_at_end_C.toFixed(0)} °C then${limit_C === null ? '' : `, limit ${limit_C} °C`}`;
}

function stateInWords(state: WatchState): string {
  const { rise_K, asymptote_K, u_K, step_s, power_W, fan_rpm } = state;
  if (step_s === null) return `no load; source ${rise_K.toFixed(2)} K above ambient`;
  const now = `${plain(Math.round(power_W))} W, ${Math.round(fan_rpm)} rpm: ${rise_K.toFixed(2)} K now`;
  if (asymptote_K === null) return `${now}; the steady state is not known yet`;
  return `${now}, ${withHalf(asymptote_K, u_K as number)} K at steady state; ${outlook(state)}; ${endInWords(state)}`;
}

/** The state says itself that there is no load. */
const isWorthSaying = ({ what }: Finding): boolean => what !== 'no load';

interface Event {
  says: string;
  rings?: boolean;
  /** Whether it says the state too. */
  isState?: boolean;
}

/** What has changed between two states and is to be said at once. */
function eventsBetween(before: WatchState | undefined, state: WatchState): Event[] {
  const { step_s, can_stop, run, next, wrong } = state;
  const events: Event[] = [];
  const isNewStep =
    step_s !== null && (before === undefined || before.step_s === null || before.step_s > step_s);
  if (isNewStep) {
    events.push({
      says: `load on: ${state.power_W.toFixed(1)} W at ${Math.round(state.fan_rpm)} rpm`,
      isState: true,
    });
    if (run) events.push({ says: `this is ${runInWords(run)}` });
  }
  if (can_stop && !before?.can_stop) {
    events.push({ says: `STOP. ${stateInWords(state)}`, rings: true, isState: true });
    if (run) events.push({ says: next ? `next: ${runInWords(next)}` : 'this was the last run of the plan' });
  } else if (before?.can_stop && !can_stop && step_s !== null && !isNewStep)
    events.push({ says: `no longer known within ${state.within_K} K: go on`, isState: true });
  const earlier = new Map((before?.wrong ?? []).map((one) => [one.what, one]));
  if (before && before.step_s !== null && step_s === null) events.push({ says: 'load off' });
  for (const { what, says } of wrong.filter(isWorthSaying)) {
    const known = earlier.get(what);
    earlier.delete(what);
    const isWorse =
      what === 'limit' && known?.says.startsWith('the source may') && !says.startsWith('the source may');
    if (known && !isWorse) continue;
    events.push({
      says: `${what === 'limit' ? 'LIMIT' : 'check'}: ${says}`,
      rings: urgent.includes(what),
    });
  }
  for (const { what } of [...earlier.values()].filter(isWorthSaying))
    if (what !== 'fan changed') events.push({ says: `${what}: over` });
  return events;
}

function runInWords({ order, cooler, sample, power_W, fan_rpm, remount }: RunAtHand): string {
  const which = sample === null ? cooler : `${cooler}, sample ${sample}`;
  const fan = fan_rpm === null ? '' : ` at ${Math.round(fan_rpm)} rpm`;
  return `run ${order} of the plan: ${which}, ${remount ? 'fresh paste' : 'the mount as it is'}, ${plain(power_W)} W${fan}`;
}
