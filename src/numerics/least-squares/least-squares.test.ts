import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type LeastSquaresProblem, solveLeastSquares } from './least-squares.ts';
import { scatteredStart } from './starts.ts';

/** y = a + b·exp(−c·x) at x = 0, 1, … with given readings. */
function decay(y: number[], more: Partial<LeastSquaresProblem> = {}): LeastSquaresProblem {
  return {
    residualCount: y.length,
    names: ['a', 'b', 'c'],
    start: [1, 1, 1],
    residual: ([a, b, c], r, jacobian) => {
      for (let i = 0; i < y.length; i++) {
        const e = Math.exp(-c * i);
        r[i] = a + b * e - y[i];
        if (jacobian) {
          jacobian[3 * i] = 1;
          jacobian[3 * i + 1] = e;
          jacobian[3 * i + 2] = -b * i * e;
        }
      }
    },
    ...more,
  };
}

const readings = [10.1, 7.4, 5.9, 4.7, 4.2, 3.6, 3.5, 3.2];

describe('solveLeastSquares', () => {
  it('fits the example of the comment', () => {
    const fit = solveLeastSquares({
      residualCount: 2,
      names: ['b'],
      start: [1],
      residual: ([b], r, jacobian) => {
        r[0] = b - 2;
        r[1] = 2 * b - 4;
        if (jacobian) {
          jacobian[0] = 1;
          jacobian[1] = 2;
        }
      },
    });
    expect(fit.converged).toBe(true);
    expect(fit.parameters[0]).toBeCloseTo(2, 14);
    expect(fit.degreesOfFreedom).toBe(1);
  });

  it('ends where the gradient is zero, whether linear parameters are named or not', () => {
    const plain = solveLeastSquares(decay(readings));
    const separated = solveLeastSquares(decay(readings, { linear: [0, 1] }));
    for (const fit of [plain, separated]) {
      expect(fit.reason).toBe('');
      expect(fit.relativeOffset).toBeLessThan(1e-9);
      const r = new Float64Array(8);
      const jacobian = new Float64Array(24);
      decay(readings).residual(fit.parameters, r, jacobian);
      for (let j = 0; j < 3; j++) {
        let dot = 0;
        for (let i = 0; i < 8; i++) dot += jacobian[3 * i + j] * r[i];
        expect(Math.abs(dot)).toBeLessThan(1e-11);
      }
    }
    plain.parameters.forEach((value, j) => {
      expect(separated.parameters[j]).toBeCloseTo(value, 10);
    });
  });

  it('gives the covariance (JᵀJ)⁻¹ and standard errors scaled by the residuals', () => {
    const fit = solveLeastSquares(decay(readings));
    const r = new Float64Array(8);
    const jacobian = new Float64Array(24);
    decay(readings).residual(fit.parameters, r, jacobian);
    for (let j = 0; j < 3; j++) {
      for (let k = 0; k < 3; k++) {
        let sum = 0;
        for (let l = 0; l < 3; l++) {
          let inner = 0;
          for (let i = 0; i < 8; i++) inner += jacobian[3 * i + j] * jacobian[3 * i + l];
          sum += inner * fit.covariance[3 * l + k];
        }
        expect(sum).toBeCloseTo(j === k ? 1 : 0, 9);
      }
      const expected = fit.residualStandardDeviation * Math.sqrt(fit.covariance[4 * j]);
      expect(fit.standardErrors[j]).toBeCloseTo(expected, 12);
    }
  });

  it('takes a prior as one more observation', () => {
    const prior = { mean: 0.5, standardDeviation: 0.01 };
    const fit = solveLeastSquares(decay(readings, { priors: [undefined, undefined, prior] }));
    const base = decay(readings);
    const asRow = solveLeastSquares({
      ...base,
      residualCount: 9,
      residual: (p, r, jacobian) => {
        base.residual(p, r, jacobian);
        r[8] = (p[2] - prior.mean) / prior.standardDeviation;
        if (jacobian) jacobian.set([0, 0, 1 / prior.standardDeviation], 24);
      },
    });
    fit.parameters.forEach((value, j) => {
      expect(value).toBeCloseTo(asRow.parameters[j], 11);
    });
    expect(fit.degreesOfFreedom).toBe(6);
  });

  it('lets a prior tell what the data cannot', () => {
    const y = [5, 5, 5, 5];
    const residual: LeastSquaresProblem['residual'] = ([a, b], r, jacobian) => {
      for (let i = 0; i < 4; i++) {
        r[i] = a + b - y[i];
        jacobian?.set([1, 1], 2 * i);
      }
    };
    const base = { residualCount: 4, names: ['R_c', 'R_a'], start: [1, 1], residual };
    const without = solveLeastSquares({ ...base, hint: 'every run is at one fan speed' });
    expect(without.converged).toBe(false);
    expect(without.reason).toBe('R_c and R_a cannot be told apart: every run is at one fan speed');
    expect(without.standardErrors[0]).toBe(Number.POSITIVE_INFINITY);
    const withPrior = solveLeastSquares({
      ...base,
      priors: [{ mean: 2, standardDeviation: 0.1 }, undefined],
    });
    expect(withPrior.converged).toBe(true);
    expect([...withPrior.parameters]).toEqual([expect.closeTo(2, 10), expect.closeTo(3, 10)]);
  });

  it('holds fixed parameters and leaves their rows of the covariance zero', () => {
    const fit = solveLeastSquares(
      decay(readings, { start: [3, 7, 1], fixed: [true, false, false], linear: [0, 1] }),
    );
    expect(fit.parameters[0]).toBe(3);
    expect([...fit.covariance.slice(0, 3)]).toEqual([0, 0, 0]);
    expect(fit.degreesOfFreedom).toBe(6);
    const all = solveLeastSquares(decay(readings, { start: [3, 7, 0.5], fixed: [true, true, true] }));
    expect([...all.parameters]).toEqual([3, 7, 0.5]);
    expect(all.converged).toBe(true);
  });

  it('meets the conditions of a minimum on its bounds', () => {
    const bound = fc.integer({ min: -20, max: 120 }).map((k) => k / 10);
    fc.assert(
      fc.property(bound, bound, bound, fc.boolean(), (a, b, c, above) => {
        const open = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
        const problem = decay(readings, {
          start: [a, b, c / 10],
          ...(above
            ? { low: [a, b, c / 10] }
            : { low: open.map((v) => -v), high: [a, b, Math.max(c / 10, 0.05)] }),
          maxEvaluations: 4000,
        });
        const fit = solveLeastSquares(problem);
        if (!fit.converged) {
          expect(fit.reason).not.toBe('');
          return;
        }
        const r = new Float64Array(8);
        const jacobian = new Float64Array(24);
        problem.residual(fit.parameters, r, jacobian);
        for (let j = 0; j < 3; j++) {
          let gradient = 0;
          let norm = 0;
          for (let i = 0; i < 8; i++) {
            gradient += jacobian[3 * i + j] * r[i];
            norm = Math.hypot(norm, jacobian[3 * i + j]);
          }
          const atLow = fit.parameters[j] <= (problem.low?.[j] ?? Number.NEGATIVE_INFINITY);
          const atHigh = fit.parameters[j] >= (problem.high?.[j] ?? Number.POSITIVE_INFINITY);
          // In the parameter's own scale: the cosine between its column and the residuals (Bates and Watts 1981, Technometrics 23, 179).
          const small = 1e-5 * Math.max(1, norm) * (1 + Math.sqrt(fit.residualSumOfSquares));
          if (!atLow) expect(gradient).toBeLessThan(small);
          if (!atHigh) expect(gradient).toBeGreaterThan(-small);
        }
      }),
      { numRuns: 60, examples: [[7.4, 4.6, 11.6, false]] },
    );
  });

  it('uses further starts and keeps the lowest minimum', () => {
    const x = Array.from({ length: 40 }, (_, i) => i / 4);
    const wave = (start: number[], moreStarts?: number[][]) =>
      solveLeastSquares({
        residualCount: 40,
        names: ['a', 'w'],
        start,
        moreStarts,
        linear: [0],
        residual: ([a, w], r, jacobian) => {
          x.forEach((t, i) => {
            r[i] = a * Math.sin(w * t) - 2 * Math.sin(3 * t);
            jacobian?.set([Math.sin(w * t), a * t * Math.cos(w * t)], 2 * i);
          });
        },
      });
    const first = wave([1, 1]);
    expect(first.residualSumOfSquares).toBeGreaterThan(10);
    const best = wave(
      [1, 1],
      [
        [1, 2],
        [1, 2.9],
        [1, 5],
      ],
    );
    expect(best.parameters[1]).toBeCloseTo(3, 9);
  });

  it('says where a model does not exist', () => {
    const fit = solveLeastSquares(
      decay(readings, {
        residual: (_, r, jacobian) => {
          r.fill(Number.NaN);
          jacobian?.fill(Number.NaN);
        },
      }),
    );
    expect(fit.converged).toBe(false);
    expect(fit.reason).toMatch(/no finite value/);
  });

  it('does not call the end of a valley without floor a minimum', () => {
    // 1/a has no least value: the data want a at infinity.
    const fit = solveLeastSquares({
      residualCount: 3,
      names: ['a'],
      start: [1],
      residual: ([a], r, jacobian) => {
        for (let i = 0; i < 3; i++) {
          r[i] = 1 / a + 1 + i;
          if (jacobian) jacobian[i] = -1 / (a * a);
        }
      },
    });
    expect(fit.converged).toBe(false);
    expect(fit.reason).toMatch(/still moving|no effect|no step/);
  });

  it.each<[string, Partial<LeastSquaresProblem>, RegExp]>([
    ['a start of another length', { start: [1] }, /the start has 1 values for 3 parameters/],
    ['a start that is no number', { start: [1, Number.NaN, 1] }, /start of b is not a finite number/],
    ['bounds out of order', { low: [0, 2, 0], high: [1, 1, 1] }, /bounds of b are not in order/],
    [
      'a prior without width',
      { priors: [{ mean: 1, standardDeviation: 0 }] },
      /prior of a needs a finite mean and a positive/,
    ],
  ])('refuses %s', (_, change, message) => {
    expect(() => solveLeastSquares(decay(readings, change))).toThrow(message);
  });

  it('refuses more parameters than rows', () => {
    const fit = solveLeastSquares(decay([1, 2]));
    expect(fit.converged).toBe(false);
    expect(fit.reason).toBe('2 rows cannot fix 3 parameters');
  });
});

describe('scatteredStart', () => {
  it('stays within bounds and is the same each time', () => {
    const problem = {
      rows: 1,
      size: 3,
      low: Float64Array.of(0, 1e-3, Number.NEGATIVE_INFINITY),
      high: Float64Array.of(1, 10, 0),
      scale: Float64Array.of(1, 1, 1),
      dataNorm: 0,
      budget: { used: 0, limit: 1 },
      evaluate: () => 0,
    };
    const centre = Float64Array.of(0.5, 1, -2);
    for (let k = 1; k < 200; k++) {
      const point = scatteredStart(problem, centre, k);
      point.forEach((value, j) => {
        expect(value).toBeGreaterThanOrEqual(problem.low[j]);
        expect(value).toBeLessThanOrEqual(problem.high[j]);
      });
      expect([...scatteredStart(problem, centre, k)]).toEqual([...point]);
    }
  });
});
