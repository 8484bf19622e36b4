import { describe, expect, it } from 'vitest';
import { benchOfLogs } from '../../test/logs/bench-of-logs.ts';
import { type LogRecipe, makeLog, seeded } from '../../test/logs/make-logs.ts';
import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { fitNetwork, networkAtSpeed } from './fit-network.ts';
import { stepResponse, totalResistance } from './foster.ts';
import { simulateNetwork } from './load-profile.ts';

const elements = [
  { resistance_K_per_W: 0.06, time_s: 9 },
  { resistance_K_per_W: 0.14, time_s: 130 },
];
const recipe: LogRecipe = {
  loads: [{ power_W: 200, fan_rpm: 1500, seconds: 1500 }],
  elements,
  interval_s: 1,
  noise_K: 0.03,
  correlation: 0.4,
  ambient_C: 22,
  wander_K: 0.1,
  wander_s: 600,
  ambientNoise_K: 0.01,
  powerNoise_W: 0.1,
  rounding_K: 0.01,
  ambientRounding_K: 0.01,
  idle_s: 60,
};

const benchOf = (logs: string[]): Bench =>
  benchOfLogs(Object.fromEntries(logs.map((csv, i) => [`${i}.csv`, csv])));

const slowFan = [elements[0], { resistance_K_per_W: 0.2, time_s: 185 }];
const bench = benchOf([
  makeLog(recipe, seeded(1)).csv,
  makeLog({ ...recipe, loads: [{ power_W: 120, fan_rpm: 1500, seconds: 1500 }] }, seeded(2)).csv,
  makeLog({ ...recipe, elements: slowFan, loads: [{ power_W: 120, fan_rpm: 800, seconds: 1800 }] }, seeded(3))
    .csv,
]);

describe('the network of a cooler', () => {
  it('of a cooler owes nothing to logs without load', () => {
    const idle = makeLog({ ...recipe, loads: [{ power_W: 0, fan_rpm: 1500, seconds: 900 }] }, seeded(4)).csv;
    const loaded = makeLog(recipe, seeded(1)).csv;
    const [both, alone] = [[idle, loaded], [loaded]].map((logs) => fitNetwork(benchOf(logs), 'Siskin'));
    expect(both.responses).toBe(1);
    // The idle log tells of the noise, and with that the last digits move.
    both.foster.forEach(({ resistance_K_per_W, time_s }, i) => {
      expect(resistance_K_per_W).toBeCloseTo(alone.foster[i].resistance_K_per_W, 3);
      expect(time_s / alone.foster[i].time_s).toBeCloseTo(1, 2);
    });
    expect(() => fitNetwork(benchOf([idle]), 'Siskin')).toThrow(BenchError);
  });

  it('is found from its step responses', () => {
    const network = fitNetwork(bench, 'Siskin');
    expect(network.responses).toBe(2);
    expect(network.fan_rpm).toBeCloseTo(1500, -1);
    expect(totalResistance(network.foster)).toBeCloseTo(0.2, 3);
    const slow = network.foster.at(-1)!;
    expect(slow.time_s).toBeGreaterThan(125);
    expect(slow.time_s).toBeLessThan(135);
    expect(slow.resistance_K_per_W).toBeCloseTo(0.14, 2);
    expect(network.speeds.map((speed) => Math.round(speed.fan_rpm / 100))).toEqual([8, 15]);
  });

  it('changes its air side only with the speed of the fan', () => {
    const network = fitNetwork(bench, 'Siskin');
    const slower = networkAtSpeed(network, 800);
    expect(totalResistance(slower)).toBeCloseTo(0.26, 3);
    expect(slower[0]).toEqual(network.cauer[0]);
    expect(
      networkAtSpeed(network, 1500, 0.3).reduce((sum, rung) => sum + rung.resistance_K_per_W, 0),
    ).toBeCloseTo(0.3, 12);
    expect(totalResistance(networkAtSpeed(network, 2500))).toBeLessThan(0.2);
  });

  it('needs a log and says so', () => {
    expect(() => fitNetwork(bench, 'Rowan')).toThrow(BenchError);
    expect(() => fitNetwork(bench, 'Rowan')).toThrow(/no log of cooler Rowan on heater/);
  });
});

describe('simulating a load profile', () => {
  const profile = [
    { time_s: 0, power_W: 200 },
    { time_s: 300, power_W: 50 },
    { time_s: 500, power_W: 250 },
  ];

  it('follows the truth behind the logs', () => {
    const result = simulateNetwork(bench, { cooler: 'Siskin', profile, interval_s: 10 });
    // Superposed: each step of the load starts a response of its own.
    const truth = result.time_s.map((t) =>
      profile.reduce((sum, { time_s, power_W }, i) => {
        const step_W = power_W - (i > 0 ? profile[i - 1].power_W : 0);
        return t > time_s ? sum + step_W * stepResponse(elements, t - time_s) : sum;
      }, 0),
    );
    result.source_C.forEach((value, i) => {
      expect(Math.abs(value - 22 - truth[i])).toBeLessThan(0.15);
    });
    expect(result.power_W[result.time_s.indexOf(300)]).toBe(50);
    expect(result.peak_s).toBe(result.time_s.at(-1));
  });

  it('lets the source warm up slowly when the fan slows down', () => {
    const slowed = simulateNetwork(bench, {
      cooler: 'Siskin',
      profile: [
        { time_s: 0, power_W: 120 },
        { time_s: 2000, power_W: 120, fan_rpm: 800 },
      ],
      after_s: 3000,
    });
    const at = (t: number) => slowed.source_C[slowed.time_s.findIndex((value) => value >= t)];
    expect(at(2000) - 22).toBeCloseTo(24, 0);
    expect(at(2010) - at(2000)).toBeLessThan(0.5);
    expect(slowed.source_C.at(-1)! - 22).toBeCloseTo(0.26 * 120, 0);
  });

  it('refuses profiles that cannot be', () => {
    const run = (rows: { time_s: number; power_W: number; fan_rpm?: number }[]) => () =>
      simulateNetwork(bench, { cooler: 'Siskin', profile: rows });
    expect(run([])).toThrow(/no rows/);
    expect(
      run([
        { time_s: 0, power_W: 1 },
        { time_s: 0, power_W: 2 },
      ]),
    ).toThrow(/row 2: time_s 0 does not come after 0/);
    expect(run([{ time_s: 0, power_W: -1 }])).toThrow(/row 1: power_W is -1/);
    expect(run([{ time_s: 0, power_W: 1, fan_rpm: 0 }])).toThrow(/fan_rpm is 0/);
  });
});
