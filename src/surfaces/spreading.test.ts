import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { erf, erfc, erfcIntegral } from '../numerics/error-function.ts';
import { integrate } from '../numerics/quadrature.ts';
import { impedanceBeyondHalfSpace, type Plate, seriesImpedance } from './plate.ts';
import { plateRise } from './plate-rise.ts';
import { type Point, type Rectangle, sharedArea_mm2 } from './rectangle.ts';

/** Of one watt through one source. */
const throughPlate = (plate: Plate, source: Rectangle, at: Point | Rectangle = source, relative = 1e-7) =>
  plateRise(plate, [{ ...source, power_W: 1 }], at, relative);

const copper: Plate = {
  width_mm: 40,
  depth_mm: 40,
  layers: [{ thickness_mm: 4, k_W_per_mK: 400 }],
  sink: { kind: 'film', h_W_per_m2K: 1e4 },
};

describe('error function', () => {
  it('agrees with tabulated values', () => {
    // Abramowitz and Stegun, table 7.1: erf(0.5), erf(1), erf(2); erfc(3), erfc(5) to the digits that scipy 1.17 prints
    expect(erf(0.5)).toBeCloseTo(0.5204998778, 10);
    expect(erf(-1)).toBeCloseTo(-0.8427007929, 10);
    expect(erf(2)).toBeCloseTo(0.995322265, 10);
    expect(erfc(3) / 2.209049699858544e-5).toBeCloseTo(1, 13);
    expect(erfc(5) / 1.5374597944280347e-12).toBeCloseTo(1, 13);
    expect(erfc(-1)).toBeCloseTo(1.8427007929497148, 14);
  });
  it('integrates its complement', () => {
    const numeric = integrate(erfc, 0.7, 12, 1e-14).value;
    expect(erfcIntegral(0.7)).toBeCloseTo(numeric, 12);
  });
});

it('integrates polynomials exactly and a logarithm at its singular end', () => {
  expect(integrate((x) => x ** 20, 0, 1, 1e-12).value).toBeCloseTo(1 / 21, 14);
  expect(integrate(Math.log, 0, 1, 1e-10).value).toBeCloseTo(-1, 9);
});

it('shares the area of two rectangles', () => {
  const a = { x_mm: 0, y_mm: 0, width_mm: 4, depth_mm: 2 };
  expect(sharedArea_mm2(a, { x_mm: 2, y_mm: 1, width_mm: 2, depth_mm: 4 })).toBe(2);
  expect(sharedArea_mm2(a, { x_mm: 9, y_mm: 0, width_mm: 2, depth_mm: 4 })).toBe(0);
});

describe('plate', () => {
  it('has the impedance of a slab in closed form', () => {
    const beta = 300;
    const [t, k, h] = [0.004, 400, 1e4];
    const tanh = Math.tanh(beta * t);
    const expected = (1 / (k * beta)) * ((k * beta + h * tanh) / (k * beta * tanh + h));
    expect(impedanceBeyondHalfSpace(copper, beta) + 1 / (k * beta)).toBeCloseTo(expected, 14);
  });
  it('takes two layers of one material for one', () => {
    const split: Plate = {
      ...copper,
      layers: [
        { thickness_mm: 1.5, k_W_per_mK: 400 },
        { thickness_mm: 2.5, k_W_per_mK: 400 },
      ],
    };
    expect(seriesImpedance(split)).toBeCloseTo(seriesImpedance(copper), 15);
    expect(impedanceBeyondHalfSpace(split, 200) / impedanceBeyondHalfSpace(copper, 200)).toBeCloseTo(1, 10);
  });
});

