import { describe, expect, it } from 'vitest';
import { normalFrom, seeded } from '../../test/logs/make-logs.ts';
import { type FindingKind, Findings } from './findings.ts';
import type { LoggedRow } from './log-blocks.ts';
import { PlanAtHand } from './plan-at-hand.ts';
import { StuckSensor } from './stuck-sensor.ts';

const usual = { source_C: 45, ambient_C: 22, power_W: 150, fan_rpm: 1200, pump_rpm: 2600, dropouts: 0 };

/** What is found at the end of some rows a second apart. */
function found(rows: number, at: (t: number) => Partial<LoggedRow>, begin?: number): FindingKind[] {
  const findings = new Findings({ ambient: { setpoint_C: 22, tolerance_K: 1 } });
  if (begin !== undefined) findings.begin(0, begin, 150);
  for (let t = 0; t < rows; t++)
    findings.take({ ...usual, source_C: 45 + 0.01 * (t % 7), rows: t + 1, own_s: t, time_s: t, ...at(t) });
  return findings.all.map(({ what }) => what);
}

describe('what may be wrong while a run is logged', () => {
  it('is nothing on a healthy run', () => {
    expect(found(600, () => ({}))).toEqual([]);
  });

  it.each<[FindingKind, (t: number) => Partial<LoggedRow>]>([
    ['no load', (t) => (t > 300 ? { power_W: 0.2 } : {})],
    ['fan stopped', (t) => (t > 300 ? { fan_rpm: 0 } : {})],
    ['pump stopped', (t) => (t > 300 ? { pump_rpm: 0 } : {})],
    ['room', (t) => (t > 300 ? { ambient_C: 23.4 } : {})],
    ['no reading', (t) => (t > 300 ? { dropouts: t - 300 } : {})],
  ])('is told: %s', (what, at) => {
    expect(found(600, at)).toContain(what);
    expect(found(304, at)).not.toContain('fan stopped');
    // A signal that returns is no finding.
    expect(found(600, (t) => (t > 300 && t < 305 ? at(t) : {}))).not.toContain(what);
  });

  it('is told where a load brings no response, or the sensor hangs in the air', () => {
    expect(found(90, (t) => ({ source_C: 22 + 0.01 * (t % 5) }), 22)).toContain('no response');
    expect(found(90, (t) => ({ source_C: 22 + 0.1 * t }), 22)).not.toContain('no response');
  });
});

describe('a sensor that stands still', () => {
  const stuckAt = (readings: number[], foreseen?: (t: number) => number) => {
    const sensor = new StuckSensor();
    return readings.findIndex((value, t) => sensor.take(t, value, foreseen) !== undefined);
  };
  const noisy = (sigma: number, step: number, seed: number) => {
    const normal = normalFrom(seeded(seed));
    return Array.from({ length: 2000 }, () => Math.round((45 + sigma * normal()) / step) * step);
  };

  it('is told by the noise that it had', () => {
    const readings = noisy(0.05, 0.01, 1).slice(0, 300);
    expect(stuckAt(readings)).toBe(-1);
    expect(stuckAt([...readings, ...new Array(200).fill(readings[299])])).toBeGreaterThan(300);
  });

  it('is told by a response that should go on', () => {
    const rising = (t: number) => 22 + 30 * (1 - Math.exp(-t / 200));
    const readings = Array.from({ length: 300 }, (_, t) => Math.round(10 * rising(Math.min(t, 150))) / 10);
    expect(stuckAt(readings, rising)).toBeGreaterThan(160);
    expect(
      stuckAt(
        Array.from({ length: 300 }, (_, t) => Math.round(10 * rising(t)) / 10),
        rising,
      ),
    ).toBe(-1);
  });

  it('is not told of a steady reading, rounded coarsely or not', () => {
    for (let seed = 1; seed <= 20; seed++)
      for (const [sigma, step] of [
        [0.03, 0.1],
        [0.01, 0.1],
        [0.06, 0.1],
        [0.05, 0.01],
      ])
        expect(stuckAt(noisy(sigma, step, seed), () => 45)).toBe(-1);
  });
});

describe('a plan at the bench', () => {
  const runs = [
    { cooler: 'Rowan', power_W: 95, remount: true },
    { cooler: 'Rowan', power_W: 165, remount: false },
    { cooler: 'Siskin', power_W: 165, remount: true },
  ];

  it('names the run in progress by its load, and the next', () => {
    const plan = new PlanAtHand(runs);
    expect([plan.present, plan.next?.order]).toEqual([undefined, 1]);
    expect(plan.begin(95.2, 1200, true)).toBe(true);
    expect([plan.present?.order, plan.next?.order]).toEqual([1, 2]);
    expect(plan.begin(164.8, 1200, false)).toBe(true);
    expect([plan.present?.order, plan.next?.cooler]).toEqual([2, 'Siskin']);
    expect(plan.begin(165, 1200, true)).toBe(true);
    expect([plan.present?.order, plan.next]).toEqual([3, undefined]);
    expect(plan.begin(95, 1200, true)).toBe(false);
  });

  it('knows the cooler where the log is in the index', () => {
    const plan = new PlanAtHand(runs);
    plan.begin(165, 1200, true, 'Siskin');
    expect(plan.present?.order).toBe(3);
  });
});
