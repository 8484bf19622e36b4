import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { conciseUncertainty, decimalsFor, fixed, interval, roundToUncertainty } from './uncertainty.ts';

describe('a value beside its uncertainty', () => {
  it('holds the examples of its documentation', () => {
    expect(roundToUncertainty(38.4187, 0.3141)).toBe('38.42 ± 0.31');
    expect(conciseUncertainty(38.4187, 0.3141)).toBe('38.42(31)');
    expect(conciseUncertainty(38.4187, 1.23)).toBe('38.4(1.2)');
    expect(interval(36.123, 39.871)).toBe('36.1 to 39.9');
    expect(decimalsFor(124)).toBe(-1);
  });

  // JCGM 100:2008, 7.2.2 (the mass standard) and H.3 (slope and intercept): value and uncertainty as the guide prints them.
  it.each([
    [100.02147, 0.00035, '100.02147 ± 0.00035', '100.02147(35)'],
    [-0.1712, 0.0029, '-0.1712 ± 0.0029', '-0.1712(29)'],
    [0.00218, 0.00067, '0.00218 ± 0.00067', '0.00218(67)'],
    [-0.1494, 0.0041, '-0.1494 ± 0.0041', '-0.1494(41)'],
  ])('prints %f with %f as the guide does', (value, u, plain, concise) => {
    expect(roundToUncertainty(value, u)).toBe(plain);
    expect(conciseUncertainty(value, u)).toBe(concise);
  });

  // JCGM 100:2008, 7.2.6: 10.057 62 Ω with 27 mΩ is to be given as 10.058 Ω.
  it('cuts the value to the place of the uncertainty', () => {
    expect(roundToUncertainty(10.05762, 0.027)).toBe('10.058 ± 0.027');
  });

  it('takes the place after rounding the uncertainty', () => {
    expect(roundToUncertainty(5.12345, 0.0996)).toBe('5.12 ± 0.10');
    expect(roundToUncertainty(51.2345, 9.96)).toBe('51 ± 10');
  });

  it('rounds tens and hundreds and never prints a negative zero', () => {
    expect(roundToUncertainty(12345, 1234)).toBe('12300 ± 1200');
    expect(fixed(-0.04, 1)).toBe('0.0');
    expect(roundToUncertainty(-0.001, 0.5)).toBe('0.00 ± 0.50');
  });

  it('says what is not known and takes out a power of ten where the zeros would be counted', () => {
    expect(roundToUncertainty(5, Number.POSITIVE_INFINITY)).toBe('5 ± not known');
    expect(roundToUncertainty(Number.NaN, 1)).toBe('not known');
    expect(roundToUncertainty(1.2346e-7, 1.2e-9)).toBe('(1.235 ± 0.012)e-7');
    expect(interval(Number.NEGATIVE_INFINITY, 3)).toBe('open to 3');
    expect(() => roundToUncertainty(1, -1)).toThrow(RangeError);
  });

  it('keeps the printed value within half a printed unit, for any pair', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e6, max: 1e6, noNaN: true }),
        fc.double({ min: 1e-5, max: 1e5, noNaN: true }),
        (value, u) => {
          const [v, w] = roundToUncertainty(value, u).split(' ± ').map(Number);
          const unit = 10 ** -decimalsFor(u);
          expect(Math.abs(v - value)).toBeLessThanOrEqual(unit * 0.5000001 + 1e-12);
          expect(Math.abs(w - u)).toBeLessThanOrEqual(unit * 0.5000001 + 1e-12);
        },
      ),
    );
  });
});
