import { expect, it } from 'vitest';
import { compare, compareTables } from '../answers/compare.ts';
import { predict, predictTables } from '../answers/predict.ts';
import { readBench } from '../bench/read-bench.ts';

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
  expect(compareTables(beyond)).not.toMatch(/fresh\s+run|would\s+resolve/);
  expect(compareTables(compare(free, { power_W: [300] }))).toMatch(/fresh\s+run|would\s+resolve/);
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

it('two coolers 103 K apart are told apart, by letters, chance, limits and sentence alike, and no run is proposed there', () => {
  // A small cooler whose three pipes were run to what they carry, and a large one, far beyond the loads run, on a heater limited to 95 °C.
  const rows = [60, 110, 160].flatMap((P) =>
    [1, 2].flatMap((m) => [
      `large,${m},${P},1500,${(22 + P * (0.1 + 0.001 * m)).toFixed(2)},22`,
      `tiny,${m},${P},1500,${(22 + P * (0.3 + 0.001 * m)).toFixed(2)},22`,
    ]),
  );
  const files = {
    'bench.yaml': 'name: a\nheater: {temperature_limit_C: 95}',
    'coolers.csv': 'cooler,kind,heat_pipes,heat_pipe_diameter_mm\nlarge,liquid,,\ntiny,air,3,6',
    'runs.csv': ['cooler,mount,power_W,fan_rpm,source_C,ambient_C', ...rows].join('\n'),
  };
  const tested = readBench(
    new Map(Object.entries(files).map(([name, text]) => [name, new TextEncoder().encode(text)])),
  );
  const far = [280, 300, 320, 340]
    .map((load) => compare(tested, { power_W: [load] }))
    .reduce((x, y) => {
      const off = (r: typeof x) => Math.abs(Math.abs(r.pairs[0].difference[0].rise_K) - 103);
      return off(y) < off(x) ? y : x;
    });
  const [pair] = far.pairs;
  const [{ rise_K, low_K, high_K, p_less }] = pair.difference;
  expect(Math.abs(Math.abs(rise_K) - 103)).toBeLessThan(10);
  expect([pair.a, pair.b]).toEqual(['large', 'tiny']);
  expect(low_K).toBeLessThan(high_K);
  expect(high_K).toBeLessThan(0);
  expect(p_less).toBeGreaterThan((1 + far.pair_level) / 2);
  const [first, last] = far.loads[0].order;
  expect([first.cooler, first.tiers, last.tiers]).toEqual(['large', ['a'], ['b']]);
  expect(first.p_best).toBeGreaterThan(0.99);
  expect(compareTables(far)).toMatch(
    /large is ahead: .* above ambient \(\S+ to \S+\),\s+\S+ K below\s+tiny \(\d/,
  );
  expect(compareTables(far)).not.toMatch(/\btie\b|fresh\s+run|would\s+resolve/);
  expect(last).toMatchObject({ within_reach: false, above_limit: true });
});
