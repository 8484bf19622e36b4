import { describe, expect, it } from 'vitest';
import { coolestPair, type NoisyPart } from './pump-and-fan.ts';

const fan: NoisyPart = { a_dBA: -120, b_dB_per_decade: 50, least_rpm: 400, greatest_rpm: 2200 };
const pump: NoisyPart = { a_dBA: -130, b_dB_per_decade: 45, least_rpm: 1000, greatest_rpm: 3600 };
const rise = (fan_rpm: number, pump_rpm: number): number => 15 + 18e3 / fan_rpm + 14e3 / pump_rpm;

describe('coolestPair', () => {
  it('stays on the equal-noise curve and beats every pair on a fine grid', () => {
    const answer = coolestPair(fan, pump, 36, rise);
    expect(answer.own_dBA).toBeCloseTo(36, 6);
    let least = Infinity;
    for (let f = fan.least_rpm; f <= fan.greatest_rpm; f += 4) {
      for (let p = pump.least_rpm; p <= pump.greatest_rpm; p += 4) {
        const energy = 10 ** ((-120 + 50 * Math.log10(f)) / 10) + 10 ** ((-130 + 45 * Math.log10(p)) / 10);
        if (10 * Math.log10(energy) <= 36) least = Math.min(least, rise(f, p));
      }
    }
    expect(answer.rise_K).toBeLessThanOrEqual(least);
    expect(least - answer.rise_K).toBeLessThan(0.05);
  });
  it('meets the closed form where both parts rise alike', () => {
    // Energy E = k·(f^5 + p^5), rise ∝ 1/f + c/p: Lagrange gives p/f = c^(1/6).
    const same: NoisyPart = { a_dBA: -120, b_dB_per_decade: 50, least_rpm: 10, greatest_rpm: 1e5 };
    const answer = coolestPair(same, same, 40, (f, p) => 1000 / f + 8000 / p);
    expect(answer.pump_rpm / answer.fan_rpm).toBeCloseTo(8 ** (1 / 6), 4);
  });
  it('says when both parts are at an end', () => {
    expect(coolestPair(fan, pump, 5, rise)).toMatchObject({
      fan_rpm: 400,
      pump_rpm: 1000,
      limitedBy: 'least-stable-speed',
    });
    const loud = coolestPair(fan, pump, 90, rise);
    expect(loud.limitedBy).toBe('greatest-speed');
    expect(loud.fan_rpm).toBeCloseTo(2200, 6);
    expect(loud.pump_rpm).toBeCloseTo(3600, 3);
  });
  it('refuses a law that does not rise', () => {
    expect(() => coolestPair({ ...fan, b_dB_per_decade: 0 }, pump, 36, rise)).toThrow(/the fan has slope 0/);
  });
});
