import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type FitFormulaOptions, fitFormula } from './fit-formula.ts';

const power_W = [50, 90, 130, 170, 210, 250];
const speed = [1, 0.8, 0.6, 0.45];

/** Rise of a made-up cooler at each load and speed, with a scatter that is the same in every run of the test. */
function coolerData(scatter_K: number) {
  const P: number[] = [];
  const n: number[] = [];
  const y: number[] = [];
  for (const p of power_W) {
    for (const s of speed) {
      P.push(p);
      n.push(s);
      y.push(p * (0.06 + 0.11 * s ** -0.8) * (1 - 2e-4 * p) + scatter_K * Math.sin(7 * P.length ** 1.3));
    }
  }
  return { P, n, y };
}

const formula = 'P*(R_c + R_a*n^(-m))*(1 - k*P)';
const start = { R_c: 0.1, R_a: 0.1, m: 1, k: 1e-4 };

const shuffled = (length: number, seed: number) =>
  Array.from({ length }, (_, i) => i).sort((a, b) => Math.sin(seed + 3 * a) - Math.sin(seed + 3 * b));

describe('what a fit does not depend on', () => {
  it('units of the columns: W or kW, K or mK, fractions or rpm', () => {
    const { P, n, y } = coolerData(0.2);
    const plain = fitFormula({ formula, data: { P, n, y }, start });
    expect(plain.converged).toBe(true);
    const decade = fc.integer({ min: -3, max: 3 }).map((d) => 10 ** d);
    fc.assert(
      fc.property(decade, decade, decade, (fP, fn, fy) => {
        const scaled = fitFormula({
          formula,
          data: { P: P.map((v) => v * fP), n: n.map((v) => v * fn), y: y.map((v) => v * fy) },
          start: {
            R_c: (start.R_c * fy) / fP,
            R_a: ((start.R_a * fy) / fP) * fn,
            m: start.m,
            k: start.k / fP,
          },
        });
        expect(scaled.converged).toBe(true);
        scaled.fitted.forEach((value, i) => {
          expect(Math.abs(value / fy - plain.fitted[i])).toBeLessThan(1e-9 * plain.fitted[i]);
        });
      }),
      { numRuns: 40 },
    );
  });

  it('an origin of the columns, where the formula allows for it', () => {
    const x = Array.from({ length: 15 }, (_, i) => i);
    const y = x.map((t) => 40 - 18 * Math.exp(-0.3 * t) + 0.1 * Math.sin(5 * t));
    const plain = fitFormula({ formula: 'a + b*exp(-c*x)', data: { x, y }, start: { a: 1, b: 1, c: 1 } });
    fc.assert(
      fc.property(
        fc.integer({ min: -50, max: 50 }),
        fc.integer({ min: -300, max: 300 }),
        fc.integer({ min: -3, max: 3 }),
        (dx, dy, decade) => {
          const moved = fitFormula({
            formula: 'a + b*exp(-c*x)',
            data: { x: x.map((t) => t * 10 ** decade + dx * 10 ** decade), y: y.map((v) => v + dy) },
            start: { a: 1, b: 1, c: 10 ** -decade },
          });
          expect(moved.converged).toBe(true);
          moved.fitted.forEach((v, i) => {
            expect(Math.abs(v - dy - plain.fitted[i])).toBeLessThan(1e-9 * 300);
          });
        },
      ),
      { numRuns: 40 },
    );
  });

  it('the order of the rows', () => {
    const { P, n, y } = coolerData(0.2);
    const plain = fitFormula({ formula, data: { P, n, y }, start });
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), (seed) => {
        const order = shuffled(y.length, seed);
        const pick = (column: number[]) => order.map((i) => column[i]);
        const fit = fitFormula({ formula, data: { P: pick(P), n: pick(n), y: pick(y) }, start });
        order.forEach((from, i) => {
          expect(Math.abs(fit.fitted[i] / plain.fitted[from] - 1)).toBeLessThan(1e-12);
        });
        for (const name of plain.names) {
          expect(Math.abs(fit.parameters[name].value / plain.parameters[name].value - 1)).toBeLessThan(1e-12);
        }
      }),
      { numRuns: 40 },
    );
  });

  it('the start, within a factor of five', () => {
    const { P, n, y } = coolerData(0.2);
    const plain = fitFormula({ formula, data: { P, n, y }, start });
    const factor = fc.integer({ min: -10, max: 10 }).map((k) => 5 ** (k / 10));
    fc.assert(
      fc.property(factor, factor, factor, factor, (a, b, c, d) => {
        const fit = fitFormula({
          formula,
          data: { P, n, y },
          start: { R_c: start.R_c * a, R_a: start.R_a * b, m: start.m * c, k: start.k * d },
        });
        expect(fit.converged).toBe(true);
        expect(fit.parameters.m.value).toBeCloseTo(plain.parameters.m.value, 10);
      }),
      { numRuns: 40 },
    );
  });

  it('a common factor of the weights', () => {
    const { P, n, y } = coolerData(0.2);
    const weights = P.map((p) => 1 / p);
    const one = fitFormula({ formula, data: { P, n, y }, start, weights });
    const other = fitFormula({ formula, data: { P, n, y }, start, weights: weights.map((w) => 4000 * w) });
    for (const name of one.names) {
      expect(other.parameters[name].value / one.parameters[name].value).toBeCloseTo(1, 11);
      expect(other.parameters[name].standardError / one.parameters[name].standardError).toBeCloseTo(1, 9);
    }
  });
});

