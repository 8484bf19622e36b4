import { describe, expect, it } from 'vitest';
import { shapeScale } from './shape-scale.ts';

describe('scale of one cooler’s departure from the formulas', () => {
  const n = 6;
  const covariance = new Float64Array(n * n);
  const shape = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    covariance[i * n + i] = 0.01;
    for (let j = 0; j < n; j++) shape[i * n + j] = 0.04 * Math.exp(-((i - j) ** 2) / 8);
  }

  it('is 1 where the runs lie on the curve', () => {
    expect(shapeScale(new Float64Array(n), covariance, shape)).toBe(1);
    expect(shapeScale(Float64Array.of(0.1, 0.2, 0.1, -0.1, -0.2, 0.1), covariance, shape)).toBe(1);
  });

  it('grows with a smooth departure that the scatter cannot explain', () => {
    const bent = Float64Array.of(-3, -1, 1, 2, 1, -2);
    const scale = shapeScale(bent, covariance, shape);
    expect(scale).toBeGreaterThan(4);
    expect(
      shapeScale(
        bent.map((v) => 2 * v),
        covariance,
        shape,
      ),
    ).toBeGreaterThan(scale);
  });
});
