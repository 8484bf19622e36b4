import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { backgroundCorrection, sourceLevel } from './background-correction.ts';
import { levelAtDistance } from './distance.ts';
import { energyShare, energySum, meteredLevel } from './energy-sum.ts';
import { fanAt, fansTogether } from './fan-laws.ts';
import { loudnessRatio, loudnessSentence } from './loudness.ts';
import { undominated } from './undominated.ts';

const level = fc.double({ min: -20, max: 120, noNaN: true });

describe('energySum', () => {
  it('gives the example of its comment', () => {
    expect(energySum([35, 35])).toBeCloseTo(38.0103, 4);
  });
  it('does not depend on the order and is never below the greatest level', () => {
    fc.assert(
      fc.property(fc.array(level, { minLength: 1, maxLength: 8 }), (levels) => {
        const sum = energySum(levels);
        expect(sum).toBeGreaterThanOrEqual(Math.max(...levels) - 1e-12);
        expect(sum).toBeLessThanOrEqual(Math.max(...levels) + 10 * Math.log10(levels.length) + 1e-12);
        expect(energySum([...levels].reverse())).toBeCloseTo(sum, 9);
      }),
    );
  });
  it('stays finite far outside the range of powers of ten, and takes silence', () => {
    expect(energySum([4000, 4000])).toBeCloseTo(4003.0103, 4);
    expect(energySum([-Infinity, 30])).toBe(30);
    expect(energySum([-Infinity])).toBe(-Infinity);
  });
  it('refuses nothing at all and what is not a number', () => {
    expect(() => energySum([])).toThrow(RangeError);
    expect(() => energySum([30, Number.NaN])).toThrow(RangeError);
  });
});

describe('energyShare', () => {
  it('is the slope of the metered level by the own level', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 60, noNaN: true }), (own) => {
        const slope = (meteredLevel(own + 1e-4, 26) - meteredLevel(own - 1e-4, 26)) / 2e-4;
        expect(energyShare(own, 26)).toBeCloseTo(slope, 5);
      }),
    );
  });
  it('is 1 without a background', () => {
    expect(energyShare(10, undefined)).toBe(1);
    expect(meteredLevel(10, undefined)).toBe(10);
  });
});

describe('sourceLevel', () => {
  it('gives the example of its comment', () => {
    expect(sourceLevel(35, 26).level_dBA).toBeCloseTo(34.42, 2);
    expect(sourceLevel(35, 26).valid).toBe(true);
  });
  it('undoes the energy sum from 6 dB above the background on', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 20, max: 40, noNaN: true }),
        fc.double({ min: 5, max: 60, noNaN: true }),
        (background, above) => {
          const own = background + above;
          const corrected = sourceLevel(energySum([own, background]), background);
          expect(corrected.level_dBA).toBeCloseTo(own, 8);
          expect(corrected.valid).toBe(true);
        },
      ),
    );
  });
  it('is an upper bound, 1.3 dB below the reading, closer than 6 dB', () => {
    expect(sourceLevel(30, 26)).toEqual({ level_dBA: 28.7, valid: false });
    expect(sourceLevel(30, 26).level_dBA).toBeGreaterThan(10 * Math.log10(10 ** 3 - 10 ** 2.6));
    expect(sourceLevel(26, 26).valid).toBe(false);
  });
  it('refuses a level below the background', () => {
    expect(() => sourceLevel(25, 26)).toThrow(/below the background of 26 dBA/);
    expect(() => backgroundCorrection(-0.1)).toThrow(RangeError);
  });
});

describe('levelAtDistance', () => {
  it('falls by 6.02 dB when the distance doubles and comes back', () => {
    expect(levelAtDistance(40, 500, 1000)).toBeCloseTo(33.979, 3);
    expect(levelAtDistance(levelAtDistance(40, 300, 1200), 1200, 300)).toBeCloseTo(40, 12);
  });
  it('refuses a distance that is not positive', () => {
    expect(() => levelAtDistance(40, 0, 1000)).toThrow(RangeError);
  });
});

describe('loudness', () => {
  it('doubles every 10 dB', () => {
    expect(loudnessRatio(45, 35)).toBe(2);
    expect(loudnessRatio(35, 55)).toBe(0.25);
  });
  it('says that it is a rule of thumb', () => {
    expect(loudnessSentence(42, 35)).toBe(
      '7.0 dB more, about 1.6 times as loud (rule of thumb: dBA is not phon; below about 40 phon the rule understates it)',
    );
    expect(loudnessSentence(50, 60)).toBe(
      '10.0 dB less, about 1/2.0 as loud (rule of thumb: dBA is not phon)',
    );
    expect(loudnessSentence(40, 40)).toBe('the same level');
  });
});

