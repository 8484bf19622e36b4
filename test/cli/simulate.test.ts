import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { SimulateResult } from '../../src/answers/simulate.ts';
import { elementsOf, RESISTANCE, writeLogsBench } from './logs-bench.ts';
import { type Ended, heatladder, temporaryFolder } from './run-cli.ts';

const folder = temporaryFolder();
const call = (...args: string[]): Promise<Ended> => heatladder(args, folder.path);
const inside = (...parts: string[]): string => join(folder.path, ...parts);
const profile = 'time_min,power_W\n0,200\n8,80\n20,160\n';

beforeAll(() => {
  writeLogsBench(inside('raw'));
  writeFileSync(inside('steps.csv'), profile);
});
afterAll(folder.remove);

async function simulate(...args: string[]): Promise<SimulateResult> {
  const ended = await call('simulate', ...args, '--profile', 'steps.csv', '--json');
  expect(ended.stderr).not.toContain('    at ');
  expect(ended.status, ended.stderr).toBe(0);
  return JSON.parse(ended.stdout) as SimulateResult;
}

/** Rise of the true ladder after a step of one watt, K: its exponentials written out. */
function trueStep(resistance: number, seconds: number): number {
  if (seconds <= 0) return 0;
  return elementsOf(resistance).reduce(
    (sum, { resistance_K_per_W, time_s }) => sum + resistance_K_per_W * (1 - Math.exp(-seconds / time_s)),
    0,
  );
}

describe('simulate', () => {
  it('follows the true ladder through a profile, straight from raw logs', async () => {
    const { time_s, source_C, power_W, peak_C, peak_s, resistance_from, ambient_C } = await simulate(
      'raw',
      '--cooler',
      'Heron',
    );
    expect(resistance_from).toBe('models');
    expect(ambient_C).toBe(22);
    expect(source_C).toHaveLength(time_s.length);
    time_s.forEach((t, i) => {
      // Superposition of the steps of the load, by hand.
      const truth =
        200 * trueStep(RESISTANCE.Heron, t) -
        120 * trueStep(RESISTANCE.Heron, t - 480) +
        80 * trueStep(RESISTANCE.Heron, t - 1200);
      // The two fittings of Heron differ by 2.5 % of its resistance.
      expect(Math.abs(source_C[i] - 22 - truth)).toBeLessThan(0.02 * truth + 0.3);
      expect(power_W[i]).toBe(t < 480 ? 200 : t < 1200 ? 80 : 160);
    });
    expect(peak_s).toBe(480);
    expect(peak_C).toBe(Math.max(...source_C));
  });

  it('says when the limit is met, and how long the greatest load could be held', async () => {
    const { limit } = await simulate('raw', '--cooler', 'Sedge', '--ambient', '30');
    // 40 K of the 48 K that 200 W come to.
    let [low, high] = [0, 480];
    for (let k = 0; k < 50; k++) {
      const middle = (low + high) / 2;
      if (200 * trueStep(RESISTANCE.Sedge, middle) < 40) low = middle;
      else high = middle;
    }
    expect(limit?.limit_C).toBe(70);
    expect(Math.abs((limit?.reached_s as number) / low - 1)).toBeLessThan(0.05);
    expect(Math.abs((limit?.held.seconds as number) / (limit?.reached_s as number) - 1)).toBeLessThan(0.02);
    expect((await simulate('raw', '--cooler', 'Heron')).limit).toEqual({
      limit_C: 70,
      reached_s: null,
      held: { power_W: 200, fan_rpm: expect.closeTo(1200, -1), seconds: null },
    });
  });

  it('answers the same from runs.csv, and says what is beyond the runs', async () => {
    expect((await call('reduce', 'raw')).status).toBe(0);
    const { time_s, source_C, notes } = await simulate('raw', '--cooler', 'Reed', '--interval', '60');
    expect(time_s.slice(0, 3)).toEqual([0, 60, 120]);
    expect(notes).toEqual([]);
    rmSync(inside('raw', 'runs.csv'));
    const again = await simulate('raw', '--cooler', 'Reed', '--interval', '60');
    expect(again.source_C).toEqual(source_C);
    writeFileSync(inside('hot.csv'), 'time_s,power_W,fan_rpm\n0,290,1200\n600,0,\n');
    const hot = await call('simulate', 'raw', '--cooler', 'Reed', '--profile', 'hot.csv');
    expect(hot.stdout).toContain('Note: beyond the loads or speeds run on Reed');
  });

  it('prints a short table, the peak and the limit within 80 columns', async () => {
    const { stdout, status } = await call('simulate', 'raw', '--cooler', 'Heron', '--profile', 'steps.csv');
    expect(status).toBe(0);
    expect(stdout).toMatch(/^Heron on heater, from 22 °C\n/);
    expect(stdout).toMatch(/Peak: 5\d\.\d °C at 480 s\./);
    expect(stdout).toContain("The profile stays below the heater's limit of 70 °C.");
    expect(stdout.split('\n').length).toBeLessThan(40);
    for (const line of stdout.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
  });

  it.each([
    [['--cooler', 'Heron'], /^--profile: the file is missing; /],
    [['--cooler', 'Heron', '--profile', 'none.csv'], /^--profile: there is no file "none\.csv"; /],
    [['--profile', 'steps.csv'], /^--cooler: the cooler is missing; /],
    [['--profile', 'steps.csv', '--cooler', 'Heron,Reed'], /^--cooler: 2 names are given; /],
    [['--profile', 'steps.csv', '--cooler', 'Herno'], /^--cooler: no cooler "Herno".*"Heron"/],
    [['--profile', 'steps.csv', '--cooler', 'Reed', '--interval', '0'], /^--interval: "0" is not a time; /],
    [['--profile', 'bad.csv', '--cooler', 'Reed'], /^bad\.csv:3:1: the time 0 s does not come after/],
  ])('refuses %j in one line', async (args, message) => {
    writeFileSync(inside('bad.csv'), 'time_s,power_W\n0,200\n0,100\n');
    const ended = await call('simulate', 'raw', ...args);
    expect(ended.stdout).toBe('');
    expect(ended.stderr).toMatch(message);
    expect(ended.stderr).toMatch(/^[^\n]+\n$/);
    expect(ended.status).toBe(2);
  });

  it('says what is missing where the cooler has no log', async () => {
    expect((await call('init', 'demo')).status).toBe(0);
    rmSync(inside('demo', 'logs.csv'));
    const ended = await call('simulate', 'demo', '--cooler', 'Siskin', '--profile', 'steps.csv');
    expect(ended.stderr).toMatch(/^logs\.csv:1:1: no log of cooler Siskin on heater; [^\n]*\n$/);
    expect(ended.status).toBe(2);
  });
});
