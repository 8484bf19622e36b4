import { describe, expect, it } from 'vitest';
import { cholesky } from '../numerics/matrix.ts';
import { splitCovariance } from '../numerics/split-covariance.ts';
import { shapeScale } from './shape-scale.ts';

describe('scale of one cooler’s departure from the formulas', () => {
  const n = 6;
  const shape = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) shape[i * n + j] = 0.04 * Math.exp(-((i - j) ** 2) / 8);
  cholesky(shape, n);
  const covariance = (scale: number) =>
    splitCovariance(new Float64Array(n).fill(0.01), undefined, {
      z: shape.map((value) => scale * value),
      columns: n,
    })!;

  it('is 1 where the runs lie on the curve', () => {
    expect(shapeScale(new Float64Array(n), covariance)).toBe(1);
    expect(shapeScale(Float64Array.of(0.1, 0.2, 0.1, -0.1, -0.2, 0.1), covariance)).toBe(1);
  });

  it('grows with a smooth departure that the scatter cannot explain', () => {
    const bent = Float64Array.of(-3, -1, 1, 2, 1, -2);
    const scale = shapeScale(bent, covariance);
    expect(scale).toBeGreaterThan(4);
    expect(
      shapeScale(
        bent.map((v) => 2 * v),
        covariance,
      ),
    ).toBeGreaterThan(scale);
  });
});
