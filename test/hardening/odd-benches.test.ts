import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { predict } from '../../src/answers/predict.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { askEverything, type Tally } from './answers.ts';
import { oddBench } from './odd-benches.ts';

const bench = (files: Record<string, string>) =>
  new Map(Object.entries(files).map(([name, text]) => [name, new TextEncoder().encode(text)]));

// A short turn of what `node test/benchmarks/run.mjs fuzz-answers 1000` does at length.
describe('odd but legal benches', () => {
  it('are answered in numbers or refused with a reason', { timeout: 60_000 }, () => {
    const tally: Tally = { answered: 0, refused: 0 };
    fc.assert(
      fc.property(oddBench, (files) => askEverything(files, tally)),
      { numRuns: 40, seed: 3, endOnFailure: true },
    );
    expect(tally.answered).toBeGreaterThan(50);
    expect(tally.refused).toBeGreaterThan(50);
  });

  it('a bench of zero-load runs only says that it holds no heat', () => {
    const idle = bench({
      'bench.yaml': 'name: idle',
      'runs.csv': 'cooler,power_W,fan_rpm,source_C,ambient_C,mount\nA,0,900,22.1,22,1\nA,0,1200,22.2,22,1\n',
    });
    expect(() => predict(readBench(idle))).toThrow(/no runs with heat on the source "heater"/);
  });

  it('a fan that can stand still or is said to be none has a speed for a level all the same', () => {
    const stopped = bench({
      'bench.yaml': 'instruments: {sound_level: {background_dBA: 26}}',
      'runs.csv': 'cooler,power_W,fan_rpm,source_C,ambient_C,mount\nA,150,1500,52,22,1\nB,150,1500,55,22,1\n',
      'coolers.csv': 'cooler,fan_max_rpm,fan_min_rpm\nA,1500,0\nB,0,\n',
      'noise.csv': 'cooler,fan_rpm,sound_dBA\nA,1500,38\nB,1500,37\n',
    });
    const { predictions } = predict(readBench(stopped), { power_W: [150], sound_dBA: 35 });
    for (const one of predictions) expect(one.fan_rpm).toBeGreaterThan(300);
  });
});
