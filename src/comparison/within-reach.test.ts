import { expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { compare, predict } from '../commands.ts';
import { compareTables } from '../tables/compare-tables.ts';
import { predictTables } from '../tables/predict-tables.ts';

/** Two coolers that read the same, run up to 200 W at 0.3 K/W: 82 °C. */
const bench = (heater: string) => {
  const rows = ['A', 'B'].flatMap((cooler) =>
    [60, 130, 200].flatMap((P) =>
      [1, 2].map((m) => `${cooler},${m},${P},1500,${22 + P * (0.3 + 0.002 * m)},22`),
    ),
  );
  return readBench(
    new Map(
      Object.entries({
        'bench.yaml': `name: a\nheater: ${heater}`,
        'coolers.csv': 'cooler,kind\nA,liquid\nB,liquid',
        'runs.csv': ['cooler,mount,power_W,fan_rpm,source_C,ambient_C', ...rows].join('\n'),
      }).map(([name, text]): [string, Uint8Array] => [name, new TextEncoder().encode(text)]),
    ),
  );
};
const limited = bench('{power_max_W: 350, temperature_limit_C: 95}');
const free = bench('{}');

const entry = (power_W: number, more = {}, of = limited) =>
  compare(of, { power_W: [power_W], ...more }).loads[0].order[0];

it('a row says where its estimate passes the limit of the source, and where its load is more than the supply gives', () => {
  expect(entry(200)).toMatchObject({ within_reach: true, above_limit: false, notes: [] });
  const [hot] = entry(300).notes;
  expect(hot).toMatch(/^above the heater's limit: 11\d(\.\d)? °C against 95 °C$/);
  expect(entry(360).notes[1]).toBe('above what the heater gives: 360 W against 350 W');
  expect(entry(300, {}, free)).toMatchObject({ within_reach: true, above_limit: false, notes: [] });
  // Twice the greatest load run.
  expect(entry(401, {}, free).within_reach).toBe(false);
  const [p] = predict(limited, { power_W: [360] }).predictions;
  expect(p).toMatchObject({ above_limit: true, notes: expect.arrayContaining(entry(360).notes) });
});

it('a warm room or inlet takes from what may be run', () => {
  expect(entry(220).within_reach).toBe(true);
  expect(entry(220, { ambient_C: 35 })).toMatchObject({ within_reach: false, above_limit: true });
  expect(entry(220, { inlet_rise_K: 13 })).toMatchObject({ within_reach: false, above_limit: true });
});

it('no run is proposed at a load that the source may not take', () => {
  const beyond = compare(limited, { power_W: [300] });
  expect(beyond.pairs[0].verdict).toMatch(/a tie at 300 W\. No run is proposed there/);
  expect(compareTables(beyond)).not.toMatch(/fresh run|would resolve/);
  expect(compareTables(compare(free, { power_W: [300] }))).toMatch(/fresh run|would resolve/);
  // Of several loads the advice is for those within reach.
  const verdict = compare(limited, { power_W: [250, 300, 350] }).pairs[0].verdict;
  for (const [, watts] of verdict
    .split('. ')
    .slice(1)
    .join()
    .matchAll(/at (\d+) W/g)) {
    expect(Number(watts) * 0.303 + 22).toBeLessThan(96);
  }
});

it('tables mark such rows and say what the mark means', () => {
  for (const text of [
    compareTables(compare(limited, { power_W: [150, 300] })),
    predictTables(predict(limited, { power_W: [150, 300] })),
  ]) {
    expect(text).toMatch(/A .*\d\*!/);
    expect(text.match(/^! above the limit of the source/gm)).toHaveLength(1);
  }
  expect(compareTables(compare(limited, { power_W: [100, 150] }))).not.toContain('!');
});
