import { cholesky, invertFactored, logDeterminant, solveFactored } from './matrix.ts';

/** A covariance Z·Zᵀ by the columns of its factor Z, n × `columns` row-major. */
export interface Columns {
  readonly z: Float64Array;
  readonly columns: number;
}

/** The same where every row has at most one entry: row i holds `weight[i]` in column `group[i]`, and nothing where that is −1. */
export interface Groups {
  readonly group: Int32Array;
  readonly weight: Float64Array;
  readonly columns: number;
}

/** A covariance by its factor: a grouping factor has one column a group, independent noise one a row. */
export type ComponentFactor = Columns | Groups;

/** One entry a variance component, in one part or more; `undefined` where it is absent. */
export type Components = readonly (ComponentFactor | readonly ComponentFactor[] | undefined)[];

/** What a layout has beside its components: neither is scaled. */
export interface LayoutOptions {
  /** Variance known of each row, n. */
  readonly noise?: Float64Array;
  /** Covariance known beforehand, by its factor. */
  readonly known?: Columns;
  /** A mean curve's design, whose coefficients are integrated out. */
  readonly design?: Columns;
}

/** What a component adds: variances of single rows, the nested groups, or columns `from` … `to`. */
export type Role =
  | { readonly component: number; readonly kind: 'own'; readonly squares: Float64Array }
  | { readonly component: number; readonly kind: 'nest' }
  | { readonly component: number; readonly kind: 'columns'; readonly from: number; readonly to: number };

/**
 * Σ_k σ_k²·Z_k·Z_kᵀ laid out for {@link SplitCovariance}: factors of one row a column go to the diagonal, the grouping of most
 * groups is the nest, and all others are columns. Done once, since only the σ change while a fit goes on.
 */
export class CovarianceLayout {
  readonly n: number;
  readonly roles: readonly Role[];
  /** Columns in all, the design's last. */
  readonly columns: number;
  readonly #nest: (Groups & { component: number }) | undefined;
  readonly #noise: Float64Array | undefined;
  /** n × columns for σ = 1, and the component of each column (−1: not scaled). */
  readonly #unscaled: Float64Array;
  readonly #componentOf: Int32Array;

