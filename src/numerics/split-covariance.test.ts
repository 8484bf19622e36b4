import { inverse, Matrix } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import { denseCovariance, denseLogDensity } from '../../test/dense-covariance.ts';
import { makeRandom } from '../lab/random.ts';
import { formOn, logDensityGivenRest, precisionOf } from './rows-of-covariance.ts';
import { CovarianceLayout, factorForm, splitCovariance } from './split-covariance.ts';

const random = makeRandom(5);
const n = 14;
const draw = (count: number, scale = 1) =>
  Float64Array.from({ length: count }, () => random.normal(0, scale));
const noise = Float64Array.from({ length: n }, () => 0.2 + random.uniform());
// Four groups that do not lie together, and two rows in none.
const nest = {
  group: Int32Array.from({ length: n }, (_, i) => (i > 11 ? -1 : (i * 3) % 4)),
  weight: draw(n),
  columns: 4,
};
const u = { z: draw(n * 3), columns: 3 };
const v = splitCovariance(noise, nest, u)!;
const dense = denseCovariance(v);
// Beside ml-matrix, which this project did not write.
const solved = inverse(new Matrix(Array.from({ length: n }, (_, i) => [...dense.slice(i * n, i * n + n)])));
const x = draw(n, 3);
const answer = solved.mmul(Matrix.columnVector([...x])).to1DArray();

describe('covariance of few directions beside the matrix it stands for', () => {
  it('solves', () => {
    v.solve(x).forEach((value, i) => {
      expect(value).toBeCloseTo(answer[i], 11);
    });
    const two = v.solve(
      Float64Array.from({ length: 2 * n }, (_, k) => (k % 2 === 0 ? x[k / 2] : 1)),
      2,
    );
    for (let i = 0; i < n; i++) expect(two[2 * i]).toBeCloseTo(answer[i], 11);
  });

  it('has its quadratic form, density and square root', () => {
    const form = answer.reduce((sum, value, i) => sum + value * x[i], 0);
    expect(v.form(x)).toBeCloseTo(form, 10);
    expect(v.logDensity(x)).toBeCloseTo(denseLogDensity(dense, x), 10);
    const white = new Float64Array(n + v.columns);
    v.whiten(x, 1, white);
    expect(white.reduce((sum, value) => sum + value ** 2, 0)).toBeCloseTo(form, 10);
    const rows = [1, 5, 13];
    expect(formOn(v, rows, [2, -1, 3])).toBeCloseTo(
      rows.reduce(
        (sum, i, a) => rows.reduce((s, j, b) => s + [2, -1, 3][a] * solved.get(i, j) * [2, -1, 3][b], sum),
        0,
      ),
      10,
    );
    const precision = precisionOf(v, rows);
    rows.forEach((i, a) => {
      rows.forEach((j, b) => {
        expect(precision[a * 3 + b]).toBeCloseTo(solved.get(i, j), 10);
      });
    });
  });

  it('leaves rows out', () => {
    const pulled = v.solve(x);
    for (const rows of [[0], [2, 6, 10], [0, 1, 2, 3, 12], [12, 13], Array.from(x.keys())]) {
      const rest = Array.from(x.keys()).filter((i) => !rows.includes(i));
      const given = denseLogDensity(dense, x) - denseLogDensity(dense, x, rest);
      expect(logDensityGivenRest(v, rows, pulled)).toBeCloseTo(given, 9);
    }
  });

  it('takes further columns', () => {
    const more = { z: draw(n * 2), columns: 2 };
    const wider = v.with(more)!;
    const sum = dense.slice();
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++)
        for (let c = 0; c < 2; c++) sum[i * n + j] += more.z[2 * i + c] * more.z[2 * j + c];
    expect(wider.logDensity(x)).toBeCloseTo(denseLogDensity(sum, x), 10);
  });

  it('is laid out from components, scaled each', () => {
    const own = {
      group: Int32Array.from({ length: n }, (_, i) => i),
      weight: noise.map(Math.sqrt),
      columns: n,
    };
    const layout = new CovarianceLayout(n, [[u, nest], undefined, own], { noise: noise.map((s) => s / 2) });
    const at = layout.at([4, 1, 9])!;
    const sum = dense.map((value, k) => {
      const [i, j] = [Math.floor(k / n), k % n];
      return i === j ? 4 * (value - noise[i]) + 9.5 * noise[i] : 4 * value;
    });
    expect(at.logDensity(x)).toBeCloseTo(denseLogDensity(sum, x), 10);
    expect(factorForm([u, nest], x)).toBeCloseTo(
      x.reduce(
        (total, a, i) =>
          x.reduce((s, b, j) => s + a * b * (dense[i * n + j] - (i === j ? noise[i] : 0)), total),
        0,
      ),
      9,
    );
  });

  it('is refused where a row has no variance of its own', () => {
    expect(splitCovariance(new Float64Array(n), nest, u)).toBeUndefined();
  });
});
