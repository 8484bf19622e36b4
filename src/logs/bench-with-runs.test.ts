import { describe, expect, it } from 'vitest';
import { type LogRecipe, makeLog, seeded } from '../../test/logs/make-logs.ts';
import { readBench } from '../bench/read-bench.ts';
import { benchWithRuns } from './bench-with-runs.ts';

const recipe: LogRecipe = {
  loads: [{ power_W: 200, seconds: 900 }],
  elements: [
    { resistance_K_per_W: 0.06, time_s: 10 },
    { resistance_K_per_W: 0.14, time_s: 100 },
  ],
  interval_s: 1,
  noise_K: 0.04,
  correlation: 0.5,
  ambient_C: 22,
  wander_K: 0.1,
  wander_s: 600,
  ambientNoise_K: 0.02,
  powerNoise_W: 0.1,
  rounding_K: 0.01,
  ambientRounding_K: 0.01,
};

function benchFrom(files: Record<string, string>) {
  const bytes = Object.entries(files).map(([name, text]): [string, Uint8Array] => [
    name,
    new TextEncoder().encode(text),
  ]);
  return readBench(new Map(bytes));
}

const yaml = 'name: attic\n';
const index = 'run,cooler,sample,mount,log\nr1,Siskin,1,a,one.csv\nr2,Siskin,1,b,two.csv\n';
const good = makeLog(recipe, seeded(1)).csv;
const short = makeLog({ ...recipe, loads: [{ power_W: 200, seconds: 70 }] }, seeded(2)).csv;
const idle = makeLog({ ...recipe, loads: [{ power_W: 0, fan_rpm: -0.4, seconds: 600 }] }, seeded(3)).csv;

describe('a bench of logs', () => {
  it('gets the usable runs of its logs, and the fan speeds that they show', () => {
    const bench = benchFrom({
      'bench.yaml': yaml,
      'logs.csv': index,
      'logs/one.csv': good,
      'logs/two.csv': short,
    });
    expect(bench.coolers[0].fan_max_rpm).toBe(0);
    const reduced = benchWithRuns(bench);
    expect(reduced.runs.map((run) => run.run)).toEqual(['r1']);
    expect(reduced.runs[0].source_C - reduced.runs[0].ambient_C).toBeCloseTo(40, 1);
    expect(reduced.coolers[0].fan_max_rpm).toBe(reduced.runs[0].fan_rpm);
    expect(Math.abs(reduced.coolers[0].fan_max_rpm - 1200)).toBeLessThan(2);
    expect(reduced.warnings.join()).toMatch(/1 of 2 runs from the logs is left out.*: r2; reduce gives the/);
    expect(benchWithRuns(bench)).toBe(reduced);
    expect(benchWithRuns(reduced)).toBe(reduced);
    expect(bench.runs).toEqual([]);
  });

  it('keeps a stated greatest speed, and knows a run without load as one', () => {
    const reduced = benchWithRuns(
      benchFrom({
        'bench.yaml': yaml,
        'coolers.csv': 'cooler,fan_max_rpm\nSiskin,1500\n',
        'logs.csv': index,
        'logs/one.csv': good,
        'logs/two.csv': idle,
      }),
    );
    expect(reduced.coolers[0].fan_max_rpm).toBe(1500);
    expect(reduced.runs.map((run) => [run.run, Math.round(run.power_W)])).toEqual([
      ['r1', 200],
      ['r2', 0],
    ]);
    // Both meters read a little beside zero.
    expect([reduced.runs[1].power_W, reduced.runs[1].fan_rpm]).toEqual([0, 0]);
  });

  it('with runs is left as it is', () => {
    const bench = benchFrom({
      'bench.yaml': yaml,
      'runs.csv': 'cooler,mount,power_W,fan_rpm,source_C,ambient_C\nRowan,1,100,900,40,22\n',
      'logs.csv': index,
      'logs/one.csv': good,
      'logs/two.csv': 'not a log\n',
    });
    expect(benchWithRuns(bench)).toBe(bench);
  });

  it('is refused in one sentence where no log is of use', () => {
    const bench = benchFrom({
      'bench.yaml': yaml,
      'logs.csv': index,
      'logs/one.csv': short,
      'logs/two.csv': short,
    });
    expect(() => benchWithRuns(bench)).toThrow(
      /^logs\.csv:2:1: none of the 2 logs gives a run whose steady rise is known within 0\.3 K; run r1: /,
    );
  });

  it.each([
    ['source_C', 'source_F', undefined],
    [
      'fan_rpm',
      'fan_rpm',
      /^logs\/two\.csv:1:1: the mean fan_rpm of run r2 is -1[\d.]+; 0 to 1000000 is accepted/,
    ],
    [
      'power_W',
      'power_W',
      /^logs\/two\.csv:1:1: the mean power_W of run r2 is -[\d.]+; 0 to 1000000 is accepted/,
    ],
  ])('has no run that runs.csv would not take: %s', (column, name, message) => {
    const k = good.split('\n')[0].split(',').indexOf(column);
    const lines = good
      .trim()
      .split('\n')
      .map((line) => line.split(','));
    const negative = lines.map((cells, i) =>
      cells
        .map((cell, j) => (j !== k ? cell : i === 0 ? name : message ? String(-Number(cell)) : cell))
        .join(','),
    );
    const bench = benchFrom({
      'bench.yaml': yaml,
      'logs.csv': index,
      'logs/one.csv': good,
      'logs/two.csv': `${negative.join('\n')}\n`,
    });
    expect(() => benchWithRuns(bench)).toThrow(
      message ?? /^logs\/two\.csv:1:1: the source of run r2 settles/,
    );
  });

  it('is refused where a source settles below ambient', () => {
    const swapped = good.replace('source_C,ambient_C', 'ambient_C,source_C');
    const bench = benchFrom({
      'bench.yaml': yaml,
      'logs.csv': index,
      'logs/one.csv': good,
      'logs/two.csv': swapped,
    });
    expect(() => benchWithRuns(bench)).toThrow(
      /^logs\/two\.csv:1:1: the source of run r2 (settles|ends) [2-4]\d\.\d K below ambient, more than the \d+\.\d K/,
    );
  });
});
