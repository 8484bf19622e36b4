import { unit } from 'mathjs';
import { afterEach, describe, expect, test } from 'vitest';
import { loadUnitConverter } from './mathjs-units.ts';
import { acceptedNames, readName, registerUnitConverter, toBenchUnit } from './quantity.ts';
import { readBench } from './read-bench.ts';
import { dimensions } from './unit-table.ts';
import { unlistedUnits } from './unlisted-units.ts';

// Reference: the unit conversions of mathjs 15, a general-purpose library.
describe('the table of units against mathjs', () => {
  const base: Record<string, string> = { limit: 'degC', difference: 'K', speed: 'Hz' };
  // mathjs carries these two rounded to 6e-11; here they follow from the inch and the pound, and the test below.
  const roundedThere = new Set(['hp', 'psi']);
  for (const [name, dimension] of Object.entries(dimensions)) {
    for (const { suffix, factor, offset, reference } of dimension.units) {
      if (reference === '') continue;
      test(`${name}: ${suffix}`, () => {
        for (const value of [0, 1, 22.5, 1000]) {
          const converted = unit(value, reference).toNumber(base[name] ?? dimension.reference);
          const expected = name === 'speed' ? converted * 60 : converted;
          const scale = Math.max(Math.abs(expected), Math.abs(offset), Number.MIN_VALUE);
          expect(Math.abs(toBenchUnit(value, { factor, offset }) - expected) / scale).toBeLessThan(
            roundedThere.has(suffix) ? 1e-10 : 1e-12,
          );
        }
      });
    }
  }

  // NIST Special Publication 811 (2008), appendix B.8: horsepower (550 ft·lbf/s) 7.456 999 E+02 W, psi 6.894 757 E+03 Pa.
  test('horsepower and pound per square inch to the digits of NIST SP 811', () => {
    const factor = (units: readonly { suffix: string; factor: number }[], suffix: string) =>
      units.find((candidate) => candidate.suffix === suffix)!.factor;
    expect(factor(dimensions.power.units, 'hp').toPrecision(7)).toBe('745.6999');
    expect((factor(dimensions.pressure.units, 'psi') * 100).toPrecision(7)).toBe('6894.757');
  });

  test('only units that have no scale of their own are without a reference', () => {
    const bare = Object.values(dimensions).flatMap((d) =>
      d.units.filter((u) => u.reference === '').map((u) => u.suffix),
    );
    expect(bare).toEqual(['dBA', 'dB', '', 'percent']);
  });

  test('no suffix stands twice, the first is the unit of the bench', () => {
    for (const { units } of Object.values(dimensions)) {
      expect(new Set(units.map((u) => u.suffix)).size).toBe(units.length);
      expect(units[0]).toMatchObject({ factor: 1, offset: 0 });
    }
  });
});

describe('readName', () => {
  const power = { quantity: 'power', dimension: 'power' } as const;
  const torque = { quantity: 'torque', dimension: 'torque' } as const;
  const source = { quantity: 'source', dimension: 'temperature' } as const;
  const fan = { quantity: 'fan', dimension: 'speed' } as const;
  const duty = { quantity: 'fan_duty', dimension: 'share' } as const;
  afterEach(() => registerUnitConverter(undefined));

  test('reads the unit of the longest quantity that fits', () => {
    expect(readName('power_kW', [power])).toMatchObject({
      kind: 'read',
      suffix: 'kW',
      conversion: { factor: 1000, offset: 0 },
    });
    expect(readName('fan_duty_percent', [fan, duty])).toMatchObject({ kind: 'read', quantity: duty });
    expect(readName('power', [power])).toMatchObject({ kind: 'no-unit' });
    expect(readName('powers_W', [power])).toEqual({ kind: 'other' });
    expect(readName('power_constructor', [power])).toMatchObject({
      kind: 'unknown-unit',
      suffix: 'constructor',
    });
    expect(acceptedNames(duty)).toEqual(['fan_duty_percent']);
  });

  test('K is a temperature in a temperature and a difference in a difference', () => {
    const reading = readName('source_K', [source]);
    expect(reading.kind === 'read' && toBenchUnit(295.15, reading.conversion)).toBeCloseTo(22, 12);
    const rise = readName('u_K', [{ quantity: 'u', dimension: 'difference' }]);
    expect(rise.kind === 'read' && toBenchUnit(0.5, rise.conversion)).toBe(0.5);
  });

  test('an unlisted unit is read once the converter is there', async () => {
    expect(readName('power_BTU_per_hour', [power]).kind).toBe('unknown-unit');
    registerUnitConverter(await loadUnitConverter());
    const reading = readName('power_BTU_per_hour', [power]);
    // Reference: 1 Btu (international table) = 1055.05585262 J exactly, by its definition.
    expect(reading.kind === 'read' && toBenchUnit(3600, reading.conversion)).toBeCloseTo(1055.05585262, 6);
    const rankine = readName('source_degR', [source]);
    expect(rankine.kind === 'read' && toBenchUnit(491.67, rankine.conversion)).toBeCloseTo(0, 9);
    expect(readName('torque_kgf_mm', [torque]).kind).toBe('read');
    for (const wrong of ['power_kg', 'power_serial', 'power_W_s', 'power_1', 'power_(W)']) {
      expect(readName(wrong, [power]).kind).toBe('unknown-unit');
    }
    expect(readName('fan_kHz', [fan]).kind).toBe('unknown-unit');
  });
});

describe('unlistedUnits', () => {
  const text = (content: string) => new TextEncoder().encode(content);

  test('names only what might be converted', () => {
    const files = new Map([
      [
        'b/bench.yaml',
        text(
          'heater: {power_max_BTU_per_hour: 900, temperature_limit_C: 90}\n"ambient":\n  setpoint_degR: 530',
        ),
      ],
      ['b/runs.csv', text('cooler,power_kW,fan_krpm,source_degR,sound_phon\r\n"')],
      ['b/logs/x.csv', text('time_week,source_C\n')],
      ['b/notes.csv', text('time_week\n')],
    ]);
    expect(unlistedUnits(files)).toEqual([
      'power_max_BTU_per_hour',
      'setpoint_degR',
      'time_week',
      'source_degR',
    ]);
  });

  test('a bench in an unlisted unit is read with the converter', async () => {
    const files = new Map([
      ['bench.yaml', text('')],
      ['runs.csv', text('cooler,power_BTU_per_hour,fan_rpm,source_degR,ambient_C\nA,500,900,600,22\n')],
    ]);
    expect(() => readBench(files)).toThrow(
      /^runs\.csv:1:8: column "power_BTU_per_hour": "BTU_per_hour" is not a known unit/,
    );
    registerUnitConverter(await loadUnitConverter());
    const [run] = readBench(files).runs;
    registerUnitConverter(undefined);
    expect(run.power_W).toBeCloseTo((500 * 1055.05585262) / 3600, 6);
    expect(run.source_C).toBeCloseTo((600 * 5) / 9 - 273.15, 9);
  });
});
