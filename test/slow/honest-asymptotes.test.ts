/**
 * The honesty of the asymptote on logs of known truth, with few logs and wide limits: `reduce-study.ts` among the
 * benchmarks gives the figures on many.
 */
import { describe, expect, it } from 'vitest';
import { asymptoteOf, tOverZ } from '../../src/reduction/asymptote.ts';
import { findLoadSteps, runsAmong } from '../../src/reduction/load-steps.ts';
import { scanLog } from '../../src/reduction/log-scanner.ts';
import { reduceLog } from '../../src/reduction/reduce-log.ts';
import { type LogRecipe, makeLog, randomRecipe, seeded } from '../reduction/make-logs.ts';

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
    const step = runsAmong(findLoadSteps(log))[0];
    const fit = asymptoteOf(log, step.first, step.end, log.time_s[step.first]);
    if (!fit) throw new Error(`log ${i} has no asymptote`);
    const error = fit.rise_K - made.rise_K[0];
    bias += error / logs;
    z.push(error / fit.u_K);
    if (Math.abs(error) <= fit.halfWidth_K) covered++;
    const steady = fit.within(0.1) >= 0.95;
    if ((steady && made.short_K[0] > 0.3) || (!steady && Math.abs(made.short_K[0]) < 0.03)) wrong++;
  }
  const rms = Math.sqrt(z.reduce((sum, value) => sum + value * value, 0) / logs);
  return { bias, rms, covered: covered / logs, wrong: wrong / logs };
}

describe('asymptotes of logs with known truth', () => {
  it('are unbiased with an honest uncertainty over full logs', () => {
    for (const kind of ['air', 'liquid'] as const) {
      const { bias, rms, covered, wrong } = study(kind, 100, 1, 500);
      expect(Math.abs(bias)).toBeLessThan(0.02);
      // Over 100 logs the root mean square of an honest z is within 0.8 to 1.2 with 99.5 % probability.
      expect(rms).toBeGreaterThan(0.8);
      expect(rms).toBeLessThan(1.2);
      expect(covered).toBeGreaterThanOrEqual(0.89);
      expect(wrong).toBeLessThanOrEqual(0.03);
    }
  });

  it('hold for logs cut to two fifths of their length', () => {
    for (const kind of ['air', 'liquid'] as const) {
      const { rms, covered, wrong } = study(kind, 100, 0.4, 900);
      expect(rms).toBeGreaterThan(0.75);
      expect(rms).toBeLessThan(1.25);
      expect(covered).toBeGreaterThanOrEqual(0.89);
      expect(wrong).toBeLessThanOrEqual(0.03);
    }
  });

  it('hold where the noise forgets in 20 s, in logs cut to two fifths', () => {
    for (const kind of ['air', 'liquid'] as const) {
      const { rms, covered } = study(kind, 250, 0.4, 7000, { correlation: 0.95, noise_K: 0.06 });
      expect(rms).toBeGreaterThan(0.85);
      expect(rms).toBeLessThan(1.15);
      expect(covered).toBeGreaterThanOrEqual(0.92);
    }
  });

  it('hold in a restless room', () => {
    const restless = { wander_K: 0.5, wander_s: 400 };
    for (const kind of ['air', 'liquid'] as const) {
      const { rms, covered } = study(kind, 250, 1, 8000, restless);
      expect(rms).toBeGreaterThan(0.75);
      expect(rms).toBeLessThan(1.17);
      expect(covered).toBeGreaterThanOrEqual(0.9);
    }
  });

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
