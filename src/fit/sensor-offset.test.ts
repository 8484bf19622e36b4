import { describe, expect, it } from 'vitest';
import { screen } from '../answers/screen.ts';
import { readBench } from '../bench/read-bench.ts';
import { sensorOffset } from './cooler-runs.ts';

const HEAD = 'run,cooler,source,session,mount,power_W,fan_rpm,source_C,ambient_C';
const heated = (source: string, off_K: number) =>
  ['A', 'B', 'C'].flatMap((cooler, c) =>
    [1, 2].flatMap((mount) =>
      [60, 120, 180].map((load, k) => {
        const read = 22 + off_K + (0.2 + 0.02 * c) * load + 0.1 * ((c + mount + k) % 3);
        return `${source}-${cooler}${mount}-${load},${cooler},${source},s,${mount},${load},1500,${read},22`;
      }),
    ),
  );
const benchOf = (rows: readonly string[]) =>
  readBench(
    new Map(
      Object.entries({
        'bench.yaml': 'name: idle\nchips: [{chip: die}]',
        'runs.csv': [HEAD, ...rows].join('\n'),
      }).map(([name, text]) => [name, new TextEncoder().encode(text)]),
    ),
  );

describe('sensorOffset', () => {
  it('of a chip is learnt over sessions, the sensor being on the die: numpy, the same as a conditional normal', () => {
    const rows = [
      'z1,A,die,s,1,0,1500,25.1,22',
      'z2,A,die,s,1,0,1500,24.9,22',
      'z3,A,die,t,1,0,1500,24.5,22',
      'z4,A,heater,t,1,0,1500,20.5,22',
    ];
    // Covariance of the readings: 2² for all, 0.3² within a session, 0.1²/6 + 0.1² each alone.
    const { value_K, u_K } = sensorOffset(benchOf(rows), 'die', 't');
    expect(value_K).toBeCloseTo(2.52568099129061, 12);
    expect(u_K).toBeCloseTo(0.10473577346970542, 12);
    // The heater's is calibrated anew: 0.5 and 0.3 K beside the one reading of its session.
    expect(sensorOffset(benchOf(rows), 'heater', 't').value_K).toBeCloseTo(
      (-1.5 * 0.34) / (0.34 + 0.07 / 6),
      12,
    );
    const unread = sensorOffset(benchOf(rows), 'heater', 's');
    expect(unread.value_K).toBe(0);
    expect(unread.u_K).toBeCloseTo(Math.sqrt(0.34), 12);
  });
});

describe('screen of runs on a chip without heat', () => {
  it("goes by the chip's own sensor and not by the heater's", () => {
    const idle = (source: string, of: readonly number[]) =>
      of.map((off, k) => `${source}-idle-${k + 1},A,${source},s,1,0,1500,${22 + off},22`);
    const rows = [...heated('heater', 1.2), ...heated('die', 3), ...idle('heater', [1.2, 1.2, 1.2])];
    const verdicts = (of: readonly number[]) =>
      screen(benchOf([...rows, ...idle('die', of)]))
        .runs.filter(({ run }) => run.startsWith('die-idle'))
        .map(({ verdict }) => verdict);
    expect(verdicts([3, 3.1, 3])).toEqual(['ok', 'ok', 'ok']);
    expect(verdicts([9])).toEqual(['outlier']);
  });
});
