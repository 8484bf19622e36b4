/**
 * Small dense matrices as row-major `Float64Array`: entry (i, j) of an n × k matrix is `a[i * k + j]`, and a vector is a
 * matrix of one column.
 *
 * A cooler has some tens of runs and a formula a handful of parameters, and both are gone through thousands of times: what
 * costs time there is not arithmetic but allocation. Operations named `add…` put their result onto an array of the caller;
 * the factor and the solutions take the place of what they are made from; the others return a new array.
 */

/** aᵀ·b. */
export function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

/** Adds scale·more to an array. */
export function addScaled(to: Float64Array, more: Float64Array, scale = 1): Float64Array {
  for (let i = 0; i < to.length; i++) to[i] += scale * more[i];
  return to;
}

/** Adds one value, or one value each, to the diagonal of an n × n matrix. */
export function addDiagonal(to: Float64Array, n: number, values: number | Float64Array): Float64Array {
  for (let i = 0; i < n; i++) to[i * n + i] += typeof values === 'number' ? values : values[i];
  return to;
}

/** A (n × m) times B (m × k). @example product(Float64Array.of(1, 2, 3, 4), Float64Array.of(1, 1), 2, 2) // [3, 7] */
export function product(a: Float64Array, b: Float64Array, n: number, m: number, k = 1): Float64Array {
  return addProduct(new Float64Array(n * k), a, b, n, m, k);
}

/** Adds scale·A·B to an n × k matrix, A n × m and B m × k. */
export function addProduct(
  to: Float64Array,
  a: Float64Array,
  b: Float64Array,
  n: number,
  m: number,
  k = 1,
  scale = 1,
): Float64Array {
  for (let i = 0; i < n; i++) {
    for (let l = 0; l < m; l++) {
      const factor = scale * a[i * m + l];
      if (factor === 0) continue;
      for (let j = 0; j < k; j++) to[i * k + j] += factor * b[l * k + j];
    }
  }
  return to;
}

/** Aᵀ times B, A n × p and B n × k: p × k. @example transposeProduct(Float64Array.of(1, 2), Float64Array.of(3), 1, 2) // [3, 6] */
export function transposeProduct(
  a: Float64Array,
  b: Float64Array,
  n: number,
  p: number,
  k = 1,
): Float64Array {
  return addTransposeProduct(new Float64Array(p * k), a, b, n, p, k);
}

/** Adds scale·Aᵀ·B to a p × k matrix, A n × p and B n × k. */
export function addTransposeProduct(
  to: Float64Array,
  a: Float64Array,
  b: Float64Array,
  n: number,
  p: number,
  k = 1,
  scale = 1,
): Float64Array {
  for (let i = 0; i < n; i++) {
    for (let l = 0; l < p; l++) {
      const factor = scale * a[i * p + l];
      if (factor === 0) continue;
      for (let j = 0; j < k; j++) to[l * k + j] += factor * b[i * k + j];
    }
  }
  return to;
}

/**
 * Adds scale·Z·Zᵀ to an n × n matrix: a covariance by its factor Z, n × `columns`.
 *
 * A factor that groups runs has one entry a row, and only the entries that are not zero are gone through.
 */
export function addGram(
  to: Float64Array,
  z: Float64Array,
  n: number,
  columns: number,
  scale = 1,
): Float64Array {
  for (let i = 0; i < n; i++) {
    for (let c = 0; c < columns; c++) {
      const left = scale * z[i * columns + c];
      if (left === 0) continue;
      for (let j = 0; j < n; j++) to[i * n + j] += left * z[j * columns + c];
    }
  }
  return to;
}

/** aᵀ·M·b, M with a row for each entry of a and a column for each of b. */
export function bilinearForm(a: Float64Array, m: Float64Array, b: Float64Array): number {
  const k = b.length;
  let sum = 0;
  for (let i = 0; i < a.length; i++) {
    if (a[i] === 0) continue;
    let row = 0;
    for (let j = 0; j < k; j++) row += m[i * k + j] * b[j];
    sum += a[i] * row;
  }
  return sum;
}

/** aᵀ·M·a: the variance of a·x where M is the covariance of x. @example quadraticForm(Float64Array.of(1, -1), Float64Array.of(2, 1, 1, 2)) // 2 */
export function quadraticForm(a: Float64Array, m: Float64Array): number {
  return bilinearForm(a, m, a);
}

