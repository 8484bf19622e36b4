import { describe, expect, it } from 'vitest';
import type { Run } from '../bench/bench.ts';
import { cautionsByRun, climbTo, together, withClimbs } from './on-sheet.ts';
import type { PlanRun } from './planned.ts';

const run = (cooler: string, power_W: number): PlanRun => ({
  order: 0,
  source: 'heater',
  cooler,
  sample: '1',
  power_W,
  fan_rpm: 1200,
  remount: true,
  minutes: 45,
  gain: 0,
  purpose: 'question',
  method: null,
  climb_W: [],
});

describe('a run sheet', () => {
  it('climbs by no more than a tenth to a load that was never run', () => {
    expect(climbTo(150, 165)).toEqual([]);
    expect(climbTo(180, 165)).toEqual([]);
    for (const [to, from] of [
      [240, 165],
      [300, 100],
    ]) {
      const loads = [from, ...climbTo(to, from), to];
      for (let k = 1; k < loads.length; k++) expect(loads[k] / loads[k - 1]).toBeLessThan(1.11);
    }
    expect(climbTo(200, 0)[0]).toBe(50);
  });

  it('climbs from what was run on this source, and what the sheet itself has run by then', () => {
    const runs = [
      { cooler: 'Heron', source: 'heater', power_W: 150 },
      { cooler: 'Heron', source: 'chip', power_W: 400 },
    ] as Run[];
    const sheet = withClimbs({ runs }, [run('Heron', 200), run('Heron', 205), run('Heron', 150)], () => 10);
    expect(sheet.map(({ climb_W }) => climb_W.length)).toEqual([3, 0, 0]);
    expect(sheet.map(({ order }) => order)).toEqual([1, 2, 3]);
    expect(sheet.map(({ minutes }) => minutes)).toEqual([45 + 30, 45, 45]);
  });

  it('never takes a sample off and puts it back', () => {
    const visit = (cooler: number, sample: string) => ({ cooler, sample });
    const visits = [visit(0, '1'), visit(1, '1'), visit(0, '2'), visit(0, '1'), visit(1, '1')];
    expect(together(visits).map(({ cooler, sample }) => `${cooler}/${sample}`)).toEqual([
      '0/1',
      '0/1',
      '0/2',
      '1/1',
      '1/1',
    ]);
  });

  it('has each warning at the run that it is of, and what holds for all at the first', () => {
    const runs = [run('Heron', 200), run('Reed', 150), run('Reed', 220)].map((one, k) => ({
      ...one,
      order: k + 1,
    }));
    const warnings = [
      'Reed at 220 W may pass its limit',
      'Reed has one mount',
      'the room is warm',
      'the room is warm',
    ];
    expect([...cautionsByRun({ runs, warnings, safety: ['guards'] }).values()]).toEqual([
      ['guards', 'the room is warm'],
      ['Reed has one mount'],
      ['Reed at 220 W may pass its limit'],
    ]);
  });
});
