import { lazily } from './lazily.ts';
import { bilinearForm, dot, product, traceOfProduct, transposeProduct } from './matrix.ts';
import type { Groups, Role, SplitCovariance } from './split-covariance.ts';

/** What one role of a component brings, its σ in it. */
export type Part = { readonly component: number } & (
  | {
      readonly kind: 'own';
      /** Variances a of the rows, n. */
      readonly own: Float64Array;
      /** YᵀAY·N⁻¹; and B⁻¹AY, n × e. */
      readonly gram: () => Float64Array;
      readonly around: () => Float64Array;
      /** Σ a·(b/d)² of each group. */
      readonly inGroups: () => Float64Array;
    }
  | {
      readonly kind: 'nest';
      /** ZᵀY and ZᵀY·N⁻¹, groups × e; and YᵀZZᵀY·N⁻¹. */
      readonly pulled: Float64Array;
      readonly solved: Float64Array;
      readonly gram: () => Float64Array;
      /** b_jᵀB⁻¹b_j of each group, and B⁻¹b, n. */
      readonly forms: Float64Array;
      readonly weighted: Float64Array;
    }
  | { readonly kind: 'columns'; readonly from: number; readonly to: number }
);

/** What only tr(P·V_k·P·V_l) and {@link squaresOn} ask for is found then. @param variances  σ_k² */
export function partOf(role: Role, v: SplitCovariance, variances: Float64Array): Part {
  const { n, columns: e, weighted: y } = v;
  const { component } = role;
  if (role.kind === 'columns') return role;
  if (role.kind === 'own') {
    const own = new Float64Array(n);
    for (let i = 0; i < n; i++) own[i] = variances[component] * role.squares[i];
    const scaled = lazily(() => {
      const out = y.slice();
      for (let i = 0, at = 0; i < n; i++) for (let c = 0; c < e; c++, at++) out[at] *= own[i];
      return out;
    });
    return {
      component,
      kind: 'own',
      own,
      gram: lazily(() => product(transposeProduct(y, scaled(), n, e, e), v.inverse(), e, e, e)),
      around: lazily(() => v.withoutColumns(scaled(), e)),
      inGroups: lazily(() => {
        const sums = new Float64Array(v.growth.length);
        for (let i = 0; i < n; i++) {
          const j = v.nest ? v.nest.group[i] : -1;
          if (j >= 0) sums[j] += own[i] * ((v.nest as Groups).weight[i] / v.noise[i]) ** 2;
        }
        return sums;
      }),
    };
  }
  const { group, weight, columns: groups } = v.nest as Groups;
  const pulled = new Float64Array(groups * e);
  const forms = v.growth.map((g) => (g - 1) / g);
  const weighted = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const j = group[i];
    if (j < 0) continue;
    weighted[i] = weight[i] / (v.noise[i] * v.growth[j]);
    for (let c = 0; c < e; c++) pulled[j * e + c] += weight[i] * y[i * e + c];
  }
  const solved = product(pulled, v.inverse(), groups, e, e);
  const gram = lazily(() => transposeProduct(pulled, solved, groups, e, e));
  return { component, kind: 'nest', pulled, solved, gram, forms, weighted };
}

/** Σ xᵀ·V_k·x·σ_k² over the columns x of X. @param x  n × k */
export function squaresOf(
  part: Part,
  { n, nest, u, columns: e }: SplitCovariance,
  x: Float64Array,
  k = 1,
): number {
  if (part.kind === 'own') {
    let sum = 0;
    for (let i = 0; i < n; i++) for (let c = i * k; c < (i + 1) * k; c++) sum += part.own[i] * x[c] ** 2;
    return sum;
  }
  const size = part.kind === 'columns' ? part.to - part.from : (nest as Groups).columns;
  const pulls = new Float64Array(size * k);
  for (let i = 0; i < n; i++) {
    if (part.kind === 'columns') {
      for (let a = 0; a < size; a++) {
        const weight = u[i * e + part.from + a];
        for (let c = 0; c < k; c++) pulls[a * k + c] += weight * x[i * k + c];
      }
    } else {
      const { group, weight } = nest as Groups;
      if (group[i] < 0) continue;
      for (let c = 0; c < k; c++) pulls[group[i] * k + c] += weight[i] * x[i * k + c];
    }
  }
  return dot(pulls, pulls);
}

