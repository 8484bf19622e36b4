import { expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { demoBench, init } from './init.ts';

it('makes the same bench from the same seed', () => {
  const one = init();
  expect([...one.keys()]).toEqual(['bench.yaml', 'runs.csv', 'coolers.csv', 'noise.csv', 'README.md']);
  const again = init({ seed: 1 });
  for (const [name, bytes] of one) expect(again.get(name)).toEqual(bytes);
  expect(init({ seed: 2 }).get('runs.csv')).not.toEqual(one.get('runs.csv'));
});

it('has seven coolers, three loads at full speed and two runs without load', () => {
  const runs = new TextDecoder()
    .decode(init().get('runs.csv'))
    .trim()
    .split('\n')
    .slice(1)
    .map((line) => line.split(','));
  expect(new Set(runs.map((cells) => cells[1])).size).toBe(7);
  expect(runs.length).toBe(10 * 2 * 5 + 2);
  expect(demoBench().truth.crossing_W('Siskin', 'Hornbeam')).toBeGreaterThan(180);
});

it('is a bench that the reader accepts without a warning', () => {
  const bench = readBench(init());
  expect(bench.warnings).toEqual([]);
  expect(bench.runs.length).toBe(102);
  expect(bench.coolers.map((one) => one.cooler)).toContain('Merganser');
  expect(bench.heater.leak_W_per_K).toEqual({ value: 0.05, uncertainty: 0.01 });
});
