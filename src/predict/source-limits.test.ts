import { expect, it } from 'vitest';
import { fit } from '../answers/fit.ts';
import { predict as predictBench } from '../answers/predict.ts';
import { limitLines } from '../answers/text/source-tables.ts';
import { readBench } from '../bench/read-bench.ts';
import { limitsFrom } from './source-limits.ts';

const commands = { fit, predict: predictBench };

const { predict } = commands;

const rows = ['A,liquid', 'B,air'].flatMap((cooler, c) =>
  [80, 120, 160].flatMap((P) =>
    [1, 2].map((m) => `${cooler.split(',')[0]},${m},${P},1500,${22 + P * (0.2 + 0.03 * c + 0.004 * m)},22`),
  ),
);
const bench = readBench(
  new Map(
    Object.entries({
      'bench.yaml': 'name: a\nheater: {temperature_limit_C: 70}\nambient: {setpoint_C: 22, tolerance_K: 1}',
      'coolers.csv': 'cooler,kind,heat_pipes,heat_pipe_diameter_mm\nA,liquid,,\nB,air,4,6',
      'runs.csv': ['cooler,mount,power_W,fan_rpm,source_C,ambient_C', ...rows].join('\n'),
    }).map(([name, text]): [string, Uint8Array] => [name, new TextEncoder().encode(text)]),
  ),
);

it('the load at a temperature is where predict has it, the ends where the limits of the mean have it', () => {
  for (const limit_C of [50, 70, 90]) {
    for (const { cooler, power_W, low_W, high_W, if_pipes_hold: held } of predict(bench, { limit_C })
      .limits!) {
      const at = (load: number | null) =>
        predict(bench, { power_W: [load!], coolers: [cooler] }).predictions[0];
      expect(at(power_W).rise_K).toBeCloseTo(limit_C - 22, 1);
      expect(at(low_W).mean_high_K).toBeCloseTo(limit_C - 23, 1);
      expect(at(high_W).mean_low_K).toBeCloseTo(limit_C - 21, 1);
      // Pipes may give out beyond the loads run, and then the source is there earlier: of the liquid cooler never.
      expect(held !== undefined).toBe(cooler === 'B' && limit_C > 50);
      if (!held) continue;
      expect(at(held.power_W).if_pipes_hold?.rise_K).toBeCloseTo(limit_C - 22, 1);
      expect(held.low_W).toBeGreaterThan(low_W!);
    }
  }
});

it('near the loads run it is the temperature over the resistance', () => {
  // 0.206 K/W as read, no leak.
  const [{ power_W }] = predict(bench, { limit_C: 50, coolers: ['A'], ambient_C: 22 }).limits!;
  expect(power_W! / (28 / 0.206)).toBeCloseTo(1, 2);
});

it('from curves of some loads it is the same but for their curvature', () => {
  const { predictions } = predict(bench, { power_W: Array.from({ length: 24 }, (_, k) => 20 * (k + 1)) });
  const exact = predict(bench, { limit_C: 90 }).limits!;
  const room = { limit_C: 90, ambient_C: 22, ambient_tolerance_K: 1 };
  limitsFrom(predictions, room).forEach((one, c) => {
    for (const end of ['power_W', 'low_W', 'high_W'] as const) {
      expect(Math.abs(one[end]! - exact[c][end]!)).toBeLessThan(0.5);
    }
  });
});

it('a single load is answered alone unless a temperature is asked for; a warm room leaves no load', () => {
  expect(predict(bench, { power_W: [120] }).limits).toBeUndefined();
  expect(predict(bench, { power_W: [120], limit_C: 60 }).limits?.map((one) => one.limit_C)).toEqual([60, 60]);
  expect(commands.fit(bench).limits?.map((one) => one.limit_C)).toEqual([70, 70]);
  const [{ power_W, sentence }] = predict(bench, { limit_C: 40, ambient_C: 45 }).limits!;
  expect([power_W, sentence]).toEqual([null, 'A room of 45 °C is not below 40 °C.']);
});

it('the table shows a heater what was asked for, and the pipes apart', () => {
  const { limits } = predict(bench, { limit_C: 90 });
  expect(limitLines(limits, 80)).toEqual([]);
  const text = limitLines(limits, 80, true).join('\n');
  expect(text).toMatch(/Load at which the heater reaches 90 °C in a room of 22 °C/);
  expect(text.replace(/\s+/g, ' ')).toMatch(/if the from, to, pipes/);
  expect(text).toMatch(/B +1500 +\d+\* +\d+ to \d+ +\d+ to \d+/);
});