describe('what a fit must find', () => {
  it('the parameters that made data without scatter, to 1e-8', () => {
    const x = Array.from({ length: 20 }, (_, i) => i / 4);
    fc.assert(
      fc.property(
        fc.integer({ min: 5, max: 900 }),
        fc.integer({ min: -900, max: -5 }),
        fc.integer({ min: 10, max: 150 }),
        (a, b, c) => {
          const truth = { a: a / 10, b: b / 10, c: c / 100 };
          const y = x.map((t) => truth.a + truth.b * Math.exp(-truth.c * t));
          const fit = fitFormula({
            formula: 'a + b*exp(-c*x)',
            data: { x, y },
            start: { a: 1, b: -1, c: 1 },
          });
          expect(fit.reason).toBe('');
          for (const [name, value] of Object.entries(truth)) {
            expect(Math.abs(fit.parameters[name].value / value - 1)).toBeLessThan(1e-8);
          }
        },
      ),
      { numRuns: 60 },
    );
  });

  it('the same where every parameter has bounds', () => {
    const { P, n, y } = coolerData(0);
    const fit = fitFormula({
      formula,
      data: { P, n, y },
      start,
      bounds: { R_c: [0, 1], R_a: [0, 1], m: [0.1, 3], k: [-0.01, 0.01] },
    });
    expect(fit.converged).toBe(true);
    expect(fit.parameters.R_c.value / 0.06).toBeCloseTo(1, 8);
    expect(fit.parameters.m.value / 0.8).toBeCloseTo(1, 8);
    expect(fit.parameters.k.value / 2e-4).toBeCloseTo(1, 8);
  });

  it('two exponentials in the order of their starts', () => {
    const x = Array.from({ length: 30 }, (_, i) => i / 5);
    const y = x.map((t) => 3 * Math.exp(-0.4 * t) + 2 * Math.exp(-3 * t));
    for (const [p, q] of [
      [0.1, 20],
      [20, 0.1],
    ]) {
      const fit = fitFormula({
        formula: 'a*exp(-p*x) + b*exp(-q*x)',
        data: { x, y },
        start: { a: 1, p, b: 1, q },
      });
      expect(fit.converged).toBe(true);
      expect(fit.parameters.p.value).toBeCloseTo(p < q ? 0.4 : 3, 8);
      expect(fit.parameters.a.value).toBeCloseTo(p < q ? 3 : 2, 8);
    }
  });

  it('weights as if rows were repeated', () => {
    const x = [1, 2, 3, 4, 5, 6];
    const y = [1.2, 1.9, 3.3, 3.9, 5.2, 5.8];
    const options = { formula: 'a + b*x', start: { a: 0, b: 1 } };
    const weighted = fitFormula({ ...options, data: { x, y }, weights: [1, 2, 1, 3, 0, 1] });
    const repeated = fitFormula({
      ...options,
      data: { x: [1, 2, 2, 3, 4, 4, 4, 6], y: [1.2, 1.9, 1.9, 3.3, 3.9, 3.9, 3.9, 5.8] },
    });
    expect(weighted.parameters.b.value).toBeCloseTo(repeated.parameters.b.value, 12);
    expect(weighted.degreesOfFreedom).toBe(3);
  });
});

