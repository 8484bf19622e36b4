import { describe, expect, it } from 'vitest';
import { solveLeastSquares } from './least-squares.ts';

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
});
