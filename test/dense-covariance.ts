import { cholesky, solveLower } from '../src/numerics/matrix.ts';
import type { SplitCovariance } from '../src/numerics/split-covariance.ts';

/** V of a split covariance as a matrix of all rows, n × n: what it never forms and checks compare with. */
export function denseCovariance({ n, noise, nest, u, columns }: SplitCovariance): Float64Array {
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      let sum = i === j ? noise[i] : 0;
      if (nest && nest.group[i] >= 0 && nest.group[i] === nest.group[j])
        sum += nest.weight[i] * nest.weight[j];
      for (let c = 0; c < columns; c++) sum += u[i * columns + c] * u[j * columns + c];
      out[i * n + j] = sum;
    }
  }
  return out;
}

/** ln of the density of some rows of x, from the covariance of all rows as a matrix. */
export function denseLogDensity(
  covariance: Float64Array,
  x: Float64Array,
  rows: readonly number[] = Array.from(x.keys()),
): number {
  const m = rows.length;
  const factor = new Float64Array(m * m);
  rows.forEach((i, a) => {
    rows.forEach((j, b) => {
      factor[a * m + b] = covariance[i * x.length + j];
    });
  });
  if (!cholesky(factor, m)) throw new RangeError('not positive definite');
  const z = Float64Array.from(rows, (i) => x[i]);
  solveLower(factor, m, z);
  return z.reduce((sum, value, a) => sum - Math.log(factor[a * m + a]) - value ** 2 / 2, 0) - m * HALF_LOG;
}

const HALF_LOG = Math.log(2 * Math.PI) / 2;