describe('bounds, fixed parameters', () => {
  const x = [0, 1, 2, 3, 4, 5];
  const y = [0.1, 2.1, 3.9, 6.2, 7.8, 10.1];

  it('ends on a bound, says so and gives the others their best', () => {
    const fit = fitFormula({
      formula: 'a + b*x',
      data: { x, y },
      start: { a: 1, b: 1 },
      bounds: { a: [0.5, Number.POSITIVE_INFINITY] },
    });
    expect(fit.converged).toBe(true);
    expect(fit.parameters.a).toEqual({ value: 0.5, standardError: 0 });
    const expected = x.reduce((s, t, i) => s + t * (y[i] - 0.5), 0) / x.reduce((s, t) => s + t * t, 0);
    expect(fit.parameters.b.value).toBeCloseTo(expected, 12);
    expect(fit.warnings.join()).toMatch(/a ended on its bound/);
    expect(fit.degreesOfFreedom).toBe(5);
  });

  it('leaves a bound that it only met on the way', () => {
    const fit = fitFormula({
      formula: 'a + b*x',
      data: { x, y },
      start: { a: -3, b: -3 },
      bounds: { a: [-3, 3], b: [-3, 3] },
    });
    expect(fit.parameters.b.standardError).toBeGreaterThan(0);
    expect(fit.warnings).toEqual([]);
  });

  it('holds a fixed parameter', () => {
    const fit = fitFormula({ formula: 'a + b*x', data: { x, y }, start: { a: 0, b: 1 }, fixed: ['a'] });
    expect(fit.parameters.a).toEqual({ value: 0, standardError: 0 });
    expect(fit.degreesOfFreedom).toBe(5);
    expect(fit.converged).toBe(true);
  });
});

