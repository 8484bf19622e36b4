import { describe, expect, it } from 'vitest';
import { airDensity } from '../../src/bench/air-density.ts';
import { energySum, meteredLevel } from '../../src/sound/energy-sum.ts';
import { SLOPE_PRIOR } from '../../src/sound/level-against-speed.ts';

describe('a level metered above the background', () => {
  // What the standard takes off a level metered so far above the background, the energy sum has put on.
  const off = (above: number, correction: number) => Math.abs(meteredLevel(60 - correction, 60 - above) - 60);
  // ISO 3744:2010, K1 at ΔL = 6, 10 and 15 dB to the digits printed (1.3, 0.5, 0.1), values from memory; and a subtraction
  // table common to training sheets of sound-level metering: difference in dB, and what to take off the level.
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
  ])('by %d dB holds %f dB of it', (above, correction) => {
    expect(off(above, correction)).toBeLessThanOrEqual(0.05);
  });
  // ECMA TR/107, 3rd edition (2017), abstract: the standard correction is held at 0.46 dB (10 dB) or 1.26 dB (6 dB).
  it('to the two digits of ECMA TR/107', () => {
    expect(off(10, 0.46)).toBeLessThan(0.005);
    expect(off(6, 1.26)).toBeLessThan(0.005);
  });
});

describe('energy sums against tables', () => {
  // Addition table of acoustics handbooks (e.g. Beranek, Noise and Vibration Control, 1971), values from memory:
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

describe('fans', () => {
  // Stoecker and Jones, Refrigeration and Air Conditioning, 2nd ed. (1982), chapter 6 (edition and chapter from memory), problem: 1.8 kW with air at 20 °C; at
  // the same speed and flow with air at 40 °C the power is 1.685 kW (answer printed): the density's share.
  it('move air that is thinner when it is warm', () => {
    expect(airDensity(40, 1013.25, 0) / airDensity(20, 1013.25, 0)).toBeCloseTo(1.685 / 1.8, 3);
  });
  // Fan sound laws, ANSI/AMCA Standard 301 (from memory): level rises by 50·lg of the ratio of speeds, so 15 dB for twice the speed.
  // Two equal incoherent sources are 10·lg 2 = 3 dB above one.
  it('are thought 15 dB louder at twice the speed; a second one adds 3 dB', () => {
    expect(SLOPE_PRIOR.mean_dB * Math.log10(2)).toBeCloseTo(15, 0);
    expect(energySum([30, 30])).toBeCloseTo(33, 1);
  });
});
