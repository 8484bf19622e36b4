/** Orthogonal factorisations of row-major matrices: QR with column pivoting and singular values. */

/**
 * Householder QR with column pivoting, A·Π = Q·R, in place; Qᵀ is applied to the right-hand sides at once.
 *
 * Pivoting brings the column with most left to explain to the front, so the diagonal of R falls and the numerical
 * rank can be read from it. Scale the columns first if their units differ.
 *
 * @param a       m × n, overwritten: R in the upper triangle of the first min(m, n) rows, zeros below
 * @param pivots  length n, overwritten: column j of R belongs to column `pivots[j]` of A
 * @param b       m × columns, overwritten by Qᵀ·B
 * @param tolerance  a diagonal of R below this fraction of the first counts as zero
 * @param pivoting  false keeps the columns in their order
 * @returns numerical rank
 */
export function qrPivoted(
  a: Float64Array,
  m: number,
  n: number,
  pivots: Int32Array,
  b?: Float64Array,
  columns = 1,
  tolerance = Number.EPSILON * Math.max(m, n),
  pivoting = true,
): number {
  for (let j = 0; j < n; j++) pivots[j] = j;
  const steps = Math.min(m, n);
  for (let k = 0; k < steps; k++) {
    if (pivoting) bringLargestForward(a, m, n, k, pivots);
    let norm = 0;
    for (let i = k; i < m; i++) norm += a[i * n + k] * a[i * n + k];
    if (norm === 0) continue;
    norm = Math.sqrt(norm);
    const head = a[k * n + k];
    const alpha = head > 0 ? -norm : norm;
    const beta = 1 / (norm * (norm + Math.abs(head)));
    a[k * n + k] = head - alpha;
    for (let j = k + 1; j < n; j++) reflect(a, n, j, a, n, k, m, beta);
    if (b) for (let c = 0; c < columns; c++) reflect(b, columns, c, a, n, k, m, beta);
    a[k * n + k] = alpha;
    for (let i = k + 1; i < m; i++) a[i * n + k] = 0;
  }
  const first = Math.abs(a[0]);
  let rank = 0;
  while (rank < steps && Math.abs(a[rank * n + rank]) > tolerance * first) rank++;
  return rank;
}

/** Applies 1 − β·v·vᵀ, v in column k of `a` from row k on, to column `column` of `target`. */
function reflect(
  target: Float64Array,
  width: number,
  column: number,
  a: Float64Array,
  n: number,
  k: number,
  m: number,
  beta: number,
): void {
  let dot = 0;
  for (let i = k; i < m; i++) dot += a[i * n + k] * target[i * width + column];
  dot *= beta;
  for (let i = k; i < m; i++) target[i * width + column] -= dot * a[i * n + k];
}

/** Swaps into place k the column with the largest norm below row k, noting it in `pivots`. */
function bringLargestForward(a: Float64Array, m: number, n: number, k: number, pivots: Int32Array): void {
  let best = k;
  let bestNorm = -1;
  for (let j = k; j < n; j++) {
    let norm = 0;
    for (let i = k; i < m; i++) norm += a[i * n + j] * a[i * n + j];
    if (norm > bestNorm) {
      bestNorm = norm;
      best = j;
    }
  }
  if (best === k) return;
  for (let i = 0; i < m; i++) {
    const held = a[i * n + k];
    a[i * n + k] = a[i * n + best];
    a[i * n + best] = held;
  }
  const held = pivots[k];
  pivots[k] = pivots[best];
  pivots[best] = held;
}

/**
 * Solves R·x = y for the leading `rank` rows of an upper triangle and puts x back into the unpivoted order; entries
 * beyond the rank are zero (a basic solution).
 *
 * @param r  rows of width n, as {@link qrPivoted} leaves them
 * @param y  the first `rank` entries of Qᵀ·b
 * @param x  length n, overwritten
 */
export function solveUpperPivoted(
  r: Float64Array,
  n: number,
  rank: number,
  pivots: Int32Array,
  y: Float64Array,
  x: Float64Array,
): void {
  x.fill(0);
  for (let i = rank - 1; i >= 0; i--) {
    let sum = y[i];
    for (let k = i + 1; k < rank; k++) sum -= r[i * n + k] * x[pivots[k]];
    x[pivots[i]] = sum / r[i * n + i];
  }
}