describe('data that cannot carry the fit', () => {
  const line = { formula: 'a + b*x', start: { a: 1, b: 1 } };
  const cooler = { formula, start };

  it('one run', () => {
    const fit = fitFormula({ ...line, data: { x: [100], y: [20] } });
    expect(fit.converged).toBe(false);
    expect(fit.reason).toBe('1 row cannot fix 2 parameters');
    const single = fitFormula({ formula: 'R*P', data: { P: [100], y: [20] }, start: { R: 1 } });
    expect(single.converged).toBe(true);
    expect(single.parameters.R.value).toBeCloseTo(0.2, 14);
    expect(single.parameters.R.standardError).toBeNaN();
    expect(single.warnings.join()).toMatch(/scatter.*not known/);
  });

  it('one load, one speed', () => {
    const P = [100, 100, 100, 100, 100, 100];
    const fit = fitFormula({
      formula: 'P*(R_c + R_a*n^(-m))',
      data: { P, n: P.map(() => 1), y: [20, 20.1, 19.9, 20, 20.2, 19.8] },
      start: { R_c: 0.1, R_a: 0.1, m: 1 },
    });
    expect(fit.converged).toBe(false);
    expect(fit.reason).not.toBe('');
    expect([fit.reason, ...fit.warnings].join()).toMatch(
      /R_c and R_a cannot be told apart: .*every row has n = 1/,
    );
    expect(fit.parameters.R_c.standardError).toBe(Number.POSITIVE_INFINITY);
  });

  it('one speed', () => {
    const { P, y } = coolerData(0.1);
    const fit = fitFormula({
      formula: 'P*(R_c + R_a*n^(-0.8))',
      data: { P, n: P.map(() => 0.6), y },
      start: { R_c: 0.1, R_a: 0.1 },
    });
    expect(fit.converged).toBe(false);
    expect(fit.reason).toBe('R_c and R_a cannot be told apart: every row has n = 0.6');
  });

  it('identical rows', () => {
    const data = { P: [100, 100, 100, 100, 100], n: [1, 1, 1, 1, 1], y: [20, 20, 20, 20, 20] };
    const fit = fitFormula({ ...cooler, data });
    expect(fit.converged).toBe(false);
    expect(fit.reason).toMatch(/no effect|told apart/);
  });

  it('no load at all', () => {
    const { n } = coolerData(0);
    const fit = fitFormula({ ...cooler, data: { P: n.map(() => 0), n, y: n.map(() => 0) } });
    expect(fit.converged).toBe(false);
    expect(fit.reason).toMatch(/no effect.*every row has P = 0/);
  });

  it('zero rise at every load', () => {
    const fit = fitFormula({ formula: 'R*P', data: { P: [50, 100, 150], y: [0, 0, 0] }, start: { R: 1 } });
    expect(fit.converged).toBe(true);
    expect(Math.abs(fit.parameters.R.value)).toBeLessThan(1e-15);
  });

  it('one wild reading', () => {
    const { P, n, y } = coolerData(0.1);
    y[7] = 1e6;
    const fit = fitFormula({ formula: 'P*(R_c + R_a/n)', data: { P, n, y }, start: { R_c: 0.1, R_a: 0.1 } });
    expect(fit.converged).toBe(true);
    expect(fit.warnings.join()).toMatch(/row 8 alone makes \d+ % of the sum of squares/);
    const wild = fitFormula({ ...cooler, data: { P, n, y } });
    expect(wild.converged ? wild.warnings.join() : wild.reason).not.toBe('');
  });

  it('values that are no numbers', () => {
    const { P, n, y } = coolerData(0.1);
    n[4] = Number.NaN;
    expect(() => fitFormula({ ...cooler, data: { P, n, y } })).toThrow(
      new RangeError('column n, row 5: NaN is not a finite number'),
    );
    y[2] = Number.POSITIVE_INFINITY;
    expect(() => fitFormula({ ...cooler, data: { P, n: P, y } })).toThrow(/column y, row 3: Infinity/);
  });

  it.each<[string, Partial<FitFormulaOptions>, RegExp]>([
    ['columns of different length', { data: { x: [1, 2], y: [1, 2, 3] } }, /column x has 2 rows and y has 3/],
    ['no y', { data: { x: [1, 2] } }, /no column y/],
    ['no rows', { data: { x: [], y: [] } }, /no rows/],
    ['no parameters', { start: {} }, /names no parameter/],
    ['a start that is no number', { start: { a: Number.NaN, b: 1 } }, /start of a is NaN/],
    ['bounds of a stranger', { bounds: { c: [0, 1] } }, /c is bounded or fixed/],
    ['bounds out of order', { bounds: { a: [2, 1] } }, /bounds of a are not in order/],
    ['weights below zero', { weights: [1, -1, 1] }, /weights, row 2/],
    ['too few weights', { weights: [1] }, /1 weights for 3 rows/],
    ['an unknown name', { formula: 'a + b*z' }, /“z” is not known/],
  ])('refuses %s', (_, change, message) => {
    const options = { ...line, data: { x: [1, 2, 3], y: [1, 2, 3] }, ...change };
    expect(() => fitFormula(options)).toThrow(message);
  });

  it('a parameter that the formula does not use', () => {
    const fit = fitFormula({
      formula: 'a*x',
      data: { x: [1, 2, 3], y: [1, 2.1, 2.9] },
      start: { a: 1, unused: 1 },
    });
    expect(fit.converged).toBe(false);
    expect(fit.reason).toMatch(/unused has no effect/);
    expect(fit.parameters.a.value).toBeCloseTo(1, 1);
  });

  it('a start outside the domain of the formula', () => {
    const fit = fitFormula({
      formula: 'log(a - x)',
      data: { x: [1, 2, 3, 4], y: [1, 0.9, 0.8, 0.6] },
      start: { a: 0 },
      maxEvaluations: 50,
    });
    expect(fit.converged || fit.reason !== '').toBe(true);
    if (!fit.converged) expect(fit.reason).toMatch(/no finite value/);
  });

  it('runs out of evaluations honestly', () => {
    const x = Array.from({ length: 25 }, (_, i) => i);
    const fit = fitFormula({
      formula: 'a*exp(-b*x) + c*exp(-d*x)',
      data: { x, y: x.map((t) => 3 * Math.exp(-0.1 * t) + 2 * Math.exp(-0.5 * t)) },
      start: { a: 1, b: 1, c: 2, d: 5 },
      maxEvaluations: 3,
    });
    expect(fit.converged).toBe(false);
    expect(fit.reason).toMatch(/within 3 evaluations|still moving/);
  });
});

