import { describe, expect, it } from 'vitest';
import { generator } from '../../test/benchmarks/simulated-sound.ts';
import { energySum } from './energy-sum.ts';
import { fitPumpSound, type PumpAndFanReading } from './pump-sound.ts';

const metered = (fan_rpm: number, pump_rpm: number): number =>
  energySum([
    fan_rpm > 0 ? -120 + 50 * Math.log10(fan_rpm) : Number.NEGATIVE_INFINITY,
    pump_rpm > 0 ? -118 + 42 * Math.log10(pump_rpm) : Number.NEGATIVE_INFINITY,
    26,
  ]);
const grid = (fans: number[], pumps: number[], scatter: () => number = () => 0): PumpAndFanReading[] =>
  fans.flatMap((fan_rpm) =>
    pumps.map((pump_rpm) => ({ fan_rpm, pump_rpm, sound_dBA: metered(fan_rpm, pump_rpm) + scatter() })),
  );
const at1000 = (law: { a_dBA: number; b_dB_per_decade: number }) => law.a_dBA + 3 * law.b_dB_per_decade;

describe('fitPumpSound', () => {
  it('gets both laws back from their energy sums', () => {
    const laws = fitPumpSound(grid([0, 500, 900, 1400, 2000], [1400, 2000, 2800]), 26);
    if (typeof laws === 'string') throw new Error(laws);
    expect(at1000(laws.fan)).toBeCloseTo(30, 1);
    expect(laws.fan.b_dB_per_decade).toBeCloseTo(50, 0);
    expect(at1000(laws.pump)).toBeCloseTo(8, 0);
    expect(laws.pump.b_dB_per_decade).toBeCloseTo(42, 0);
    expect(laws.residual_dB).toBeLessThan(0.1);
  });
  it('is as sure as it says with scattered readings', () => {
    const { normal } = generator(5);
    let [count, held] = [0, 0];
    for (let k = 0; k < 60; k++) {
      const readings = grid([0, 700, 1300, 2000], [1400, 2000, 2800], () => 0.5 * normal());
      const laws = fitPumpSound(readings, 26);
      if (typeof laws === 'string') throw new Error(laws);
      [30, 50, 8, 42].forEach((truth, i) => {
        count++;
        if (Math.abs(laws.parameters[i] - truth) < 1.96 * Math.sqrt(laws.covariance[i * 5])) held++;
      });
    }
    expect(held / count).toBeGreaterThan(0.9);
  });
  it('leans on what fans do where these are quieter than usual, within its own uncertainty', () => {
    const exact = [600, 1000, 1500, 2000].flatMap((fan_rpm) =>
      [1400, 2000, 2800].map((pump_rpm) => ({
        fan_rpm,
        pump_rpm,
        sound_dBA: energySum([-105 + 42 * Math.log10(fan_rpm), -118 + 43 * Math.log10(pump_rpm), 26]),
      })),
    );
    const laws = fitPumpSound(exact, 26);
    if (typeof laws === 'string') throw new Error(laws);
    // The prior of the fan's slope is 50 ± 5: half a dB of scatter, which is always allowed for, lets it pull 42 to 46.
    expect(laws.fan.b_dB_per_decade).toBeGreaterThan(42);
    expect(Math.abs(laws.pump.b_dB_per_decade - 43)).toBeLessThan(Math.sqrt(laws.covariance[15]));
  });
  it('takes off what the meter of a session reads too high, and leaves open what is not known of it', () => {
    const { normal } = generator(7);
    const root = Float64Array.of(0.7, -0.7);
    let held = 0;
    let width = 0;
    for (let k = 0; k < 60; k++) {
      // Sessions by turns of the pump's speed; the meter's errors add to zero over them.
      const error = 1 + 0.7 * normal();
      const readings = grid([0, 700, 1300, 2000], [1400, 2000, 2800], () => 0.5 * normal()).map((reading) => {
        const session = reading.pump_rpm === 2000 ? 'b' : 'a';
        return { ...reading, session, sound_dBA: reading.sound_dBA + (session === 'a' ? error : -error) };
      });
      const laws = fitPumpSound(readings, 26, {
        sessions: ['a', 'b'],
        offset_dB: Float64Array.of(1, -1),
        root,
      });
      if (typeof laws === 'string') throw new Error(laws);
      held += Math.abs(laws.parameters[0] - 30) < 1.96 * Math.sqrt(laws.covariance[0]) ? 1 : 0;
      width += Math.sqrt(laws.covariance[0]) / 60;
    }
    expect(held / 60).toBeGreaterThan(0.88);
    expect(width).toBeLessThan(0.7);
  });
  it('says why the two cannot be told apart', () => {
    expect(fitPumpSound([], 26)).toMatch(/no sound reading gives a pump_rpm/);
    expect(fitPumpSound(grid([700, 1300, 2000, 900], [2000]), 26)).toMatch(/one pump speed only/);
    expect(fitPumpSound(grid([700], [1400, 2800]), 26)).toMatch(/too few/);
    expect(fitPumpSound(grid([2400, 3000], [1000, 1300]), 26)).toMatch(/pump cannot be heard/);
  });
});
