import { describe, expect, it } from 'vitest';
import { backgroundCorrection, sourceLevel } from '../../src/acoustics/background-correction.ts';
import { energySum } from '../../src/acoustics/energy-sum.ts';
import { fanAt, fansTogether } from '../../src/acoustics/fan-laws.ts';

describe('background correction against the standard', () => {
  // ISO 3744:2010, K1 at ΔL = 6, 10 and 15 dB to the digits printed (1.3, 0.5, 0.1); values from memory.
  it.each([
    [6, 1.3],
    [10, 0.5],
    [15, 0.1],
  ])('K1 at %d dB above the background is %f dB', (above, correction) => {
    expect(Math.round(backgroundCorrection(above) * 10) / 10).toBe(correction);
  });
  // ECMA TR/107, 3rd edition (2017), abstract: the standard correction is held at 0.46 dB (10 dB) or 1.26 dB (6 dB).
  it('K1 to the two digits of ECMA TR/107', () => {
    expect(backgroundCorrection(10)).toBeCloseTo(0.46, 2);
    expect(backgroundCorrection(6)).toBeCloseTo(1.26, 2);
  });
  it('below 6 dB the standard allows 1.3 dB and no more, as an upper bound', () => {
    expect(backgroundCorrection(5.9)).toBe(1.3);
    expect(sourceLevel(29, 26)).toEqual({ level_dBA: 27.7, valid: false });
  });
  // Subtraction table for level differences, common to training sheets of sound-level metering: difference in dB
  // and what to take off the level, as printed there.
  it.each([
    [6, 1.3],
    [7, 1.0],
    [8, 0.7],
    [9, 0.6],
    [10, 0.5],
    [11, 0.4],
    [12, 0.3],
    [13, 0.2],
    [14, 0.2],
    [15, 0.1],
  ])('subtracting a background %d dB below takes %f dB off', (above, correction) => {
    expect(sourceLevel(60, 60 - above).level_dBA).toBeCloseTo(60 - correction, 1);
    expect(Math.abs(backgroundCorrection(above) - correction)).toBeLessThanOrEqual(0.05);
  });
});

describe('energy sums against tables', () => {
  // Addition table of acoustics handbooks (e.g. Beranek, Noise and Vibration Control), values from memory:
  // difference of two levels in dB → what to add to the greater.
  it.each([
    [0, 3.0],
    [1, 2.5],
    [2, 2.1],
    [3, 1.8],
    [4, 1.5],
    [5, 1.2],
    [6, 1.0],
    [7, 0.8],
    [8, 0.6],
    [9, 0.5],
    [10, 0.4],
  ])('a level %d dB below adds %f dB', (difference, added) => {
    const sum = energySum([60, 60 - difference]) - 60;
    expect(Math.abs(sum - added)).toBeLessThanOrEqual(0.05);
  });
  // OSHA Technical Manual, section III chapter 5, appendix B: two sources of 90 dB together are 93 dB.
  it('two sources of 90 dB give 93 dB', () => {
    expect(Math.round(energySum([90, 90]))).toBe(93);
  });
});

describe('fan laws against worked exercises', () => {
  // University exercise sheet on fan laws (homework 6, found on a document-sharing site; answers printed with it):
  // 6000 cfm, 4 in. water, 6 hp at 2000 rpm; at 1500 rpm 4500 cfm, 2.25 in. water, 2.53 hp.
  it('speed from 2000 to 1500 rpm', () => {
    const after = fanAt({ flow_m3_per_s: 6000, pressure_Pa: 4, power_W: 6 }, { speed: 1500 / 2000 });
    expect(after.flow_m3_per_s).toBeCloseTo(4500, 9);
    expect(after.pressure_Pa).toBeCloseTo(2.25, 9);
    expect(after.power_W).toBeCloseTo(2.53, 2);
  });
  // The same sheet: 2000 cfm, 3.00 in. water, 1.0 kW at 1300; at 1500: 2308 cfm, 3.99 in. water, 1.54 kW.
  it('speed from 1300 to 1500', () => {
    const after = fanAt({ flow_m3_per_s: 2000, pressure_Pa: 3, power_W: 1 }, { speed: 1500 / 1300 });
    expect(after.flow_m3_per_s).toBeCloseTo(2308, 0);
    expect(after.pressure_Pa).toBeCloseTo(3.99, 2);
    expect(after.power_W).toBeCloseTo(1.54, 2);
  });
  // Stoecker and Jones, Refrigeration and Air Conditioning, chapter on fans and ducts, problem: 2.4 m³/s, 340 Pa and
  // 1.8 kW with air at 20 °C; at the same speed with air at 40 °C the power is 1.685 kW (answer printed).
  it('air at 40 °C instead of 20 °C', () => {
    const density = (20 + 273.15) / (40 + 273.15);
    const after = fanAt({ flow_m3_per_s: 2.4, pressure_Pa: 340, power_W: 1800 }, { density });
    expect(after.flow_m3_per_s).toBe(2.4);
    expect(after.power_W! / 1000).toBeCloseTo(1.685, 3);
  });
  // Common practice in fan engineering, no source: doubling the speed adds 15 dB, a second equal fan 3 dB.
  it('sound: 15 dB for twice the speed, 3 dB for a second fan', () => {
    expect(fanAt({ sound_dBA: 30 }, { speed: 2 }).sound_dBA).toBeCloseTo(45, 0);
    expect(fansTogether({ sound_dBA: 30 }, 2, 'parallel').sound_dBA).toBeCloseTo(33, 1);
  });
});