  constructor(n: number, components: Components, { noise, known, design }: LayoutOptions = {}) {
    this.n = n;
    this.#noise = noise;
    const roles: Role[] = [];
    const groupings: (Groups & { component: number })[] = [];
    const dense: { component: number; factor: ComponentFactor }[] = known
      ? [{ component: -1, factor: known }]
      : [];
    components.forEach((parts, component) => {
      for (const factor of partsOf(parts)) {
        const groups = asGroups(factor, n);
        if (!groups) dense.push({ component, factor });
        else if (isOwn(groups)) roles.push({ component, kind: 'own', squares: squaresOf(groups) });
        else groupings.push({ ...groups, component });
      }
    });
    groupings.sort((a, b) => b.columns - a.columns);
    this.#nest = groupings[0];
    if (this.#nest) roles.push({ component: this.#nest.component, kind: 'nest' });
    for (const { component, ...factor } of groupings.slice(1)) dense.push({ component, factor });
    if (design && design.columns > 0) dense.push({ component: -1, factor: design });
    const columns = dense.reduce((sum, { factor }) => sum + factor.columns, 0);
    this.columns = columns;
    this.#unscaled = new Float64Array(n * columns);
    this.#componentOf = new Int32Array(columns).fill(-1);
    let from = 0;
    for (const { component, factor } of dense) {
      putColumns(this.#unscaled, factor, n, columns, from);
      const to = from + factor.columns;
      if (component >= 0) roles.push({ component, kind: 'columns', from, to });
      this.#componentOf.fill(component, from, to);
      from = to;
    }
    this.roles = roles;
  }

  /**
   * The covariance for some variances σ_k².
   *
   * @param precision  of the coefficients of all columns, columns × columns; absent: 1 each
   * @param jitter  share of each row's variance that is added to it
   * @returns `undefined` where it is not positive definite
   */
  at(variances: ArrayLike<number>, precision?: Float64Array, jitter = 0): SplitCovariance | undefined {
    const { n, columns } = this;
    const [nest, componentOf] = [this.#nest, this.#componentOf];
    const u = this.#unscaled.slice();
    for (let c = 0; c < columns; c++) {
      if (componentOf[c] < 0) continue;
      const deviation = Math.sqrt(variances[componentOf[c]]);
      for (let at = c; at < u.length; at += columns) u[at] *= deviation;
    }
    const noise = this.#noise ? this.#noise.slice() : new Float64Array(n);
    for (const role of this.roles) {
      if (role.kind !== 'own') continue;
      const variance = variances[role.component];
      for (let i = 0; i < n; i++) noise[i] += variance * role.squares[i];
    }
    const scale = nest ? Math.sqrt(variances[nest.component]) : 0;
    const scaled = nest && { ...nest, weight: nest.weight.slice() };
    if (scaled) for (let i = 0; i < n; i++) scaled.weight[i] *= scale;
    for (let i = 0; jitter > 0 && i < n; i++) {
      let variance = noise[i] + (scaled ? scaled.weight[i] ** 2 : 0);
      for (let c = 0; c < columns; c++) variance += u[i * columns + c] ** 2;
      noise[i] += jitter * variance;
    }
    return splitCovariance(noise, scaled, { z: u, columns }, precision);
  }
}

/**
 * Covariance of few directions, V = D + Σ_j b_j·b_jᵀ + U·E⁻¹·Uᵀ with D diagonal, the b_j on groups of rows that do not overlap, and U of
 * few columns.
 *
 * With B = D + Σ b_j·b_jᵀ, which is inverted group by group (Sherman and Morrison), and N = UᵀB⁻¹U + E, the answer to x is
 * V⁻¹x = B⁻¹(x − U·c), c = N⁻¹UᵀB⁻¹x (Woodbury), so that work and memory grow with the rows and not with their square. c are the likeliest
 * coefficients of the columns, and what is left is small before it is weighted: nothing large is subtracted from something as large.
 *
 * Where E has a block of a design with a flat or a Gaussian prior, V⁻¹ is the P of restricted likelihood.
 *
 * Source: Harville (1977) JASA 72, 320 (the mixed-model equations); Golub and Van Loan, Matrix Computations, 4th ed., 2.1.4.
 */
export class SplitCovariance {
  readonly n: number;
  readonly columns: number;
  readonly noise: Float64Array;
  readonly nest: Groups | undefined;
  /** U, n × columns. */
  readonly u: Float64Array;
  /** E, absent: 1 on the diagonal. */
  readonly precision: Float64Array | undefined;
  /** 1 + b_jᵀD⁻¹b_j. */
  readonly growth: Float64Array;
  /** B⁻¹U, n × columns. */
  readonly weighted: Float64Array;
  /** N, its lower triangle; and its Cholesky factor. */
  readonly normal: Float64Array;
  readonly factor: Float64Array;
  /** ln|B| + ln|N|, which is ln|V| + ln|E|. */
  readonly logDeterminant: number;
  #lazyInverse: Float64Array | undefined;

  /** Use {@link splitCovariance}; where V is not positive definite the determinant is NaN. */
  constructor(
    noise: Float64Array,
    nest: Groups | undefined,
    { z, columns }: Columns,
    precision: Float64Array | undefined,
  ) {
    const n = noise.length;
    this.n = n;
    this.columns = columns;
    this.noise = noise;
    this.nest = nest;
    this.u = z;
    this.precision = precision;
    this.growth = new Float64Array(nest?.columns ?? 0).fill(1);
    let logB = 0;
    for (let i = 0; i < n; i++) {
      logB += Math.log(noise[i]);
      if (nest && nest.group[i] >= 0) this.growth[nest.group[i]] += nest.weight[i] ** 2 / noise[i];
    }
    for (const one of this.growth) logB += Math.log(one);
    this.weighted = this.withoutColumns(z, columns);
    const inner = precision ? precision.slice() : new Float64Array(columns * columns);
    if (!precision) for (let c = 0; c < columns; c++) inner[c * columns + c] = 1;
    const { weighted } = this;
    for (let i = 0; i < n; i++) {
      const row = i * columns;
      for (let a = 0; a < columns; a++) {
        const left = z[row + a];
        if (left === 0) continue;
        for (let b = 0, at = a * columns; b <= a; b++, at++) inner[at] += left * weighted[row + b];
      }
    }
    this.normal = inner.slice();
    this.factor = inner;
    this.logDeterminant = cholesky(inner, columns) ? logB + logDeterminant(inner, columns) : Number.NaN;
  }

  /** B⁻¹x. @param x  n × k */
  withoutColumns(x: Float64Array, k = 1): Float64Array {
    const { n, noise, nest, growth } = this;
    const out = new Float64Array(n * k);
    const sums = new Float64Array(growth.length * k);
    for (let i = 0; i < n; i++) {
      const own = 1 / noise[i];
      for (let c = 0; c < k; c++) out[i * k + c] = own * x[i * k + c];
      const j = nest ? nest.group[i] : -1;
      if (j < 0) continue;
      const b = (nest as Groups).weight[i];
      for (let c = 0; c < k; c++) sums[j * k + c] += b * out[i * k + c];
    }
    for (let i = 0; i < n; i++) {
      const j = nest ? nest.group[i] : -1;
      if (j < 0) continue;
      const share = (nest as Groups).weight[i] / (noise[i] * growth[j]);
      for (let c = 0; c < k; c++) out[i * k + c] -= share * sums[j * k + c];
    }
    return out;
  }

  /** c = N⁻¹UᵀB⁻¹x, columns × k. @param x  n × k */
  coefficients(x: Float64Array, k = 1): Float64Array {
    const { n, columns, weighted } = this;
    const out = new Float64Array(columns * k);
    for (let i = 0; i < n; i++) {
      for (let a = 0; a < columns; a++) {
        const left = weighted[i * columns + a];
        if (left === 0) continue;
        for (let c = 0; c < k; c++) out[a * k + c] += left * x[i * k + c];
      }
    }
    return solveFactored(this.factor, columns, out, k);
  }

  /** x − U·c. */
  #less(x: Float64Array, coefficients: Float64Array, k: number): Float64Array {
    const { n, columns, u } = this;
    const out = x.slice();
    for (let i = 0; i < n; i++) {
      for (let a = 0; a < columns; a++) {
        const left = u[i * columns + a];
        if (left === 0) continue;
        for (let c = 0; c < k; c++) out[i * k + c] -= left * coefficients[a * k + c];
      }
    }
    return out;
  }

  /** V⁻¹x. @param x  n × k */
  solve(x: Float64Array, k = 1): Float64Array {
    return this.withoutColumns(this.#less(x, this.coefficients(x, k), k), k);
  }

  /** xᵀV⁻¹x for x of n entries. */
  form(x: Float64Array): number {
    return this.solveWithForm(x).form;
  }

  /** V⁻¹x and xᵀV⁻¹x for x of n entries. */
  solveWithForm(x: Float64Array): { readonly solution: Float64Array; readonly form: number } {
    const { n, columns, precision } = this;
    const c = this.coefficients(x);
    const left = this.#less(x, c, 1);
    const weighted = this.withoutColumns(left);
    let sum = 0;
    for (let i = 0; i < n; i++) sum += left[i] * weighted[i];
    for (let a = 0; a < columns; a++) {
      if (!precision) sum += c[a] * c[a];
      else for (let b = 0; b < columns; b++) sum += c[a] * precision[a * columns + b] * c[b];
    }
    return { solution: weighted, form: sum };
  }

  /** ln of the density of x, where E is 1. */
  logDensity(x: Float64Array): number {
    return -(this.logDeterminant + this.form(x) + this.n * Math.log(2 * Math.PI)) / 2;
  }

  /**
   * W·x with WᵀW = V⁻¹, where E is 1: (n + columns) × k. Its first rows are B^(−½)(x − U·c), the others −c, whose squares together
   * are xᵀV⁻¹x.
   *
   * @param out  filled
   */
  whiten(x: Float64Array, k: number, out: Float64Array): void {
    const { n, columns, noise, nest, growth } = this;
    const coefficients = this.coefficients(x, k);
    const left = this.#less(x, coefficients, k);
    const sums = new Float64Array(growth.length * k);
    for (let i = 0; i < n; i++) {
      const own = 1 / Math.sqrt(noise[i]);
      for (let c = 0; c < k; c++) out[i * k + c] = own * left[i * k + c];
      const j = nest ? nest.group[i] : -1;
      if (j < 0) continue;
      const b = own * (nest as Groups).weight[i];
      for (let c = 0; c < k; c++) sums[j * k + c] += b * out[i * k + c];
    }
    for (let i = 0; i < n; i++) {
      const j = nest ? nest.group[i] : -1;
      if (j < 0 || growth[j] === 1) continue;
      const b = (nest as Groups).weight[i] / Math.sqrt(noise[i]);
      // (I + b·bᵀ)^(−½) = I − (1 − 1/√g)·b·bᵀ/(g − 1), with g = 1 + bᵀb.
      const share = ((1 - 1 / Math.sqrt(growth[j])) / (growth[j] - 1)) * b;
      for (let c = 0; c < k; c++) out[i * k + c] -= share * sums[j * k + c];
    }
    for (let a = 0; a < columns * k; a++) out[n * k + a] = -coefficients[a];
  }

  /** N⁻¹, columns × columns. */
  inverse(): Float64Array {
    if (!this.#lazyInverse) {
      this.#lazyInverse = this.factor.slice();
      invertFactored(this.#lazyInverse, this.columns);
    }
    return this.#lazyInverse;
  }

  /** The same with further columns, whose coefficients have variance 1. */
  with(more: Columns): SplitCovariance | undefined {
    const { n, columns, u } = this;
    const all = columns + more.columns;
    const z = new Float64Array(n * all);
    putColumns(z, { z: u, columns }, n, all, 0);
    putColumns(z, more, n, all, columns);
    return splitCovariance(this.noise, this.nest, { z, columns: all });
  }
}

/**
 * @param noise  diagonal of D, n
 * @param nest  the b_j
 * @param u  U
 * @param precision  E, columns × columns; absent: 1
 * @returns `undefined` where it is not positive definite
 * @example
 * // Two readings of scatter 1 that have a resistance of scatter 2 in common: their sum has variance 1 + 1 + 4·4.
 * splitCovariance(Float64Array.of(1, 1), undefined, { z: Float64Array.of(2, 2), columns: 1 })?.form(Float64Array.of(3, 3)) // 2
 */
export function splitCovariance(
  noise: Float64Array,
  nest: Groups | undefined,
  u: Columns,
  precision?: Float64Array,
): SplitCovariance | undefined {
  for (const variance of noise) if (!(variance > 0)) return undefined;
  const out = new SplitCovariance(noise, nest, u, precision);
  return Number.isNaN(out.logDeterminant) ? undefined : out;
}

/** aᵀ·Z·Zᵀ·a of a component. */
export function factorForm(parts: Components[number], a: Float64Array): number {
  return partsOf(parts).reduce((sum, factor) => sum + formOf(factor, a), 0);
}

/** The factors of a component as a list, empty where it has none. */
function partsOf(parts: Components[number]): readonly ComponentFactor[] {
  if (parts === undefined) return [];
  return 'columns' in parts ? [parts] : parts;
}

/** |Zᵀa|² of one factor, by its groups or its matrix. */
function formOf(factor: ComponentFactor, a: Float64Array): number {
  const sums = new Float64Array(factor.columns);
  for (let i = 0; i < a.length; i++) {
    if ('group' in factor) {
      if (factor.group[i] >= 0) sums[factor.group[i]] += factor.weight[i] * a[i];
    } else {
      for (let c = 0; c < factor.columns; c++) sums[c] += factor.z[i * factor.columns + c] * a[i];
    }
  }
  let total = 0;
  for (const sum of sums) total += sum * sum;
  return total;
}

/** Writes a factor as columns of a dense row-major matrix, from column `from` on. */
function putColumns(to: Float64Array, factor: ComponentFactor, n: number, width: number, from: number): void {
  for (let i = 0; i < n; i++) {
    if ('group' in factor) {
      if (factor.group[i] >= 0) to[i * width + from + factor.group[i]] = factor.weight[i];
    } else {
      for (let c = 0; c < factor.columns; c++) {
        to[i * width + from + c] = factor.z[i * factor.columns + c];
      }
    }
  }
}

/** A factor as a grouping, where it is one. */
function asGroups(factor: ComponentFactor, n: number): Groups | undefined {
  if ('group' in factor) return factor;
  const { z, columns } = factor;
  const group = new Int32Array(n).fill(-1);
  const weight = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    for (let c = 0; c < columns; c++) {
      if (z[i * columns + c] === 0) continue;
      if (group[i] >= 0) return undefined;
      group[i] = c;
      weight[i] = z[i * columns + c];
    }
  }
  return { group, weight, columns };
}

/** Whether no two rows share a group. */
function isOwn({ group, columns }: Groups): boolean {
  const seen = new Uint8Array(columns);
  for (const g of group) {
    if (g < 0) continue;
    if (seen[g] === 1) return false;
    seen[g] = 1;
  }
  return true;
}

/** What a grouped factor puts on the diagonal of the covariance. */
function squaresOf({ group, weight }: Groups): Float64Array {
  return weight.map((b, i) => (group[i] < 0 ? 0 : b * b));
}
