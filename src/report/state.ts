import { plain } from '../answers/text/wording.ts';
import type { Conditions } from '../predict/conditions.ts';
import type { Answers } from './answers.ts';
import { firstLoad } from './loads.ts';

/** How the fans' speeds are set: all at their greatest, at a share of it, at one speed, or at one level of sound. */
const SPEED_CHOICES = ['full', 'percent', 'rpm', 'sound'] as const;
export type SpeedChoice = (typeof SPEED_CHOICES)[number];

/** What the page is asked for: the position of every control. */
export interface PageState {
  source: string;
  power_W: number;
  /** Loads side by side, where several were typed. */
  loads_W: readonly number[];
  speed: SpeedChoice;
  fan_percent: number;
  fan_rpm: number;
  sound_dBA: number;
  ambient_C: number;
}

/** What the reader chose to see in the charts. */
export interface View {
  /** Rise in K, or rise per watt in K/W, which tells coolers apart that run close together. */
  measure: 'rise' | 'resistance';
  /** The rise in K, or the temperature of the source in the stated room in °C. */
  unit: 'K' | 'C';
  /** Coolers that the reader singled out; the others are held against the first. */
  chosen: readonly string[];
  /** Every pair among the differences, not those of one cooler alone. */
  allPairs: boolean;
  /** The run whose log is looked at; absent: the first. */
  log?: string;
  /** The run whose parting from another mount's is looked at; absent: the first. */
  parting?: string;
}

/** More loads than this are not drawn side by side. */
export const MOST_SIDE_BY_SIDE = 8;

/** Where the controls stand first: as the report was asked for, at the greatest load run where none was named. */
export function firstState(answers: Answers): PageState {
  const { asked } = answers.data;
  const source = asked.source ?? answers.sources[0] ?? 'heater';
  const sound = answers.hasSound ? answers.soundRange() : { low_dBA: 30, high_dBA: 40 };
  const fastest = Math.max(1, ...answers.bench.coolers.map((one) => one.fan_max_rpm));
  return {
    source,
    loads_W:
      asked.power_W && asked.power_W.length > 1 && asked.power_W.length <= MOST_SIDE_BY_SIDE
        ? asked.power_W
        : [],
    power_W: firstLoad(answers.run_W(source), asked.power_W ?? []),
    speed:
      asked.sound_dBA !== undefined
        ? 'sound'
        : asked.fan_rpm !== undefined
          ? 'rpm'
          : (asked.fan_percent ?? 100) === 100
            ? 'full'
            : 'percent',
    fan_percent: asked.fan_percent ?? 70,
    fan_rpm: asked.fan_rpm ?? Math.round(fastest / 200) * 100,
    sound_dBA: asked.sound_dBA ?? levelShown(sound, answers.background_dBA),
    ambient_C: asked.ambient_C ?? answers.bench.ambient.setpoint_C,
  };
}

/** The level compared at first: well above the background, or, where none is known, in the middle of what the coolers reach. */
function levelShown(
  { low_dBA, high_dBA }: { low_dBA: number; high_dBA: number },
  background_dBA?: number,
): number {
  const wanted = background_dBA === undefined ? Math.round((low_dBA + high_dBA) / 2) : background_dBA + 9;
  return Math.min(high_dBA, Math.max(low_dBA, wanted));
}

/**
 * The state as the conditions of a command, the load left out. A room at the bench's own setpoint is the bench's own room, air
 * density included.
 */
export function conditionsOf(state: PageState, answers: Answers): Conditions {
  const { power_W, fan_rpm, fan_percent, sound_dBA, source, ambient_C, ...rest } = answers.data.asked;
  const ownRoom = ambient_C === undefined && state.ambient_C === answers.bench.ambient.setpoint_C;
  return {
    ...rest,
    source: state.source,
    ...(ownRoom ? {} : { ambient_C: state.ambient_C }),
    ...(state.speed === 'percent' ? { fan_percent: state.fan_percent } : {}),
    ...(state.speed === 'rpm' ? { fan_rpm: state.fan_rpm } : {}),
    ...(state.speed === 'sound' ? { sound_dBA: state.sound_dBA } : {}),
  };
}