/** tr(P·V_k)·σ_k². */
export function traceOf(part: Part, v: SplitCovariance, q: Float64Array): number {
  const { n, columns: e, noise, nest, growth, weighted: y } = v;
  if (part.kind === 'columns') {
    let sum = part.to - part.from;
    for (let c = part.from; c < part.to; c++) sum -= v.inverse()[c * e + c];
    return sum;
  }
  if (part.kind === 'nest') return part.forms.reduce((a, b) => a + b, 0) - dot(part.pulled, part.solved);
  let sum = 0;
  for (let i = 0; i < n; i++) {
    const j = nest ? nest.group[i] : -1;
    let own = 1 / noise[i];
    if (j >= 0) own -= (nest as Groups).weight[i] ** 2 / (noise[i] ** 2 * growth[j]);
    for (let c = 0; c < e; c++) own -= q[i * e + c] * y[i * e + c];
    sum += part.own[i] * own;
  }
  return sum;
}

/** tr(P·V_k·P·V_l)·σ_k²σ_l². @param q  Y·N⁻¹ */
export function crossedTrace(one: Part, other: Part, v: SplitCovariance, q: Float64Array): number {
  if (ORDER[one.kind] > ORDER[other.kind]) return crossedTrace(other, one, v, q);
  const e = v.columns;
  let sum = 0;
  if (one.kind === 'columns') {
    const inverse = v.inverse();
    const gram = other.kind === 'own' ? other.gram() : inverse;
    for (let c = one.from; c < one.to; c++) {
      if (other.kind === 'columns') {
        for (let d = other.from; d < other.to; d++) sum += ((c === d ? 1 : 0) - inverse[c * e + d]) ** 2;
      } else if (other.kind === 'nest') {
        for (let at = c; at < other.solved.length; at += e) sum += other.solved[at] ** 2;
      } else {
        for (let d = 0; d < e; d++) sum += inverse[c * e + d] * gram[d * e + c];
      }
    }
    return sum;
  }
  if (other.kind === 'columns') return 0;
  sum = traceOfProduct(one.gram(), other.gram(), e);
  if (one.kind === 'nest' && other.kind === 'nest') {
    one.forms.forEach((form, j) => {
      sum += form * form;
      for (let c = j * e; c < (j + 1) * e; c++) sum -= 2 * form * one.pulled[c] * one.solved[c];
    });
  } else if (one.kind === 'nest' && other.kind === 'own') {
    const { group } = v.nest as Groups;
    for (let i = 0; i < v.n; i++) {
      if (group[i] < 0) continue;
      let across = one.weighted[i];
      for (let c = 0; c < e; c++) across -= 2 * q[i * e + c] * one.pulled[group[i] * e + c];
      sum += other.own[i] * one.weighted[i] * across;
    }
  } else if (one.kind === 'own' && other.kind === 'own') {
    const [around, inGroups, otherInGroups] = [other.around(), one.inGroups(), other.inGroups()];
    // Of B⁻¹ itself: in a group j its entries are 1/d_i on the diagonal less u_i·u_k/g_j, u = b/d.
    for (let i = 0; i < v.n; i++) {
      const both = one.own[i] * other.own[i];
      const d = v.noise[i];
      sum += both / (d * d);
      for (let c = i * e; c < (i + 1) * e; c++) sum -= 2 * one.own[i] * q[c] * around[c];
      const j = v.nest ? v.nest.group[i] : -1;
      if (j < 0) continue;
      const u2 = ((v.nest as Groups).weight[i] / d) ** 2;
      sum -= (2 * both * u2) / (d * v.growth[j]);
    }
    v.growth.forEach((g, j) => {
      sum += (inGroups[j] * otherInGroups[j]) / g ** 2;
    });
  }
  return sum;
}

const ORDER = { columns: 0, nest: 1, own: 2 } as const;