describe('fan laws', () => {
  it('give the example of the comment and compose', () => {
    const half = fanAt({ flow_m3_per_s: 0.02, pressure_Pa: 10, power_W: 1 }, { speed: 0.5 });
    expect(half).toEqual({ flow_m3_per_s: 0.01, pressure_Pa: 2.5, power_W: 0.125 });
    const back = fanAt(half, { speed: 2 });
    expect(back).toEqual({ flow_m3_per_s: 0.02, pressure_Pa: 10, power_W: 1 });
  });
  it('keep the efficiency: flow × pressure scales as power', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.2, max: 5, noNaN: true }),
        fc.double({ min: 0.2, max: 5, noNaN: true }),
        fc.double({ min: 0.5, max: 1.5, noNaN: true }),
        (speed, diameter, density) => {
          const after = fanAt({ flow_m3_per_s: 1, pressure_Pa: 1, power_W: 1 }, { speed, diameter, density });
          expect((after.flow_m3_per_s! * after.pressure_Pa!) / after.power_W!).toBeCloseTo(1, 9);
        },
      ),
    );
  });
  it('two equal fans: flow or pressure doubles, power doubles, 3 dB more', () => {
    const one = { flow_m3_per_s: 0.02, pressure_Pa: 10, power_W: 1, sound_dBA: 30 };
    const side = fansTogether(one, 2, 'parallel');
    const behind = fansTogether(one, 2, 'series');
    expect(side).toMatchObject({ flow_m3_per_s: 0.04, pressure_Pa: 10, power_W: 2 });
    expect(behind).toMatchObject({ flow_m3_per_s: 0.02, pressure_Pa: 20, power_W: 2 });
    expect(side.sound_dBA).toBeCloseTo(33.01, 2);
  });
  it('refuse a ratio or a count that makes no sense', () => {
    expect(() => fanAt({}, { speed: 0 })).toThrow(/ratio of speed/);
    expect(() => fansTogether({}, 1.5, 'series')).toThrow(RangeError);
  });
});

describe('undominated', () => {
  const quiet = { cooler: 'Heron', sound_dBA: 30, rise_K: 60 };
  const middle = { cooler: 'Plover', sound_dBA: 35, rise_K: 55 };
  const beaten = { cooler: 'Dunlin', sound_dBA: 36, rise_K: 57 };
  const cold = { cooler: 'Osprey', sound_dBA: 42, rise_K: 50 };
  it('leaves out what another beats in both, quietest first', () => {
    expect(undominated([cold, beaten, middle, quiet])).toEqual([quiet, middle, cold]);
  });
  it('keeps equals, and drops one that is worse in a single quantity', () => {
    const twin = { ...middle, cooler: 'Twin' };
    expect(undominated([middle, twin])).toHaveLength(2);
    expect(undominated([middle, { ...middle, cooler: 'Louder', sound_dBA: 35.5 }])).toEqual([middle]);
  });
  it('counts only differences of at least the size asked for', () => {
    expect(undominated([middle, beaten], { atLeast_dB: 2, atLeast_K: 3 })).toHaveLength(2);
  });
  it('no point left is beaten, and each point dropped is beaten by one that is left', () => {
    const point = fc.record({
      cooler: fc.constant('x'),
      sound_dBA: fc.integer({ min: 20, max: 30 }),
      rise_K: fc.integer({ min: 40, max: 50 }),
    });
    fc.assert(
      fc.property(fc.array(point, { minLength: 1, maxLength: 12 }), (points) => {
        const left = undominated(points);
        expect(left.length).toBeGreaterThan(0);
        const beats = (a: (typeof points)[0], b: (typeof points)[0]) =>
          a.sound_dBA <= b.sound_dBA &&
          a.rise_K <= b.rise_K &&
          (a.sound_dBA < b.sound_dBA || a.rise_K < b.rise_K);
        for (const p of points) {
          if (left.includes(p)) expect(left.some((q) => beats(q, p))).toBe(false);
          else expect(left.some((q) => beats(q, p))).toBe(true);
        }
      }),
    );
  });
});
