import { expect, it } from 'vitest';
import { pooledLimits } from '../../src/fit/pooled-limits.ts';

it('a limit believed by what other coolers of the diameter show is that of quadrature with scipy', () => {
  // test/published/scripts/pooled-limits.py, scipy.integrate.quad over what is common and each cooler's own.
  const of = (limit_W: number) => ({ limit_W, spread: 0.45, group: 6 });
  // What a limit found at a heat with a deviation says of its places.
  const found = (W: number, deviation: number) =>
    Array.from({ length: 401 }, (_, k) => {
      const z = (k - 200) / 25;
      return { at: Math.log(W) + deviation * z, likelihood: Math.exp((-z * z) / 2) };
    });
  const [, , asked] = pooledLimits([
    { described: of(270), seen_W: 180, weight: 1, places: found(150, 0.05) },
    { described: of(225), seen_W: 240, weight: 0.2, places: found(230, 0.1) },
    { described: of(180), seen_W: 100, weight: 0, places: [] },
  ]);
  expect(asked.limit_W / 157.88450478842992).toBeCloseTo(1, 4);
  expect(asked.spread / 0.3740664996187426).toBeCloseTo(1, 4);
});
