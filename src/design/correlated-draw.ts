import type { Random } from '../lab/random.ts';

/**
 * A draw from a normal distribution about zero.
 *
 * @param factor  lower Cholesky factor of its covariance, size × size row-major
 */
export function correlatedDraw(factor: Float64Array, size: number, random: Random): Float64Array {
  const z = Float64Array.from({ length: size }, () => random.normal());
  return z.map((_, i) => {
    let sum = 0;
    for (let k = 0; k <= i; k++) sum += factor[i * size + k] * z[k];
    return sum;
  });
}
