import { expect, it } from 'vitest';
import { init } from '../answers/init.ts';
import { importTable } from '../bench/import-table.ts';
import { readBench } from '../bench/read-bench.ts';
import { readDecisions } from '../months/read-decisions.ts';
import { demoBench } from './demo-bench.ts';

it('makes the same bench from the same seed', () => {
  const one = init();
  const again = init({ seed: 1 });
  for (const [name, bytes] of one) expect(again.get(name)).toEqual(bytes);
  expect(init({ seed: 2 }).get('runs.csv')).not.toEqual(one.get('runs.csv'));
});

it('holds everything that examples show, and the reader accepts it without a warning', () => {
  const { files, truth } = demoBench();
  const bench = readBench(files);
  expect(bench.warnings).toEqual([]);
  expect(bench.runs.length).toBe((10 * 2 + 2) * 5 + 2 + 3 * 2);
  expect(new Set(bench.runs.map((run) => run.session))).toEqual(new Set(['march', 'may']));
  expect(new Set(bench.runs.map((run) => run.source))).toEqual(new Set(['heater', 'Kestrel']));
  expect(bench.reference_cooler).toBe('Rowan');
  expect(bench.coolers.map((one) => one.cooler)).toContain('Merganser');
  expect(bench.heater.leak_W_per_K).toEqual({ value: 0.05, uncertainty: 0.01 });
  expect(bench.logs.length).toBe(12);
  expect(bench.flatness.length).toBe(2);
  expect(bench.noise.length).toBeGreaterThan(20);
  expect(readDecisions(new TextDecoder().decode(files.get('decisions.yaml'))).length).toBe(1);
  expect(truth.crossing_W('Siskin', 'Hornbeam')).toBeGreaterThan(180);
});

it('holds a table of another lab that imports as it is', () => {
  const made = importTable('spreadsheet.csv', init().get('spreadsheet.csv')!);
  expect(made.coolers).toEqual(['Fieldfare', 'Redwing']);
  expect(made.runs).toBe(8);
});

it('with faults: one strange mount and one typing error, named in bench.yaml', () => {
  const [whole, faulty] = [readBench(init()), readBench(init({ faults: true }))];
  const yaml = new TextDecoder().decode(init({ faults: true }).get('bench.yaml'));
  const moved = faulty.runs.filter((run, k) => run.source_C !== whole.runs[k].source_C);
  const typed = moved.filter((run) => run.cooler === 'Hornbeam');
  const strange = moved.filter((run) => run.cooler === 'Lapwing' && run.mount === '2');
  expect(typed.length).toBe(1);
  expect(strange.length).toBe(5);
  expect(moved.length).toBe(6);
  expect(yaml).toContain('mount 2 of Lapwing has too little paste');
  const before = whole.runs.find((run) => run.run === typed[0].run)!.source_C;
  expect(yaml).toContain(`run ${typed[0].run} was ${before.toFixed(1)} °C`);
  expect(yaml).toContain(`: ${typed[0].source_C.toFixed(1)}.`);
});
