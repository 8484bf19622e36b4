import { describe, expect, it } from 'vitest';
import type { Bench } from './bench.ts';
import { benchAir, densityShare, roomShare } from './bench-air.ts';
import { inOrientation } from './orientation.ts';
import { readBench } from './read-bench.ts';
import { inletRise } from './recirculation.ts';

function bench(rows: string): Bench {
  const bytes = (text: string) => new TextEncoder().encode(text);
  return readBench(
    new Map([
      ['bench.yaml', bytes('name: attic')],
      ['runs.csv', bytes(rows)],
    ]),
  );
}

const PLAIN = 'cooler,mount,power_W,fan_rpm,source_C,ambient_C\nRush,1,100,900,45,22\n';
const HIGH =
  'cooler,mount,power_W,fan_rpm,source_C,ambient_C,pressure_hPa,orientation\nRush,1,100,900,45,22,840,upright\nRush,1,150,900,58,22,860,upright\nRush,2,100,900,46,22,850,flat\n';

describe('the air of a bench', () => {
  it('is at sea level until the runs say otherwise', () => {
    expect(benchAir(bench(PLAIN)).pressure_hPa).toBe(1013.25);
    expect(benchAir(bench(HIGH)).pressure_hPa).toBeCloseTo(850, 9);
    expect(densityShare(bench(PLAIN), bench(PLAIN).runs[0])).toBe(1);
    expect(densityShare(bench(HIGH), bench(HIGH).runs[0])).toBeCloseTo(840 / 850, 3);
  });

  it('is thinner at altitude and in warmth, and no other where no room is asked for', () => {
    expect(roomShare(bench(PLAIN), {}).share).toBe(1);
    const mountain = roomShare(bench(PLAIN), { altitude_m: 2000 });
    // Vapour does not thin out with the air: a thousandth.
    expect(mountain.share).toBeCloseTo(794.95 / 1013.25, 2);
    expect(mountain.warnings[0]).toContain('taken to stand at sea level');
    expect(roomShare(bench(PLAIN), { ambient_C: 40 }).share).toBeCloseTo(295.15 / 313.15, 2);
    expect(roomShare(bench(HIGH), { altitude_m: 0 }).warnings).toEqual([]);
  });

  it('is refused where it is no room', () => {
    expect(() => roomShare(bench(PLAIN), { altitude_m: 20000 })).toThrow(
      '--altitude: an altitude of 20000 m',
    );
    expect(() => roomShare(bench(PLAIN), { pressure_hPa: 100 })).toThrow('give 300 to 1200 hPa');
    expect(() => roomShare(bench(PLAIN), { pressure_hPa: 900, altitude_m: 1000 })).toThrow('give one of');
  });
});

describe('recirculated exhaust', () => {
  it('warms the inlet until as much comes in as goes round', () => {
    // The balance itself: inlet = f·(inlet + Q/C).
    const inlet = inletRise(180, 24, 0.3);
    expect(0.3 * (inlet + 180 / 24)).toBeCloseTo(inlet, 12);
    expect(inletRise(200, 20, 0.2)).toBeCloseTo(2.5, 12);
    expect(() => inletRise(200, 20, 1)).toThrow('0 up to but not 1');
  });
});

describe('orientations', () => {
  it('are never mixed', () => {
    const most = inOrientation(bench(HIGH), undefined);
    expect(most.runs.map((run) => run.orientation)).toEqual(['upright', 'upright']);
    expect(most.warnings.at(-1)).toContain('1 in others are left out');
    expect(inOrientation(bench(HIGH), 'flat').runs).toHaveLength(1);
    const plain = bench(PLAIN);
    expect(inOrientation(plain, undefined)).toBe(plain);
  });

  it('that were not run are refused', () => {
    expect(() => inOrientation(bench(HIGH), 'hanging')).toThrow(
      'no cooler was run in the orientation "hanging", and other orientations do not tell what it does; runs are there for upright, flat',
    );
  });
});
