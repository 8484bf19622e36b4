import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readBenchYaml, yamlKeys } from '../../src/bench/bench-yaml.ts';
import { coolersPlan } from '../../src/bench/coolers-table.ts';
import { flatnessPlan } from '../../src/bench/flatness-table.ts';
import { logsPlan } from '../../src/bench/logs-index.ts';
import { noisePlan } from '../../src/bench/noise-table.ts';
import { benchName } from '../../src/bench/quantity.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { runsPlan } from '../../src/bench/runs-table.ts';
import { defaultChip } from '../../src/bench/source.ts';
import { benchTime } from '../../src/design/bench-time.ts';
import { readDecisions } from '../../src/months/read-decisions.ts';

const page = readFileSync(new URL('../../docs/bench.md', import.meta.url), 'utf8');
const yaml = [...page.matchAll(/```yaml\n([\s\S]*?)```/g)].map(([, text]) => text);
const bytes = (text: string) => new TextEncoder().encode(text);

describe('the page of the bench folder', () => {
  it.each([
    ['runs', runsPlan],
    ['logs', logsPlan],
    ['coolers', coolersPlan],
    ['noise', noisePlan],
    ['flatness', flatnessPlan],
  ])('names every column of %s', (_, { numbers, texts }) => {
    for (const name of [...numbers.map(benchName), ...texts.map((text) => text.name)])
      expect(page).toContain(`\`${name}\``);
  });

  it('shows the defaults of bench.yaml as they are, and every key', () => {
    const empty = readBenchYaml('bench.yaml', bytes(''));
    const shown = readBenchYaml('bench.yaml', bytes(yaml[0]));
    for (const key of ['name', 'ambient', 'instruments', 'heater', 'chips', 'methods', 'sessions'] as const)
      expect(shown[key]).toEqual(empty[key]);
    expect(shown.warnings.join()).toBe('');
    expect(yamlKeys.length).toBeGreaterThan(25);
    for (const key of yamlKeys) expect(yaml[0], key).toMatch(new RegExp(`\\b${key}\\b`));
    // What stands behind # as an example is read as well.
    const chip = yaml[0].replace('chips: []', 'chips:').replace(/^#( {2,})/gm, '$1');
    const [kestrel] = readBenchYaml('bench.yaml', bytes(chip)).chips;
    expect({ ...kestrel, chip: '', extra: {} }).toEqual({
      ...defaultChip(''),
      temperature_limit_C: 95,
      extra: {},
    });
    expect(Object.keys(kestrel.extra)).toEqual(['geometry', 'clock']);
    const runs = bytes('cooler,power_W,fan_rpm,source_C,ambient_C\nA,100,1500,42,22');
    const usual = (text: string) => {
      const bench = readBench(
        new Map([
          ['bench.yaml', bytes(text)],
          ['runs.csv', runs],
        ]),
      );
      const { settle_min, remount_min } = benchTime(bench, {});
      const [cooler] = bench.coolers;
      return [settle_min({ ...cooler, kind: 'air' }), settle_min({ ...cooler, kind: 'liquid' }), remount_min];
    };
    expect(usual(yaml[0])).toEqual(usual(''));
  });

  it('shows decisions that are read', () => {
    const [chart] = readDecisions(yaml[1]);
    expect(chart).toMatchObject({ chart: 'spring', published: '2026-03-30' });
    expect(chart.excluded).toHaveLength(2);
  });
});
