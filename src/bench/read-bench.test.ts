import { describe, expect, test } from 'vitest';
import { readBench } from './read-bench.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const folder = (files: Record<string, string>) =>
  new Map(Object.entries(files).map(([path, text]) => [path, bytes(text)]));

describe('readBench', () => {
  test('reads the example of its comment', () => {
    const bench = readBench(
      folder({
        'bench.yaml': 'name: attic',
        'runs.csv': 'cooler,power_kW,fan_rpm,source_C,ambient_C,mount\nA,0.15,900,61.5,22,1\n',
      }),
    );
    expect(bench.runs[0].power_W).toBe(150);
    expect(bench.name).toBe('attic');
    expect(bench.warnings).toEqual([]);
    expect(bench.ambient).toEqual({ setpoint_C: 22, tolerance_K: 1 });
    expect(bench.instruments).toEqual({
      source_temperature: { systematic_K: 0.5, resolution_K: 0.1 },
      ambient_temperature: { systematic_K: 0.3, resolution_K: 0.1 },
      power: { systematic_percent: 0.5 },
      sound_level: { systematic_dB: 1 },
    });
    expect(bench.heater).toEqual({ leak_W_per_K: { value: 0, uncertainty: 0.05 } });
    expect(bench.coolers).toMatchObject([{ cooler: 'A', kind: 'air', fan_max_rpm: 900 }]);
  });
});
