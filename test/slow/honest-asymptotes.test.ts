/**
 * The honesty of the asymptote on logs of known truth, with few logs and wide limits: `reduce-study.ts` among the
 * benchmarks gives the figures on many.
 */
import { describe, expect, it } from 'vitest';
import { scanLog } from '../../src/logs/log-scanner.ts';
import { reduce } from '../../src/logs/reduce.ts';
import { reduceLog } from '../../src/logs/reduce-log.ts';
import { tOverZ } from '../../src/numerics/degrees-of-freedom.ts';
import { benchOfLogs } from '../logs/bench-of-logs.ts';
import { type LogRecipe, makeLog, randomRecipe, seeded } from '../logs/make-logs.ts';
import { type OutsideRecipe, outsideBench, outsideCooler, outsideLog } from '../logs/outside-logs.ts';

function study(
  kind: 'air' | 'liquid',
  logs: number,
  keep: number,
  seed: number,
  variant: Partial<LogRecipe> = {},
) {
  const z: number[] = [];
  let bias = 0;
  let covered = 0;
  let wrong = 0;
  for (let i = 0; i < logs; i++) {
    const recipe = { ...randomRecipe(seeded(seed + i), kind, 1800), ...variant };
    const made = makeLog(recipe, seeded(seed * 31 + i), keep);
    const log = scanLog('made.csv', new TextEncoder().encode(made.csv));
    const [run] = reduceLog(log, { setpoint_C: 22, tolerance_K: 1 }, { early_stop_K: 0 });
    const { steady } = run;
    const error = run.rise_K! - made.rise_K[0];
    bias += error / logs;
    z.push(error / run.u_K!);
    if (Math.abs(error) <= 1.96 * run.u_K!) covered++;
    if ((steady && made.short_K[0] > 0.3) || (!steady && Math.abs(made.short_K[0]) < 0.03)) wrong++;
  }
  const rms = Math.sqrt(z.reduce((sum, value) => sum + value * value, 0) / logs);
  return { bias, rms, covered: covered / logs, wrong: wrong / logs };
}

/** Logs of one bench, reduced together. */
function together(
  recipe: OutsideRecipe,
  kind: Parameters<typeof outsideCooler>[1],
  lengths: readonly number[],
  of: number,
  seed: number,
) {
  const made = lengths.flatMap((seconds) =>
    Array.from({ length: of }, (_, i) => {
      const own = seed + 7919 * i + seconds;
      return outsideLog(`l${seconds}-${i}.csv`, outsideCooler(seeded(own), kind), seconds, recipe, own + 1);
    }),
  );
  const bench = benchOfLogs(Object.fromEntries(made.map(({ name, csv }) => [name, csv])));
  const result = reduce(bench, { early_stop_K: 0 });
  return { made, result, errors: result.runs.map(({ rise_K }, i) => rise_K! - made[i].rise_K) };
}

describe('asymptotes of logs with known truth, each alone', () => {
  it('are unbiased and nowhere too sure over full logs', () => {
    for (const kind of ['air', 'liquid'] as const) {
      const { bias, rms, covered, wrong } = study(kind, 40, 1, 500);
      expect(Math.abs(bias)).toBeLessThan(0.02);
      expect(rms).toBeLessThan(1.1);
      expect(covered).toBeGreaterThanOrEqual(0.93);
      expect(wrong).toBeLessThanOrEqual(0.03);
    }
  });

  it('hold for logs cut to two fifths of their length', () => {
    for (const kind of ['air', 'liquid'] as const) {
      const { rms, covered, wrong } = study(kind, 40, 0.4, 900);
      expect(rms).toBeLessThan(1.1);
      expect(covered).toBeGreaterThanOrEqual(0.93);
      expect(wrong).toBeLessThanOrEqual(0.03);
    }
  });

  it('hold where the noise forgets in 20 s, and in a restless room', () => {
    const noisy = study('air', 40, 0.4, 7000, { correlation: 0.95, noise_K: 0.06 });
    const restless = study('liquid', 40, 1, 8000, { wander_K: 0.5, wander_s: 400 });
    for (const { rms, covered } of [noisy, restless]) {
      expect(rms).toBeLessThan(1.15);
      expect(covered).toBeGreaterThanOrEqual(0.92);
    }
  });
});

describe('asymptotes of the logs of one bench', () => {
  it('lend what the long ones tell of noise and air to the short ones', () => {
    const { result, errors } = together(outsideBench, 'heavy', [700, 1500, 2700], 10, 1);
    const { noise, air } = result.readings;
    expect([noise.measured, air.measured, air.law]).toEqual([true, true, 'at once']);
    // 0.04 K that forgets in 200 s: means over ten minutes scatter by 0.027 K.
    expect(noise.ten_minutes_K).toBeGreaterThan(0.019);
    expect(noise.ten_minutes_K).toBeLessThan(0.038);
    for (const part of [0, 10, 20]) {
      const z = errors.slice(part, part + 10).map((error, i) => error / result.runs[part + i].u_K!);
      const rms = Math.sqrt(z.reduce((sum, value) => sum + value * value, 0) / z.length);
      expect(rms).toBeLessThan(1.6);
      expect(rms).toBeGreaterThan(0.35);
    }
    expect(result.runs.filter(({ usable }) => usable).length).toBeGreaterThanOrEqual(25);
  });

  it('say what is assumed where all are short', () => {
    const { result, errors } = together(outsideBench, 'heavy', [700], 3, 4);
    expect(result.readings.noise.measured).toBe(false);
    errors.forEach((error, i) => {
      expect(Math.abs(error)).toBeLessThan(3 * result.runs[i].u_K!);
    });
  });
});

describe('asymptotes of logs', () => {
  it('could have stopped where it says: the log up to then gives the rise within 0.2 K', () => {
    let within = 0;
    let stopped = 0;
    for (let i = 0; i < 60; i++) {
      const recipe = { ...randomRecipe(seeded(3000 + i), i % 2 ? 'air' : 'liquid', 1800), idle_s: 0 };
      const made = makeLog(recipe, seeded(4000 + i));
      const room = { setpoint_C: 22, tolerance_K: 1 };
      const text = (rows: number) =>
        new TextEncoder().encode(
          made.csv
            .split('\n')
            .slice(0, rows + 1)
            .join('\n'),
        );
      const [run] = reduceLog(scanLog('made.csv', text(1800)), room);
      if (run.early_stop_s === null) continue;
      stopped++;
      const rows = made.csv.split('\n').findIndex((line) => Number.parseFloat(line) > run.early_stop_s!);
      const [short] = reduceLog(scanLog('made.csv', text(rows < 0 ? 1800 : rows - 1)), room);
      if (Math.abs(short.rise_K! - made.rise_K[0]) <= 0.2) within++;
    }
    expect(stopped).toBeGreaterThan(50);
    expect(within / stopped).toBeGreaterThanOrEqual(0.88);
  });

  it('are stretched by t over z', () => {
    // Source: printed tables of Student's t at 97.5 % (NIST/SEMATECH handbook, 1.3.6.7.2; from memory).
    for (const [freedom, t] of [
      [4, 2.776],
      [6, 2.447],
      [8, 2.306],
      [12, 2.179],
      [29, 2.045],
    ])
      expect(Math.abs(tOverZ(freedom) / (t / 1.95996) - 1)).toBeLessThan(0.003);
    expect(tOverZ(Infinity)).toBe(1);
  });
});