/**
 * Solves A·x = b for a square matrix; neither is kept.
 *
 * @param a  n × n, overwritten
 * @param b  length n, overwritten
 * @param tolerance  a diagonal of R below this fraction of the first counts as zero
 * @returns x, or `undefined` where the matrix is singular
 * @example solveLinear(Float64Array.of(0, 2, 1, 0), 2, Float64Array.of(4, 3)) // [3, 2]
 */
export function solveLinear(
  a: Float64Array,
  n: number,
  b: Float64Array,
  tolerance = 1e-12,
): Float64Array | undefined {
  const pivots = new Int32Array(n);
  if (qrPivoted(a, n, n, pivots, b, 1, tolerance) < n) return undefined;
  const x = new Float64Array(n);
  solveUpperPivoted(a, n, n, pivots, b, x);
  return x;
}

/**
 * Singular values and right singular vectors of a small matrix by one-sided Jacobi rotations, which finds small
 * singular values to high relative accuracy.
 *
 * @param a  m × n, overwritten by U·Σ (its columns are orthogonal)
 * @param v  n × n, overwritten by V
 * @returns the n singular values in falling order; the columns of `v` and `a` are in that order too
 */
export function singularValues(a: Float64Array, m: number, n: number, v: Float64Array): Float64Array {
  v.fill(0);
  for (let j = 0; j < n; j++) v[j * n + j] = 1;
  for (let sweep = 0; sweep < 60; sweep++) {
    let turned = false;
    for (let p = 0; p < n - 1; p++) {
      for (let q = p + 1; q < n; q++) turned = rotate(a, m, n, v, p, q) || turned;
    }
    if (!turned) break;
  }
  const values = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    let sum = 0;
    for (let i = 0; i < m; i++) sum += a[i * n + j] * a[i * n + j];
    values[j] = Math.sqrt(sum);
  }
  const order = Array.from(values.keys()).sort((p, q) => values[q] - values[p]);
  reorderColumns(a, m, n, order);
  reorderColumns(v, n, n, order);
  return values.sort().reverse();
}

/** One Jacobi rotation that makes columns p and q of `a` orthogonal; false where they already are. */
function rotate(a: Float64Array, m: number, n: number, v: Float64Array, p: number, q: number): boolean {
  let pp = 0;
  let qq = 0;
  let pq = 0;
  for (let i = 0; i < m; i++) {
    const x = a[i * n + p];
    const y = a[i * n + q];
    pp += x * x;
    qq += y * y;
    pq += x * y;
  }
  if (Math.abs(pq) <= Number.EPSILON * Math.sqrt(pp * qq)) return false;
  const zeta = (qq - pp) / (2 * pq);
  const tangent = Math.sign(zeta || 1) / (Math.abs(zeta) + Math.sqrt(1 + zeta * zeta));
  const cosine = 1 / Math.sqrt(1 + tangent * tangent);
  const sine = cosine * tangent;
  turnColumns(a, m, n, p, q, cosine, sine);
  turnColumns(v, n, n, p, q, cosine, sine);
  return true;
}

/** Rotates columns p and q of a row-major matrix into each other (Givens). */
function turnColumns(
  a: Float64Array,
  rows: number,
  n: number,
  p: number,
  q: number,
  cosine: number,
  sine: number,
): void {
  for (let i = 0; i < rows; i++) {
    const x = a[i * n + p];
    const y = a[i * n + q];
    a[i * n + p] = cosine * x - sine * y;
    a[i * n + q] = sine * x + cosine * y;
  }
}

/** Puts column `order[j]` in place j. */
function reorderColumns(a: Float64Array, rows: number, n: number, order: readonly number[]): void {
  const row = new Float64Array(n);
  for (let i = 0; i < rows; i++) {
    for (let j = 0; j < n; j++) row[j] = a[i * n + order[j]];
    a.set(row, i * n);
  }
}
