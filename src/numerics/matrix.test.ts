import * as fc from 'fast-check';
import { CholeskyDecomposition, inverse, Matrix, SingularValueDecomposition, solve } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import {
  addGram,
  bilinearForm,
  cholesky,
  congruence,
  inverseForm,
  invertSpd,
  logDeterminant,
  product,
  productTranspose,
  quadraticForm,
  solveFactored,
  solveLower,
  solveUpperT,
  submatrix,
  trace,
  traceOfProduct,
  transpose,
  transposeProduct,
} from './matrix.ts';
import { qrPivoted, singularValues, solveUpperPivoted } from './orthogonal.ts';

const entry = fc.integer({ min: -3000, max: 3000 }).map((k) => k / 1000);
const tallMatrix = fc
  .record({ n: fc.integer({ min: 1, max: 6 }), extra: fc.integer({ min: 0, max: 5 }) })
  .chain(({ n, extra }) =>
    fc.record({
      n: fc.constant(n),
      m: fc.constant(n + extra),
      a: fc.array(entry, { minLength: n * (n + extra), maxLength: n * (n + extra) }),
    }),
  );

/** AᵀA + 1, row-major, and the same as a Matrix. */
function positiveDefinite(a: number[], m: number, n: number): { flat: Float64Array; matrix: Matrix } {
  const rows = Matrix.from1DArray(m, n, a);
  const matrix = rows.transpose().mmul(rows).add(Matrix.eye(n));
  return { flat: Float64Array.from(matrix.to1DArray()), matrix };
}

function expectClose(actual: ArrayLike<number>, expected: ArrayLike<number>, tolerance: number): void {
  expect(actual.length).toBe(expected.length);
  for (let i = 0; i < expected.length; i++) {
    expect(Math.abs(actual[i] - expected[i])).toBeLessThanOrEqual(tolerance * (1 + Math.abs(expected[i])));
  }
}

describe('products beside ml-matrix', () => {
  it('of two matrices, either of them transposed, with their traces and forms', () => {
    fc.assert(
      fc.property(tallMatrix, ({ m, n, a }) => {
        const flat = Float64Array.from(a);
        const matrix = Matrix.from1DArray(m, n, a);
        const square = matrix.transpose().mmul(matrix);
        expectClose(transpose(flat, m, n), matrix.transpose().to1DArray(), 0);
        expectClose(transposeProduct(flat, flat, m, n, n), square.to1DArray(), 1e-13);
        expectClose(
          productTranspose(flat, flat, m, n, m),
          matrix.mmul(matrix.transpose()).to1DArray(),
          1e-13,
        );
        const gram = addGram(new Float64Array(m * m), flat, m, n, 2);
        expectClose(gram, matrix.mmul(matrix.transpose()).mul(2).to1DArray(), 1e-13);
        const inner = Float64Array.from(square.to1DArray());
        expectClose(product(flat, inner, m, n, n), matrix.mmul(square).to1DArray(), 1e-12);
        const through = matrix.mmul(square).mmul(matrix.transpose());
        expectClose(congruence(flat, inner, m, n), through.to1DArray(), 1e-12);
        expectClose(
          [trace(inner, n), traceOfProduct(inner, inner, n)],
          [square.trace(), square.mmul(square).trace()],
          1e-12,
        );
        const [first, last] = [flat.slice(0, n), flat.slice((m - 1) * n)];
        const form = (i: number, k: number) => through.get(i, k);
        expectClose(
          [quadraticForm(first, inner), bilinearForm(first, inner, last)],
          [form(0, 0), form(0, m - 1)],
          1e-11,
        );
        const rows = [m - 1, 0];
        expectClose(submatrix(flat, n, rows, [n - 1]), matrix.selection(rows, [n - 1]).to1DArray(), 0);
      }),
    );
  });
});

