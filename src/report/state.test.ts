import { expect, it } from 'vitest';
import type { Answers } from './answers.ts';
import { conditionsOf, fromFragment, type PageState, toFragment, type View } from './state.ts';

const view: View = { measure: 'rise', unit: 'K', chosen: [], allPairs: false };
const answers = {
  places: new Map([['Reed & co', 0]]),
  sources: ['heater', 'Chip & co'],
  hasSound: true,
  bench: { ambient: { setpoint_C: 22, tolerance_K: 1 } },
  data: { asked: { level: 0.9, power_W: [150], fan_percent: 60 } },
} as unknown as Answers;
const state: PageState = {
  source: 'heater',
  power_W: 180,
  loads_W: [],
  speed: 'full',
  fan_percent: 70,
  fan_rpm: 900,
  sound_dBA: 35,
  ambient_C: 22,
};

it.each([
  state,
  { ...state, speed: 'percent', fan_percent: 55 },
  { ...state, speed: 'rpm', fan_rpm: 1210, source: 'Chip & co' },
  { ...state, speed: 'sound', sound_dBA: 36.5, ambient_C: -3.5, power_W: 222.5, loads_W: [80, 222.5] },
] as PageState[])('comes back from its fragment', (one) => {
  expect(
    fromFragment(`#${toFragment(one, view)}`, { ...state, power_W: 1, speed: 'percent' }, answers).state,
  ).toMatchObject({
    source: one.source,
    power_W: one.power_W,
    loads_W: one.loads_W,
    speed: one.speed,
    ambient_C: one.ambient_C,
  });
});

it('keeps what is looked at in the fragment too, names that are no longer there left out', () => {
  const seen: View = { measure: 'resistance', unit: 'C', chosen: ['Reed & co'], allPairs: true };
  expect(fromFragment(toFragment(state, seen), state, answers).view).toEqual(seen);
  expect(fromFragment('#cooler=Gone', state, answers).view).toEqual(view);
});

it('keeps to itself where a fragment names what cannot be', () => {
  for (const wrong of ['', '#load=&room=x', '#load=-4&source=nobody&fan=0&sound=900', '#%%%&load=1e9']) {
    expect(fromFragment(wrong, state, answers).state).toEqual(state);
  }
});

it('gives a command its conditions, the rest of what the report was asked for among them', () => {
  expect(conditionsOf(state, answers)).toEqual({ level: 0.9, source: 'heater' });
  expect(conditionsOf({ ...state, speed: 'sound', ambient_C: 30 }, answers)).toEqual({
    level: 0.9,
    source: 'heater',
    sound_dBA: 35,
    ambient_C: 30,
  });
});
