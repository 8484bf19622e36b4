import { describe, expect, it } from 'vitest';
import { compare } from '../../src/answers/compare.ts';
import { predict } from '../../src/answers/predict.ts';
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { standardAtmosphere } from '../../src/bench/standard-atmosphere.ts';
import { labData } from '../../src/lab/lab-data.generated.ts';
import { VirtualCooler } from '../../src/lab/physics.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';

const specs = labData.coolers.filter(({ cooler }) =>
  ['Rowan', 'Whimbrel', 'Sallow', 'Bittern'].includes(cooler),
);

function bench(pressure_hPa?: number): Bench {
  const { files } = makeVirtualBench({
    seed: 7,
    coolers: specs,
    speeds: [0.5, 1],
    loads_W: [60, 110, 160],
    noise_speeds: [],
    ...(pressure_hPa && { pressure_hPa }),
  });
  const read = readBench(files);
  if (pressure_hPa) for (const run of read.runs) run.pressure_hPa = pressure_hPa;
  return read;
}

/** What the virtual lab's physics gives; it knows nothing of the rule that density acts as fan speed. */
function truth(cooler: string, power_W: number, share: number, pressure_hPa: number, ambient_C = 22): number {
  const spec = specs.find((one) => one.cooler === cooler) as (typeof specs)[number];
  return new VirtualCooler(spec, labData.heater).rise({
    power_W,
    fan_rpm: share * spec.fan.max_rpm,
    pressure_hPa,
    ambient_C,
  });
}

describe('prediction in another room', () => {
  it('holds the rise at altitude that the physics gives, and is far from that of the bench', () => {
    const atSea = bench();
    const up = standardAtmosphere(2000).pressure_hPa;
    for (const percent of [100, 60]) {
      const there = predict(atSea, { power_W: [140], fan_percent: percent, altitude_m: 2000 });
      const here = predict(atSea, { power_W: [140], fan_percent: percent });
      there.predictions.forEach((found, k) => {
        const rise = truth(found.cooler, 140, percent / 100, up);
        expect(found.mean_low_K).toBeLessThan(rise);
        expect(found.mean_high_K).toBeGreaterThan(rise);
        // What altitude adds, apart from the errors that both predictions share: the slope of a curve told by two speeds.
        const added = found.rise_K - here.predictions[k].rise_K;
        const really = rise - truth(found.cooler, 140, percent / 100, 1013.25);
        expect(Math.abs(added / really - 1)).toBeLessThan(0.5);
        expect(found.fan_rpm).toBe(here.predictions[k].fan_rpm);
        expect(found.extrapolated).toBe(false);
        expect(found.notes.join()).toContain("the room's air is 2");
      });
      expect(there.warnings.join()).toContain('taken to stand at sea level');
    }
  });

  it('reckons a bench in the mountains down to the sea', () => {
    const high = bench(800);
    const { predictions, warnings } = predict(high, { power_W: [140], fan_percent: 70, altitude_m: 0 });
    for (const found of predictions) {
      const rise = truth(found.cooler, 140, 0.7, 1013.25);
      expect(found.mean_low_K).toBeLessThan(rise);
      expect(found.mean_high_K).toBeGreaterThan(rise);
    }
    expect(warnings.join()).not.toContain('taken to stand at sea level');
  });

  it('adds the inlet rise to every rise, and none to a difference', () => {
    const one = bench();
    const plain = compare(one, { power_W: [140] });
    const warm = compare(one, { power_W: [140], inlet_rise_K: 4 });
    warm.loads[0].order.forEach((entry, k) => {
      expect(entry.rise_K).toBeCloseTo(plain.loads[0].order[k].rise_K + 4, 9);
    });
    expect(warm.pairs).toEqual(plain.pairs);
    const [room] = predict(one, { power_W: [140] }).predictions;
    const [boxed] = predict(one, { power_W: [140], recirculation_percent: 20 }).predictions;
    expect(boxed.rise_K).toBeGreaterThan(room.rise_K + 0.5);
    expect(boxed.mean_high_K - boxed.mean_low_K).toBeGreaterThan(room.mean_high_K - room.mean_low_K);
    expect(() => compare(one, { recirculation_percent: 20 })).toThrow('it can only be given to predict');
  });
});
