import { expect, it } from 'vitest';
import { compare } from '../answers/compare.ts';
import { fit } from '../answers/fit.ts';
import { predict } from '../answers/predict.ts';
import { readBench } from '../bench/read-bench.ts';

const commands = { compare, fit, predict };

const bench = (rows: readonly string[], leak: number) =>
  readBench(
    new Map(
      Object.entries({
        'bench.yaml': `name: a\nheater: {leak_W_per_K: {value: ${leak}, uncertainty: 0}}`,
        'coolers.csv': 'cooler,kind\nA,liquid',
        'runs.csv': ['cooler,mount,power_W,fan_rpm,source_C,ambient_C', ...rows].join('\n'),
      }).map(([name, text]): [string, Uint8Array] => [name, new TextEncoder().encode(text)]),
    ),
  );

it('the resistance is the rise over the heat into the base, what leaks away left out once', () => {
  // 50 K at 250 W of which 0.5 W/K · 50 K leak: 225 W into the base, 50/225 K/W.
  const runs = bench(['A,1,250,1500,72,22', 'A,2,250,1500,72,22'], 0.5);
  const [{ resistance_K_per_W }] = commands.fit(runs).coolers;
  const [{ rise_K }] = commands.predict(runs, { power_W: [250] }).predictions;
  expect(resistance_K_per_W).toBeCloseTo(50 / 225, 3);
  expect(resistance_K_per_W).toBeCloseTo(rise_K / (250 - 0.5 * rise_K), 5);
});

it('a bench whose runs are all without heat has none under load', () => {
  expect(() => commands.fit(bench(['A,1,0,1500,22.1,22'], 0))).toThrow(/the bench has no runs under load/);
});

it('says of conditions that a fit has no use for them', () => {
  const runs = bench(['A,1,250,1500,72,22', 'A,2,250,1500,72,22'], 0);
  const { warnings } = commands.fit(runs, { power_W: [100], fan_percent: 60 });
  expect(warnings.join()).toMatch(/full speed: power_W, fan_percent change nothing; use predict/);
  expect(commands.fit(runs, { level: 0.9, coolers: ['A'] }).warnings).toEqual(commands.fit(runs).warnings);
});

it('fit, predict and compare give one estimate for one question, and differences subtract', () => {
  const rows = ['A', 'B'].flatMap((cooler, c) =>
    [80, 120, 160].flatMap((P) =>
      [1, 2].map((m) => `${cooler},${m},${P},1500,${22 + P * (0.2 + 0.03 * c + 0.004 * m)},22`),
    ),
  );
  const runs = bench(rows, 0);
  for (const power_W of [120, 300]) {
    const { predictions } = commands.predict(runs, { power_W: [power_W] });
    const { loads, pairs } = commands.compare(runs, { power_W: [power_W] });
    for (const { cooler, rise_K } of predictions) {
      expect(loads[0].order.find((e) => e.cooler === cooler)?.rise_K).toBeCloseTo(rise_K, 9);
    }
    expect(pairs[0].difference[0].rise_K).toBeCloseTo(predictions[0].rise_K - predictions[1].rise_K, 9);
  }
  // A fit tells the resistance at the greatest load run; nothing leaks here.
  const { predictions } = commands.predict(runs, { power_W: [160] });
  commands.fit(runs).coolers.forEach(({ resistance_K_per_W }, c) => {
    expect(160 * resistance_K_per_W).toBeCloseTo(predictions[c].rise_K, 9);
  });
});