/** The speed condition in words. @example speedWords({ ...state, speed: 'sound', sound_dBA: 35 }) // 'equal sound of 35 dBA' */
export function speedWords(state: PageState): string {
  if (state.speed === 'percent') return `fans at ${plain(state.fan_percent)} % of their greatest speed`;
  if (state.speed === 'rpm') return `every fan at ${plain(state.fan_rpm)} rpm`;
  if (state.speed === 'sound') return `equal sound of ${plain(state.sound_dBA)} dBA`;
  return 'full fan speed';
}

/** The whole condition in words. */
export function conditionWords(state: PageState): string {
  return `${state.source} as the source, ${speedWords(state)}, room at ${plain(state.ambient_C)} °C`;
}

/**
 * State and view as a fragment of an address, to be kept or sent.
 *
 * @example
 * const view = { measure: 'rise', unit: 'C', chosen: ['Rowan'], allPairs: false };
 * toFragment({ ...state, power_W: 180, loads_W: [180], speed: 'sound', sound_dBA: 33 }, view) // 'load=180&sound=33&source=heater&room=22&unit=C&cooler=Rowan'
 */
export function toFragment(state: PageState, view: View): string {
  const speed: [string, number] | undefined =
    state.speed === 'percent'
      ? ['fan', state.fan_percent]
      : state.speed === 'rpm'
        ? ['rpm', state.fan_rpm]
        : state.speed === 'sound'
          ? ['sound', state.sound_dBA]
          : undefined;
  const parts: [string, string | number][] = [
    ['load', state.power_W],
    ...(state.loads_W.length > 1 ? [['loads', state.loads_W.join(',')] as [string, string]] : []),
    ...(speed ? [speed] : []),
    ['source', state.source],
    ['room', state.ambient_C],
    ...(view.unit === 'C' ? [['unit', 'C'] as [string, string]] : []),
    ...(view.measure === 'resistance' ? [['drawn', 'per-watt'] as [string, string]] : []),
    ...(view.allPairs ? [['pairs', 'all'] as [string, string]] : []),
    ...(['log', 'parting'] as const).flatMap((name): [string, string][] => {
      const run = view[name];
      return run === undefined ? [] : [[name, run]];
    }),
    ...view.chosen.map((name): [string, string] => ['cooler', name]),
  ];
  return parts.map(([name, value]) => `${name}=${encodeURIComponent(value)}`).join('&');
}

/** State and view that a fragment names; whatever it leaves out or names wrongly stays as in `state`, and of the view as at first. */
export function fromFragment(
  fragment: string,
  state: PageState,
  answers: Answers,
): { state: PageState; view: View } {
  const given = new URLSearchParams(fragment.replace(/^#/, ''));
  const within = (text: string | null, low: number, high: number): number | undefined => {
    const value = text === null || text.trim() === '' ? Number.NaN : Number(text);
    return value >= low && value <= high ? value : undefined;
  };
  const number = (name: string, low: number, high: number) => within(given.get(name), low, high);
  const source = given.get('source');
  const fan = number('fan', 1, 100);
  const rpm = number('rpm', 1, 1e5);
  const sound = answers.hasSound ? number('sound', 0, 140) : undefined;
  const named = given.has('load') || given.has('room') || given.has('source');
  const loads = (given.get('loads') ?? '').split(',').flatMap((text) => within(text, 1, 1e5) ?? []);
  return {
    state: {
      ...state,
      ...(source !== null && answers.sources.includes(source) ? { source } : {}),
      power_W: number('load', 1, 1e5) ?? state.power_W,
      loads_W: loads.length > 1 ? loads.slice(0, MOST_SIDE_BY_SIDE) : named ? [] : state.loads_W,
      ambient_C: number('room', -60, 80) ?? state.ambient_C,
      speed:
        sound !== undefined
          ? 'sound'
          : rpm !== undefined
            ? 'rpm'
            : fan !== undefined
              ? 'percent'
              : named
                ? 'full'
                : state.speed,
      fan_percent: fan ?? state.fan_percent,
      fan_rpm: rpm ?? state.fan_rpm,
      sound_dBA: sound ?? state.sound_dBA,
    },
    view: {
      unit: given.get('unit') === 'C' ? 'C' : 'K',
      measure: given.get('drawn') === 'per-watt' ? 'resistance' : 'rise',
      allPairs: given.get('pairs') === 'all',
      log: given.get('log') ?? undefined,
      parting: given.get('parting') ?? undefined,
      chosen: [...new Set(given.getAll('cooler'))].filter((name) => answers.places.has(name)),
    },
  };
}
