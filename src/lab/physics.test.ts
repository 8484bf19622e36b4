import { describe, expect, it } from 'vitest';
import { labData } from './lab-data.generated.ts';
import { VirtualCooler } from './physics.ts';
import { randomCoolers } from './random-coolers.ts';

const coolers = [...labData.coolers, ...randomCoolers(30, 5)];
const shipped = (name: string) => {
  const spec = labData.coolers.find((one) => one.cooler === name)!;
  return new VirtualCooler(spec, labData.heater);
};

describe.each(coolers.map((spec) => [spec.cooler, spec] as const))('%s', (_, spec) => {
  const cooler = new VirtualCooler(spec, labData.heater);
  const full = spec.fan.max_rpm;

  it('is hotter under more load and cooler at more speed', () => {
    let before = 0;
    for (let P = 5; P <= 400; P += 5) {
      const rise = cooler.rise({ power_W: P, fan_rpm: full, leak_W_per_K: 0.05 });
      expect(rise).toBeGreaterThan(before);
      before = rise;
    }
    for (const P of [60, 180, 300]) {
      let slower = Number.POSITIVE_INFINITY;
      for (const speed of [0, 0.1, 0.25, 0.5, 0.75, 1]) {
        const rise = cooler.rise({ power_W: P, fan_rpm: speed * full });
        expect(rise).toBeLessThan(slower);
        slower = rise;
      }
    }
  });

  it('loses no heat', () => {
    for (const P of [0, 30, 150, 300])
      for (const speed of [0, 0.4, 1]) {
        const state = cooler.steady({ power_W: P, fan_rpm: speed * full, leak_W_per_K: 0.06 });
        expect(state.base_W + state.leak_W).toBeCloseTo(P, 6);
        expect(state.leak_W).toBeCloseTo(0.06 * state.rise_K, 6);
        expect(state.stream_W + state.still_W).toBeCloseTo(state.base_W, 6);
        if (spec.pipes) {
          const piped = state.pipe_W.reduce((sum, q, k) => sum + q * cooler.pipeMultiplicity[k], 0);
          expect(piped + spec.pipes.wall_W_per_K * state.pipes_K).toBeCloseTo(state.base_W, 6);
        }
      }
  });

  it('never beats the heating of its own air', () => {
    for (const speed of [0.3, 1]) {
      const state = cooler.steady({ power_W: 150, fan_rpm: speed * full });
      expect(state.fins_K).toBeGreaterThan(state.stream_W / state.airCapacity_W_per_K);
    }
  });

  it('adds an interface in series', () => {
    const bare = cooler.rise({ power_W: 150, fan_rpm: full });
    expect(cooler.rise({ power_W: 150, fan_rpm: full, interface_K_per_W: 0.01 })).toBeCloseTo(bare + 1.5, 6);
  });

  it('stays warm but finite with its fan at rest', () => {
    const state = cooler.steady({ power_W: 20, fan_rpm: 0 });
    expect(state.stream_W).toBe(0);
    expect(state.fins_K).toBeGreaterThan(3);
    expect(state.fins_K).toBeLessThan(150);
  });
});

describe('the shipped lab', () => {
  it('looks like a bench: 0.14 to 0.30 K/W at full speed between 100 and 180 W', () => {
    for (const spec of labData.coolers)
      for (const P of [100, 140, 180]) {
        const R = new VirtualCooler(spec, labData.heater).rise({ power_W: P, fan_rpm: spec.fan.max_rpm }) / P;
        expect(R).toBeGreaterThan(0.14);
        expect(R).toBeLessThan(0.3);
      }
  });

  it('has a pair that ties at 120 W, is still in order at 180 W, and has parted the other way by 2 to 3 K near 200 W', () => {
    const few = shipped('Siskin');
    const many = shipped('Hornbeam');
    const difference = (P: number) =>
      few.rise({ power_W: P, fan_rpm: 1900, leak_W_per_K: 0.05 }) -
      many.rise({ power_W: P, fan_rpm: 1850, leak_W_per_K: 0.05 });
    for (const P of [30, 60, 120, 180]) {
      expect(difference(P)).toBeLessThan(0);
      expect(difference(P)).toBeGreaterThan(-1);
    }
    expect(difference(190)).toBeGreaterThan(0);
    expect(difference(203)).toBeGreaterThan(2);
    expect(difference(203)).toBeLessThan(3);
    expect(difference(240)).toBeGreaterThan(5);
  });

  it('feels thin air and warm air', () => {
    const rowan = shipped('Rowan');
    const base = rowan.rise({ power_W: 150, fan_rpm: 1750 });
    expect(rowan.rise({ power_W: 150, fan_rpm: 1750, pressure_hPa: 800 })).toBeGreaterThan(base + 0.5);
    expect(Math.abs(rowan.rise({ power_W: 150, fan_rpm: 1750, ambient_C: 23 }) - base)).toBeLessThan(0.1);
  });

  it('has a liquid cooler that needs its pump', () => {
    const liquid = shipped('Merganser');
    const rises = [700, 1400, 2800].map((pump_rpm) => liquid.rise({ power_W: 150, fan_rpm: 1800, pump_rpm }));
    expect(rises[0]).toBeGreaterThan(rises[1]);
    expect(rises[1]).toBeGreaterThan(rises[2]);
  });

  it('gets hotter from a smaller source', () => {
    const spec = labData.coolers[0];
    const small = { ...labData.heater, width_mm: 15, length_mm: 15 };
    expect(new VirtualCooler(spec, small).rise({ power_W: 100, fan_rpm: 1900 })).toBeGreaterThan(
      shipped('Siskin').rise({ power_W: 100, fan_rpm: 1900 }) + 2,
    );
  });
});