describe('factors beside ml-matrix', () => {
  it('solves by a factor, and takes the inverse form from it', () => {
    fc.assert(
      fc.property(tallMatrix, ({ m, n, a }) => {
        const { flat, matrix } = positiveDefinite(a, m, n);
        const b = Float64Array.from({ length: n }, (_, i) => Math.cos(i));
        const x = solve(matrix, Matrix.columnVector([...b])).to1DArray();
        expect(cholesky(flat, n)).toBe(true);
        expectClose([inverseForm(flat, b)], [x.reduce((sum, value, i) => sum + value * b[i], 0)], 1e-9);
        expectClose(solveFactored(flat, n, b), x, 1e-9);
      }),
    );
  });

  it('factors the example of the comment', () => {
    const a = Float64Array.of(4, 2, 2, 5);
    expect(cholesky(a, 2)).toBe(true);
    expect([...a]).toEqual([2, 0, 1, 2]);
    expect(logDeterminant(a, 2)).toBeCloseTo(Math.log(16), 14);
  });

  it('cholesky and its two triangular solves', () => {
    fc.assert(
      fc.property(tallMatrix, ({ m, n, a }) => {
        const { flat, matrix } = positiveDefinite(a, m, n);
        const right = Matrix.from1DArray(
          n,
          2,
          Array.from({ length: 2 * n }, (_, i) => Math.sin(i + 1)),
        );
        const x = Float64Array.from(right.to1DArray());
        expect(cholesky(flat, n)).toBe(true);
        expectClose(flat, new CholeskyDecomposition(matrix).lowerTriangularMatrix.to1DArray(), 1e-11);
        solveLower(flat, n, x, 2);
        solveUpperT(flat, n, x, 2);
        expectClose(x, solve(matrix, right).to1DArray(), 1e-9);
      }),
    );
  });

  it('inverse', () => {
    fc.assert(
      fc.property(tallMatrix, ({ m, n, a }) => {
        const { flat, matrix } = positiveDefinite(a, m, n);
        expect(invertSpd(flat, n)).toBe(true);
        expectClose(flat, inverse(matrix).to1DArray(), 1e-9);
      }),
    );
  });

  it('refuses what is not positive definite', () => {
    expect(cholesky(Float64Array.of(1, 2, 2, 1), 2)).toBe(false);
    expect(cholesky(Float64Array.of(1, 1, 1, 1), 2)).toBe(false);
    expect(cholesky(Float64Array.of(Number.NaN), 1)).toBe(false);
  });

  it('pivoted QR gives the least-squares solution and a falling diagonal', () => {
    fc.assert(
      fc.property(tallMatrix, ({ m, n, a }) => {
        const matrix = Matrix.from1DArray(m, n, a);
        const svd = new SingularValueDecomposition(matrix);
        fc.pre(svd.condition < 1e4);
        const right = Float64Array.from({ length: m }, (_, i) => Math.cos(3 * i));
        const expected = svd.solve(Matrix.columnVector([...right])).to1DArray();
        const r = Float64Array.from(a);
        const pivots = new Int32Array(n);
        const x = new Float64Array(n);
        expect(qrPivoted(r, m, n, pivots, right)).toBe(n);
        for (let j = 1; j < n; j++) {
          expect(Math.abs(r[j * n + j])).toBeLessThanOrEqual(Math.abs(r[(j - 1) * n + j - 1]) * (1 + 1e-12));
        }
        solveUpperPivoted(r, n, n, pivots, right, x);
        expectClose(x, expected, 1e-8);
      }),
    );
  });

  it('pivoted QR sees a column that repeats another', () => {
    const a = Float64Array.of(1, 2, 1, 1, 3, 1, 1, 5, 1, 1, 7, 1);
    expect(qrPivoted(a, 4, 3, new Int32Array(3))).toBe(2);
  });

  it('singular values and vectors', () => {
    fc.assert(
      fc.property(tallMatrix, ({ m, n, a }) => {
        const matrix = Matrix.from1DArray(m, n, a);
        const expected = new SingularValueDecomposition(matrix).diagonal;
        const work = Float64Array.from(a);
        const v = new Float64Array(n * n);
        const values = singularValues(work, m, n, v);
        expectClose(values, expected, 1e-12 * (1 + expected[0]));
        const product = Matrix.from1DArray(m, n, [...work]).mmul(
          Matrix.from1DArray(n, n, [...v]).transpose(),
        );
        expectClose(product.to1DArray(), a, 1e-12 * (1 + expected[0]));
      }),
    );
  });
});
