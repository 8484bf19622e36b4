/** What a {@link SplitCovariance} says of some of its rows. */
import { cholesky, logDeterminant, solveLower } from './matrix.ts';
import { type Groups, type SplitCovariance, splitCovariance } from './split-covariance.ts';

/** The covariance of some of its rows. */
export function ofRows(
  { noise, nest, u, columns, precision }: SplitCovariance,
  rows: readonly number[],
): SplitCovariance | undefined {
  const own = Int32Array.from(rows);
  const some = nest && {
    group: own.map((i) => nest.group[i]),
    weight: Float64Array.from(rows, (i) => nest.weight[i]),
    columns: nest.columns,
  };
  const z = new Float64Array(rows.length * columns);
  rows.forEach((i, r) => {
    z.set(u.subarray(i * columns, (i + 1) * columns), r * columns);
  });
  return splitCovariance(
    Float64Array.from(rows, (i) => noise[i]),
    some,
    { z, columns },
    precision,
  );
}

/** Entries of V⁻¹ between some rows, m × m. */
export function precisionOf(v: SplitCovariance, rows: ArrayLike<number>): Float64Array {
  const { columns, weighted, factor } = v;
  const m = rows.length;
  // V⁻¹ = B⁻¹ − (L⁻¹UᵀB⁻¹)ᵀ(L⁻¹UᵀB⁻¹), L·Lᵀ = N.
  const half = new Float64Array(columns * m);
  for (let r = 0; r < m; r++)
    for (let a = 0; a < columns; a++) half[a * m + r] = weighted[rows[r] * columns + a];
  solveLower(factor, columns, half, m);
  const out = new Float64Array(m * m);
  for (let r = 0; r < m; r++) {
    for (let s = 0; s <= r; s++) {
      let sum = inGroups(v, rows[r], rows[s]);
      for (let a = 0; a < columns; a++) sum -= half[a * m + r] * half[a * m + s];
      out[r * m + s] = sum;
      out[s * m + r] = sum;
    }
  }
  return out;
}

/** Entry of B⁻¹. */
function inGroups({ noise, nest, growth }: SplitCovariance, i: number, k: number): number {
  const own = i === k ? 1 / noise[i] : 0;
  const j = nest ? nest.group[i] : -1;
  if (j < 0 || (nest as Groups).group[k] !== j) return own;
  const { weight } = nest as Groups;
  return own - (weight[i] * weight[k]) / (noise[i] * noise[k] * growth[j]);
}

/** xᵀV⁻¹x for an x that is zero but on some rows. */
export function formOn(
  { columns, weighted, factor, noise, nest, growth }: SplitCovariance,
  rows: readonly number[],
  x: ArrayLike<number>,
): number {
  const pulled = new Float64Array(columns);
  const sums = new Map<number, number>();
  let total = 0;
  rows.forEach((i, r) => {
    total += x[r] ** 2 / noise[i];
    for (let a = 0; a < columns; a++) pulled[a] += weighted[i * columns + a] * x[r];
    const j = nest ? nest.group[i] : -1;
    if (j >= 0) sums.set(j, (sums.get(j) ?? 0) + ((nest as Groups).weight[i] * x[r]) / noise[i]);
  });
  for (const [j, sum] of sums) total -= sum ** 2 / growth[j];
  solveLower(factor, columns, pulled);
  for (const value of pulled) total -= value * value;
  return total;
}

/**
 * ln of the density of some rows given all others, where E is 1, without a refit: with Ω = V⁻¹ the rows R have precision Ω_RR and are off by
 * Ω_RR⁻¹·(Ω·x)_R.
 *
 * Ω_RR is (B⁻¹)_RR less Y·N⁻¹·Yᵀ, Y = (B⁻¹U)_R, and so its inverse takes no matrix of the rows either.
 *
 * @param pulled  V⁻¹x of all rows
 */
export function logDensityGivenRest(
  { columns, weighted, factor, normal, noise, nest, growth }: SplitCovariance,
  rows: readonly number[],
  pulled: Float64Array,
): number {
  const m = rows.length;
  // (B⁻¹)_RR⁻¹ = D + D·s·sᵀ·D/(g − sᵀDs), s = D⁻¹b on the rows of a group: b·bᵀ/(g − Σb²/d).
  const rest = new Map<number, number>();
  let log = 0;
  for (const i of rows) {
    log -= Math.log(noise[i]);
    const j = nest ? nest.group[i] : -1;
    if (j < 0) continue;
    rest.set(j, (rest.get(j) ?? growth[j]) - (nest as Groups).weight[i] ** 2 / noise[i]);
  }
  for (const [j, left] of rest) log += Math.log(left / growth[j]);
  const k = columns + 1;
  const x = new Float64Array(m * k);
  const sums = new Map<number, Float64Array>();
  rows.forEach((i, r) => {
    for (let a = 0; a < columns; a++) x[r * k + a] = weighted[i * columns + a];
    x[r * k + columns] = pulled[i];
    const j = nest ? nest.group[i] : -1;
    if (j < 0) return;
    const sum = sums.get(j) ?? new Float64Array(k);
    sums.set(j, sum);
    for (let c = 0; c < k; c++) sum[c] += (nest as Groups).weight[i] * x[r * k + c];
  });
  // N − YᵀXY with X = (B⁻¹)_RR⁻¹: what N would be without the rows; its last row holds YᵀXz and zᵀXz.
  const gram = new Float64Array(k * k);
  const add = (left: Float64Array, offset: number, weight: number) => {
    for (let a = 0; a < k; a++) {
      const value = weight * left[offset + a];
      if (value === 0) continue;
      for (let b = 0; b <= a; b++) gram[a * k + b] += value * left[offset + b];
    }
  };
  rows.forEach((i, r) => {
    add(x, r * k, noise[i]);
  });
  for (const [j, sum] of sums) add(sum, 0, 1 / (rest.get(j) as number));
  const n = normal.slice();
  const toward = new Float64Array(columns);
  for (let a = 0; a < columns; a++) {
    for (let b = 0; b <= a; b++) n[a * columns + b] -= gram[a * k + b];
    toward[a] = gram[columns * k + a];
  }
  if (!cholesky(n, columns)) return Number.NEGATIVE_INFINITY;
  log += logDeterminant(n, columns) - logDeterminant(factor, columns);
  solveLower(n, columns, toward);
  let form = gram[columns * k + columns];
  for (const value of toward) form += value * value;
  return (log - form - m * Math.log(2 * Math.PI)) / 2;
}