describe('far-off starts', () => {
  const range = (from: number, to: number, step: number) =>
    Array.from({ length: Math.round((to - from) / step) + 1 }, (_, i) => from + i * step);
  /** Nearly normal, of unit deviation, the same in every run. */
  let state = 1;
  const noise = () => {
    let sum = -6;
    for (let k = 0; k < 12; k++) {
      state = (state * 48271) % 2147483647;
      sum += state / 2147483647;
    }
    return sum;
  };

  it('three overlapping shapes: two peaks on a falling ground, 250 rows', () => {
    const x = range(1, 250, 1);
    const peaks = [
      [99, 0.0105, 101, 67.5, 23.1, 72, 179, 18.4],
      [99, 0.011, 102, 107, 23.6, 72, 153, 19.5],
      [99, 0.0109, 101, 111.6, 23.3, 73.7, 147.8, 19.7],
    ];
    const starts = [
      [97, 0.009, 100, 65, 20, 70, 178, 16.5],
      [96, 0.009, 103, 106, 18, 72, 151, 18],
      [94.9, 0.009, 90.1, 113, 20, 73.8, 140, 20],
    ];
    peaks.forEach((b, k) => {
      const y = x.map(
        (t) =>
          b[0] * Math.exp(-b[1] * t) +
          b[2] * Math.exp(-(((t - b[3]) / b[4]) ** 2)) +
          b[5] * Math.exp(-(((t - b[6]) / b[7]) ** 2)) +
          2.3 * noise(),
      );
      const fit = fitFormula({
        formula: 'b1*exp(-b2*x) + b3*exp(-(x - b4)^2/b5^2) + b6*exp(-(x - b7)^2/b8^2)',
        data: { x, y },
        start: Object.fromEntries(starts[k].map((value, j) => [`b${j + 1}`, value])),
      });
      expect(fit.reason).toBe('');
      b.forEach((value, j) => {
        const { value: found, standardError } = fit.parameters[`b${j + 1}`];
        expect(Math.abs(found - value)).toBeLessThan(5 * standardError);
      });
      expect(fit.residualStandardDeviation).toBeLessThan(2.7);
    });
  });

  it('a start on the flat far side of every exponential: found, or refused with a reason', () => {
    const x = range(0, 10, 0.5);
    const y = x.map((t) => 50 * (1 - Math.exp(-0.4 * t)) + 0.3 * noise());
    for (const b of [1e-6, 1e-3, 0.1, 10, 1e3, 1e6]) {
      const fit = fitFormula({ formula: 'a*(1 - exp(-b*x))', data: { x, y }, start: { a: 1, b } });
      if (fit.converged) expect(fit.parameters.b.value).toBeCloseTo(0.4, 1);
      else expect(fit.reason).not.toBe('');
      if (b >= 1e-3 && b <= 10) expect(fit.converged).toBe(true);
    }
  });

  it('data whose best fit lies at infinity are refused', () => {
    const x = range(0, 5, 0.5);
    const y = x.map((t) => 1 + 2 * t);
    const fit = fitFormula({ formula: 'a*(exp(b*x) - 1) + c', data: { x, y }, start: { a: 1, b: 1, c: 0 } });
    expect(fit.converged).toBe(false);
    expect(fit.reason).not.toBe('');
  });
});