/** J·M·Jᵀ, J rows × n: the covariance of the functions J·x where M, n × n, is that of x (GUM, JCGM 102, 6.2). */
export function congruence(j: Float64Array, m: Float64Array, rows: number, n: number): Float64Array {
  return productTranspose(product(j, m, rows, n, n), j, rows, n, rows);
}

/** A (n × m) times Bᵀ, B k × m. @example productTranspose(Float64Array.of(1, 2), Float64Array.of(3, 4), 1, 2, 1) // [11] */
export function productTranspose(
  a: Float64Array,
  b: Float64Array,
  n: number,
  m: number,
  k: number,
): Float64Array {
  const out = new Float64Array(n * k);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < k; j++) {
      let sum = 0;
      for (let l = 0; l < m; l++) sum += a[i * m + l] * b[j * m + l];
      out[i * k + j] = sum;
    }
  }
  return out;
}

/** Aᵀ of an n × m matrix. */
export function transpose(a: Float64Array, n: number, m: number): Float64Array {
  return a.map((_, i) => a[(i % n) * m + Math.floor(i / n)]);
}

/** n × n with one value, or one value each, on the diagonal. */
export function diagonalMatrix(n: number, values: number | Float64Array = 1): Float64Array {
  return addDiagonal(new Float64Array(n * n), n, values);
}

/** Diagonal of an n × n matrix. */
export function diagonal(a: Float64Array, n: number): Float64Array {
  return Float64Array.from({ length: n }, (_, i) => a[i * n + i]);
}

/** The entries of a matrix of `width` columns in some rows and columns, in their order. */
export function submatrix(
  a: Float64Array,
  width: number,
  rows: ArrayLike<number>,
  columns: ArrayLike<number> = rows,
): Float64Array {
  const k = columns.length;
  const out = new Float64Array(rows.length * k);
  for (let i = 0; i < rows.length; i++) {
    for (let j = 0; j < k; j++) out[i * k + j] = a[rows[i] * width + columns[j]];
  }
  return out;
}

/** Sum of the diagonal of an n × n matrix. */
export function trace(a: Float64Array, n: number): number {
  let sum = 0;
  for (let i = 0; i < n; i++) sum += a[i * n + i];
  return sum;
}

/** tr(A·B), both n × n. */
export function traceOfProduct(a: Float64Array, b: Float64Array, n: number): number {
  let sum = 0;
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) sum += a[i * n + j] * b[j * n + i];
  return sum;
}

/**
 * Cholesky factor of a symmetric positive definite matrix, in place: A = L·Lᵀ.
 *
 * Reads only the lower triangle; leaves L there and zeros above it.
 *
 * @param a  n × n, overwritten
 * @returns false (and `a` half done) where a pivot is not positive, or is lost in the rounding of its row: the
 *   matrix is then not safely positive definite
 * @example const a = Float64Array.of(4, 2, 2, 5); cholesky(a, 2); a // [2, 0, 1, 2]
 */
export function cholesky(a: Float64Array, n: number): boolean {
  for (let j = 0; j < n; j++) {
    const rowJ = j * n;
    const diagonal = a[rowJ + j];
    let pivot = diagonal;
    for (let k = 0; k < j; k++) pivot -= a[rowJ + k] * a[rowJ + k];
    if (!(pivot > n * Number.EPSILON * 0.5 * diagonal)) return false;
    const root = Math.sqrt(pivot);
    a[rowJ + j] = root;
    for (let i = j + 1; i < n; i++) {
      const rowI = i * n;
      let sum = a[rowI + j];
      for (let k = 0; k < j; k++) sum -= a[rowI + k] * a[rowJ + k];
      a[rowI + j] = sum / root;
      a[rowJ + i] = 0;
    }
  }
  return true;
}

/**
 * Lower triangle L with L·Lᵀ = A of a symmetric matrix that may be singular: a pivot that is lost in the rounding of its row counts as zero,
 * and so does its column.
 *
 * @param a  n × n, positive semidefinite; left as it is
 * @example rootOf(Float64Array.of(4, 2, 2, 1), 2) // [2, 0, 1, 0]
 */
export function rootOf(a: Float64Array, n: number): Float64Array {
  const l = new Float64Array(n * n);
  for (let j = 0; j < n; j++) {
    let pivot = a[j * n + j];
    for (let k = 0; k < j; k++) pivot -= l[j * n + k] ** 2;
    if (!(pivot > n * Number.EPSILON * a[j * n + j])) continue;
    const root = Math.sqrt(pivot);
    for (let i = j; i < n; i++) {
      let sum = a[i * n + j];
      for (let k = 0; k < j; k++) sum -= l[i * n + k] * l[j * n + k];
      l[i * n + j] = sum / root;
    }
  }
  return l;
}