describe('plate rise', () => {
  const whole = { x_mm: 20, y_mm: 20, width_mm: 40, depth_mm: 40 };
  const even = 0.004 / (400 * 0.0016) + 1 / (1e4 * 0.0016);

  it('is one-dimensional where the source covers the plate', () => {
    const there = throughPlate(copper, whole);
    expect(there.rise_K).toBeCloseTo(even, 10);
    expect(Math.abs(there.spreading_K)).toBeLessThan(1e-8);
    expect(plateRise(copper, [{ ...whole, power_W: 100 }], { x_mm: 3, y_mm: 31 }).rise_K).toBeCloseTo(
      6.875,
      5,
    );
  });

  it('tends to the half-space for a small source on a thick plate', () => {
    // Handbook of Heat Transfer, 3rd ed.: isoflux square of half-widths 1 m on 1 W/mK: 0.2366 K/W (mean), 0.2805 (centre)
    const halfSpace = (size_mm: number, of_2m: number) => (of_2m * 2000) / size_mm;
    const block: Plate = {
      width_mm: 2000,
      depth_mm: 2000,
      layers: [{ thickness_mm: 1000, k_W_per_mK: 1 }],
      sink: { kind: 'isothermal' },
    };
    const source = { x_mm: 1000, y_mm: 1000, width_mm: 10, depth_mm: 10 };
    // the far walls take off about 1 part in 200 of a source 1/200 of the block
    expect(throughPlate(block, source).rise_K / halfSpace(10, 0.2366)).toBeCloseTo(1, 2);
    const ratio = (size: number) =>
      throughPlate(block, { ...source, width_mm: size, depth_mm: size }, { x_mm: 1000, y_mm: 1000 }).rise_K /
      halfSpace(size, 0.2805);
    expect(Math.abs(1 - ratio(1))).toBeLessThan(Math.abs(1 - ratio(10)) / 9);
    expect(Math.abs(1 - ratio(1))).toBeLessThan(1e-3);
  });

  it('tends to a fin where the plate is thin', () => {
    // a strip source across the plate: along x a fin of thickness t, cooled on one face, with heat over part of it
    const [k, t, h, L, a] = [400, 0.0005, 200, 0.1, 0.02];
    const m = Math.sqrt(h / (k * t));
    const plate: Plate = {
      width_mm: 100,
      depth_mm: 50,
      layers: [{ thickness_mm: 0.5, k_W_per_mK: k }],
      sink: { kind: 'film', h_W_per_m2K: h },
    };
    const flux = 1 / (a * 0.05);
    // ends of the plate at x = 0 (middle of the source) and L/2, both insulated
    const atMiddle = (flux / h) * (1 - Math.sinh(m * (L / 2 - a / 2)) / Math.sinh((m * L) / 2));
    const got = plateRise(plate, [{ x_mm: 50, y_mm: 25, width_mm: 20, depth_mm: 50, power_W: 1 }], {
      x_mm: 50,
      y_mm: 25,
    });
    // what the fin leaves out is t/(2k) of the flux, 1.6e-3 of this
    expect(got.rise_K / atMiddle).toBeCloseTo(1, 2);
  });

  it('agrees with the plain double series', () => {
    const source = { x_mm: 12, y_mm: 23, width_mm: 9, depth_mm: 14 };
    const stack: Plate = {
      ...copper,
      layers: [
        { thickness_mm: 2, k_W_per_mK: 380, joint_m2K_per_W: 8e-6 },
        { thickness_mm: 3, k_W_per_mK: 200 },
      ],
    };
    let sum = 0;
    const cells = 900;
    const averaged = (m: number, x: number, w: number) => {
      const half = (m * Math.PI * w) / 80;
      return m === 0 ? 1 : (Math.cos((m * Math.PI * x) / 40) * Math.sin(half)) / half;
    };
    for (let m = 0; m <= cells; m += 1) {
      for (let n = 0; n <= cells; n += 1) {
        if (m + n === 0) continue;
        const beta = (Math.PI * Math.hypot(m, n)) / 0.04;
        const weight = (m ? 2 : 1) * (n ? 2 : 1) * (averaged(m, 12, 9) * averaged(n, 23, 14)) ** 2;
        sum += weight * (1 / (380 * beta) + impedanceBeyondHalfSpace(stack, beta));
      }
    }
    const plain = sum / 0.0016;
    const got = throughPlate(stack, source);
    // the plain series is short by about 2·10⁻⁶ of itself at 900 × 900 terms
    expect(got.spreading_K / plain).toBeCloseTo(1, 5);
    expect(got.spreading_K).toBeGreaterThan(plain);
  });

  it('keeps its own bound: looser tolerances differ by no more than they say', () => {
    const source = { x_mm: 8, y_mm: 30, width_mm: 6, depth_mm: 9 };
    for (const at of [
      source,
      { x_mm: 11, y_mm: 30 },
      { x_mm: 11, y_mm: 34.5 },
      { x_mm: 0, y_mm: 0 },
      { x_mm: 39, y_mm: 2 },
    ]) {
      const fine = throughPlate(copper, source, at, 1e-11);
      for (const relative of [1e-3, 1e-5, 1e-6, 1e-8]) {
        const loose = throughPlate(copper, source, at, relative);
        expect(Math.abs(loose.rise_K - fine.rise_K)).toBeLessThanOrEqual(loose.tail_K + fine.tail_K);
        expect(loose.tail_K).toBeLessThanOrEqual(relative * loose.even_K);
      }
    }
  });

  it('superposes: two halves of a source are the source', () => {
    const left = { x_mm: 15, y_mm: 20, width_mm: 10, depth_mm: 20, power_W: 60 };
    const right = { ...left, x_mm: 25 };
    const both = { x_mm: 20, y_mm: 20, width_mm: 20, depth_mm: 20, power_W: 120 };
    const at = { x_mm: 30, y_mm: 12, width_mm: 7, depth_mm: 3 };
    expect(plateRise(copper, [left, right], at).rise_K).toBeCloseTo(plateRise(copper, [both], at).rise_K, 5);
  });

  it('is reciprocal: source and place may be exchanged', () => {
    const a = { x_mm: 9, y_mm: 11, width_mm: 8, depth_mm: 5 };
    const b = { x_mm: 28, y_mm: 30, width_mm: 12, depth_mm: 3 };
    const there = throughPlate(copper, a, b).rise_K;
    expect(throughPlate(copper, b, a).rise_K).toBeCloseTo(there, 8);
  });

  it('averages to the evenly spread rise over the whole face', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 5, max: 35, noNaN: true }),
        fc.double({ min: 1, max: 9, noNaN: true }),
        (x, w) => {
          const mean = throughPlate(copper, { x_mm: x, y_mm: 20, width_mm: w, depth_mm: 7 }, whole);
          expect(Math.abs(mean.spreading_K)).toBeLessThan(1e-7);
        },
      ),
      { numRuns: 20 },
    );
  });

  it('says what it does not accept', () => {
    expect(() => throughPlate(copper, { x_mm: 38, y_mm: 20, width_mm: 10, depth_mm: 10 })).toThrow(
      /reaches beyond the plate/,
    );
    expect(() => throughPlate({ ...copper, layers: [] }, whole)).toThrow(/no layers/);
    const film: Plate = { ...copper, layers: [{ thickness_mm: 0.002, k_W_per_mK: 4 }, ...copper.layers] };
    expect(() => throughPlate(film, whole)).toThrow(/joint_m2K_per_W/);
  });
});