/** V_k·X·σ_k², n × k. */
export function through(part: Part, { n, u, columns: e, nest }: SplitCovariance, x: Float64Array, k: number) {
  const out = new Float64Array(n * k);
  const size = part.kind === 'columns' ? part.to - part.from : (nest?.columns ?? 0);
  const sums = new Float64Array(size * k);
  for (let i = 0; i < n; i++) {
    if (part.kind === 'own') {
      for (let c = 0; c < k; c++) out[i * k + c] = part.own[i] * x[i * k + c];
    } else if (part.kind === 'nest') {
      const { group, weight } = nest as Groups;
      if (group[i] >= 0) for (let c = 0; c < k; c++) sums[group[i] * k + c] += weight[i] * x[i * k + c];
    } else {
      for (let a = 0; a < size; a++)
        for (let c = 0; c < k; c++) sums[a * k + c] += u[i * e + part.from + a] * x[i * k + c];
    }
  }
  for (let i = 0; i < n && part.kind !== 'own'; i++) {
    if (part.kind === 'nest') {
      const { group, weight } = nest as Groups;
      if (group[i] >= 0) for (let c = 0; c < k; c++) out[i * k + c] = weight[i] * sums[group[i] * k + c];
    } else {
      for (let a = 0; a < size; a++)
        for (let c = 0; c < k; c++) out[i * k + c] += u[i * e + part.from + a] * sums[a * k + c];
    }
  }
  return out;
}

/**
 * How V⁻¹x moves with each σ_k: (V⁻¹x)ᵀ·V_k·(V⁻¹x)·σ_k² for an x that is zero but on some rows, the parts of a component together.
 *
 * @param count  number of components
 */
export function squaresOn(
  parts: readonly Part[],
  v: SplitCovariance,
  rows: readonly number[],
  x: ArrayLike<number>,
  count: number,
): Float64Array {
  const { columns: e, weighted: y, noise, nest } = v;
  const pulled = new Float64Array(e);
  const inGroup = new Map<number, number>();
  rows.forEach((i, r) => {
    for (let c = 0; c < e; c++) pulled[c] += y[i * e + c] * x[r];
    const j = nest ? nest.group[i] : -1;
    if (j >= 0) inGroup.set(j, (inGroup.get(j) ?? 0) + ((nest as Groups).weight[i] * x[r]) / noise[i]);
  });
  // V⁻¹x = B⁻¹x − Y·t.
  const t = product(v.inverse(), pulled, e, e);
  const out = new Float64Array(count);
  for (const part of parts) {
    let sum = 0;
    if (part.kind === 'columns') {
      for (let c = part.from; c < part.to; c++) sum += t[c] * t[c];
    } else {
      sum = bilinearForm(t, part.gram(), pulled);
      sum +=
        part.kind === 'nest'
          ? squareInGroups(part, v, inGroup, t)
          : squareInRows(part, v, rows, x, inGroup, t);
    }
    out[part.component] += sum;
  }
  return out;
}

function squareInGroups(
  { pulled }: Extract<Part, { kind: 'nest' }>,
  { columns: e, growth }: SplitCovariance,
  inGroup: ReadonlyMap<number, number>,
  t: Float64Array,
): number {
  let sum = 0;
  for (const [j, own] of inGroup) {
    const s = own / growth[j];
    let across = 0;
    for (let c = 0; c < e; c++) across += t[c] * pulled[j * e + c];
    sum += s * s - 2 * s * across;
  }
  return sum;
}

function squareInRows(
  part: Extract<Part, { kind: 'own' }>,
  { columns: e, noise, nest, growth }: SplitCovariance,
  rows: readonly number[],
  x: ArrayLike<number>,
  inGroup: ReadonlyMap<number, number>,
  t: Float64Array,
): number {
  const [around, inGroups] = [part.around(), part.inGroups()];
  let sum = 0;
  rows.forEach((i, r) => {
    const j = nest ? nest.group[i] : -1;
    const own = x[r] / noise[i];
    const back = j < 0 ? 0 : ((nest as Groups).weight[i] * (inGroup.get(j) ?? 0)) / (noise[i] * growth[j]);
    let across = 0;
    for (let c = 0; c < e; c++) across += t[c] * around[i * e + c];
    sum += part.own[i] * own * (own - 2 * back) - 2 * x[r] * across;
  });
  for (const [j, own] of inGroup) sum += (own / growth[j]) ** 2 * inGroups[j];
  return sum;
}
