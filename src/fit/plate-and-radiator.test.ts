import { describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { makeRandom } from '../lab/random.ts';
import { plateAndRadiator } from './plate-and-radiator.ts';

const YAML =
  'heater: {leak_W_per_K: {value: 0.05, uncertainty: 0.01}}\ninstruments:\n  source_temperature: {systematic_K: 0.3, resolution_K: 0.1}\n  ambient_temperature: {systematic_K: 0.2, resolution_K: 0.1}\n';

/** Runs of a loop with known parts: plate falls with pump speed, radiator with fan speed. */
function loopBench(seed: number, clog = 1) {
  const random = makeRandom(seed);
  const rows = ['run,cooler,mount,power_W,fan_rpm,pump_rpm,source_C,coolant_C,ambient_C'];
  const source = random.normal(0, 0.3);
  const coolant = random.normal(0, 0.2);
  const ambient = random.normal(0, 0.2);
  for (let m = 1; m <= 3; m++) {
    const mount = random.normal(0, 0.004);
    for (const fan of [1800, 900]) {
      for (const load of [100, 200]) {
        const radiator = 0.05 * (1800 / fan) ** 0.7 * clog;
        const plate = 0.07 + mount;
        const rise = (load * (plate + radiator)) / (1 + 0.05 * (plate + radiator));
        const base = load - 0.05 * rise;
        rows.push(
          [
            `r${rows.length}`,
            'Teal',
            m,
            load,
            fan,
            2500,
            (22 + rise + source + random.normal(0, 0.1)).toFixed(2),
            (22 + base * radiator + coolant + random.normal(0, 0.1)).toFixed(2),
            (22 + ambient).toFixed(2),
          ].join(),
        );
      }
    }
  }
  const bytes = (text: string) => new TextEncoder().encode(text);
  return readBench(
    new Map([
      ['bench.yaml', bytes(YAML)],
      ['coolers.csv', bytes('cooler,kind\nTeal,liquid\n')],
      ['runs.csv', bytes(`${rows.join('\n')}\n`)],
    ]),
  );
}

describe('plate and radiator', () => {
  it('are told apart within the uncertainty given', () => {
    let held = 0;
    let count = 0;
    for (let seed = 1; seed <= 100; seed++) {
      for (const split of plateAndRadiator(loopBench(seed)).coolers[0].splits) {
        const radiator = 0.05 * (1800 / split.fan_rpm) ** 0.7;
        // Student's t of two degrees of freedom between three fittings would be 4.3; sensors dominate.
        if (Math.abs(split.plate_K_per_W - 0.07) <= 2.2 * split.plate_u_K_per_W) held++;
        if (Math.abs(split.radiator_K_per_W - radiator) <= 2.2 * split.radiator_u_K_per_W) held++;
        count += 2;
      }
    }
    expect(held / count).toBeGreaterThan(0.9);
    expect(held / count).toBeLessThan(1);
  });

  it('trace a clogged radiator to the radiator', () => {
    const [clean] = plateAndRadiator(loopBench(1)).coolers[0].splits;
    const [clogged] = plateAndRadiator(loopBench(1, 1.5)).coolers[0].splits;
    expect(clogged.radiator_K_per_W / clean.radiator_K_per_W).toBeCloseTo(1.5, 1);
    expect(clogged.plate_K_per_W / clean.plate_K_per_W).toBeCloseTo(1, 2);
    expect(plateAndRadiator(loopBench(1)).coolers[0].verdict).toMatch(
      /^Teal at 1800 rpm: \d\d mK\/W in paste and plate and \d\d mK\/W in the radiator; the plate's side is \d\d % of the whole\.$/,
    );
  });

  it('need the coolant', () => {
    const bench = loopBench(1);
    for (const run of bench.runs) delete run.coolant_C;
    const found = plateAndRadiator(bench);
    expect(found.coolers).toEqual([]);
    expect(found.warnings).toEqual([
      'Teal: no coolant_C in its runs, so plate and radiator cannot be told apart',
    ]);
  });
});