/**
 * Solves L·X = B in place.
 *
 * @param l  n × n lower triangle (what is above the diagonal is not read)
 * @param b  n × columns, overwritten by X
 */
export function solveLower(l: Float64Array, n: number, b: Float64Array, columns = 1): void {
  for (let i = 0; i < n; i++) {
    const diagonal = l[i * n + i];
    for (let c = 0; c < columns; c++) {
      let sum = b[i * columns + c];
      for (let k = 0; k < i; k++) sum -= l[i * n + k] * b[k * columns + c];
      b[i * columns + c] = sum / diagonal;
    }
  }
}

/**
 * Solves Lᵀ·X = B in place: with {@link solveLower} before it, the solution of A·X = B.
 *
 * @param l  n × n lower triangle
 * @param b  n × columns, overwritten by X
 */
export function solveUpperT(l: Float64Array, n: number, b: Float64Array, columns = 1): void {
  for (let i = n - 1; i >= 0; i--) {
    const diagonal = l[i * n + i];
    for (let c = 0; c < columns; c++) {
      let sum = b[i * columns + c];
      for (let k = i + 1; k < n; k++) sum -= l[k * n + i] * b[k * columns + c];
      b[i * columns + c] = sum / diagonal;
    }
  }
}

/** Solves A·X = B in place, A by its Cholesky factor. */
export function solveFactored(l: Float64Array, n: number, b: Float64Array, columns = 1): Float64Array {
  solveLower(l, n, b, columns);
  solveUpperT(l, n, b, columns);
  return b;
}

/** bᵀ·A⁻¹·b, A by its Cholesky factor: the square of Mahalanobis' distance. */
export function inverseForm(l: Float64Array, b: Float64Array): number {
  const x = b.slice();
  solveLower(l, b.length, x);
  return dot(x, x);
}

/** ln det A from the Cholesky factor of A. */
export function logDeterminant(l: Float64Array, n: number): number {
  let sum = 0;
  for (let i = 0; i < n; i++) sum += Math.log(l[i * n + i]);
  return 2 * sum;
}

/**
 * Inverse of a symmetric positive definite matrix, in place, both triangles filled.
 *
 * @returns false where the matrix is not safely positive definite; `a` is then of no use
 */
export function invertSpd(a: Float64Array, n: number): boolean {
  if (!cholesky(a, n)) return false;
  invertFactored(a, n);
  return true;
}

/**
 * Cholesky factor in place of a matrix that may be singular to rounding: of A, else of A + ridge·I with the first ridge that does.
 *
 * @param ridges  ascending, each small beside what the matrix tells
 * @returns false where none does
 */
export function choleskyWithRidge(a: Float64Array, n: number, ridges: readonly number[]): boolean {
  const given = a.slice();
  if (cholesky(a, n)) return true;
  return ridges.some((ridge) => {
    a.set(given);
    addDiagonal(a, n, new Float64Array(n).fill(ridge));
    return cholesky(a, n);
  });
}

/**
 * Covariance in place of an information matrix. Of what is not told the information is zero to rounding, or a little below: it is then
 * taken as `least`, or as more of it, up to a million times as much.
 *
 * @param least  information that is as good as none
 * @returns false where that does not do
 */
export function invertInformation(a: Float64Array, n: number, least: number): boolean {
  if (!choleskyWithRidge(a, n, [least, 1e2 * least, 1e4 * least, 1e6 * least])) return false;
  invertFactored(a, n);
  return true;
}

/**
 * Inverse of A in place of its Cholesky factor, both triangles filled.
 *
 * @param a  n × n, as {@link cholesky} leaves it
 */
export function invertFactored(a: Float64Array, n: number): void {
  for (let j = 0; j < n; j++) {
    a[j * n + j] = 1 / a[j * n + j];
    for (let i = j + 1; i < n; i++) {
      let sum = 0;
      for (let k = j; k < i; k++) sum += a[i * n + k] * a[k * n + j];
      a[i * n + j] = -sum / a[i * n + i];
    }
  }
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (let k = i; k < n; k++) sum += a[k * n + i] * a[k * n + j];
      a[i * n + j] = sum;
    }
  }
  for (let i = 0; i < n; i++) for (let j = i + 1; j < n; j++) a[i * n + j] = a[j * n + i];
}
