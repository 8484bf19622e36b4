import { expect, it } from 'vitest';
import type { WatchState } from '../../logs/watch-log.ts';
import { WatchLines } from './watch-lines.ts';

const state = (time_s: number, more: Partial<WatchState> = {}): WatchState => ({
  time_s,
  rise_K: 20,
  asymptote_K: 30,
  u_K: 0.5,
  can_stop: false,
  minutes_left: 5,
  source_at_end_C: 52,
  within_K: 0.3,
  step_s: time_s,
  source_C: 42,
  ambient_C: 22,
  power_W: 150,
  fan_rpm: 1200,
  limit_C: 90,
  minutes_to_limit: null,
  wrong: [],
  run: null,
  next: null,
  ...more,
});

it('the bell rings when a run may be stopped and when the limit is near, once each', () => {
  const lines = new WatchLines(60);
  const limit = [{ what: 'limit' as const, since_s: 3, says: 'the source will pass its limit' }];
  const rings = [
    state(0),
    state(1, { can_stop: true, minutes_left: 0 }),
    state(2, { can_stop: true, minutes_left: 0 }),
    state(3, { wrong: limit }),
    state(4, { wrong: limit }),
    state(5, { wrong: [{ what: 'room', since_s: 5, says: 'the room is warm' }] }),
  ].map((one) => lines.take(one).bell);
  expect(rings).toEqual([false, true, false, true, false, false]);
});
