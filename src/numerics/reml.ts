import { cholesky, invertSpd, solveLower } from './matrix.ts';

/**
 * A covariance Z·Zᵀ by its factor Z, n × `columns` row-major. A grouping factor has one column a group, independent noise
 * is the identity; that V is never formed keeps the work in proportion to the few columns.
 */
export interface ComponentFactor {
  readonly z: Float64Array;
  readonly columns: number;
}

/**
 * One block of observations that is independent of all others given the variances.
 *
 * The block's model is y = X·β + noise with covariance Σ_k σ_k²·V_k; β belongs to the block alone.
 */
export interface Block {
  /** Observations, or residuals about a linearisation point, length n. */
  readonly y: Float64Array;
  /** Design, n × p row-major; p may be 0. */
  readonly design: Float64Array;
  readonly columns: number;
  /** One V_k = Z_k·Z_kᵀ per variance component; `undefined` where it is absent from the block. */
  readonly components: readonly (ComponentFactor | undefined)[];
  /** Covariance known beforehand and added to the components', n × n. */
  readonly known?: Float64Array;
  /** Precision of a Gaussian prior of β about zero, p × p; absent: flat, which is classical REML. */
  readonly priorPrecision?: Float64Array;
}

/** Gaussian prior on log σ (not σ²), used where a bench alone would decide too little. */
export interface LogScalePrior {
  readonly mean: number;
  readonly standardDeviation: number;
}

/**
 * Effects that blocks have in common: φ ~ N(0, D) with D = `known` + σ_k² on the diagonal at `scaled`, k = `component`; block c gets F_c·φ.
 */
export interface SharedEffects {
  readonly columns: number;
  /** F_c for each block, n × `columns` row-major; `undefined` where a block has no part in them. */
  readonly designs: readonly (Float64Array | undefined)[];
  /** `columns` × `columns`; positive definite with the component's part added. */
  readonly known: Float64Array;
  readonly component: number;
  readonly scaled: readonly number[];
}

export interface RemlOptions {
  /** Effects that make the blocks dependent; absent: they are independent given the variances. */
  readonly shared?: SharedEffects;
  /** Starting σ_k. */
  readonly start: readonly number[];
  readonly priors?: readonly (LogScalePrior | undefined)[];
  readonly maxIterations?: number;
  /** Change in log σ² at which it ends (1e-9). */
  readonly tolerance?: number;
}

export interface RemlResult {
  /** σ_k, in the unit of y over the unit of the square root of V_k. */
  readonly sigma: number[];
  /** Covariance of log σ_k² from the expected information (with the priors), K × K row-major. */
  readonly logVarianceCovariance: Float64Array;
  /** Share of the information on log σ_k² that comes from the data, 0 … 1. */
  readonly dataShare: number[];
  /** Restricted log-likelihood up to a constant, priors included. */
  readonly logLikelihood: number;
  readonly converged: boolean;
  readonly iterations: number;
}

interface Evaluation {
  value: number;
  gradient: Float64Array;
  information: Float64Array;
}

/**
 * Variance components by restricted maximum likelihood, pooled over independent blocks.
 *
 * Ordinary maximum likelihood divides by n and so reports too small a scatter when a block's mean curve uses up degrees
 * of freedom; the restricted likelihood is that of the contrasts which no mean curve can reach, so that the scatter is
 * unbiased in the balanced case. Maximised over log σ² by Fisher scoring with step halving: the score is
 * −½·[tr(P·V_k) − yᵀ·P·V_k·P·y] and the information ½·tr(P·V_k·P·V_l), P = V⁻¹ − V⁻¹X(XᵀV⁻¹X + Λ)⁻¹XᵀV⁻¹.
 *
 * Effects that blocks share are integrated out after the blocks' own curves: with P_c of each block alone, Ω = Σ F_cᵀ·P_c·F_c and
 * M = (D⁻¹ + Ω)⁻¹, the P of all is that of the blocks less P_c·F_c·M·F_dᵀ·P_d (Woodbury), and no matrix of all runs is formed.
 *
 * Source: Patterson and Thompson (1971) Biometrika 58, 545; Searle, Casella and McCulloch (1992) Variance Components,
 * chapter 6. The optional priors on log σ keep a component off zero when a bench has few repeats (Chung et al. 2013,
 * Psychometrika 78, 685).
 *
 * @throws RangeError when a covariance is not positive definite at the start
 * @example remlFit([railBlock], { start: [10, 10] }).sigma // [24.805, 4.0208]
 */
export function remlFit(blocks: readonly Block[], options: RemlOptions): RemlResult {
  const count = options.start.length;
  const priors = options.priors ?? [];
  const maxIterations = options.maxIterations ?? 100;
  let theta: Float64Array = Float64Array.from(options.start, (sigma) => 2 * Math.log(Math.max(sigma, 1e-8)));
  const floor = Float64Array.from(theta, (t) => t - 2 * Math.log(1e6));
  const { shared } = options;
  const first = evaluate(blocks, theta, priors, shared);
  if (!first) {
    throw new RangeError('remlFit: the covariance at the starting values is not positive definite');
  }
  let current: Evaluation = first;
  let converged = false;
  let iterations = 0;
  for (; iterations < maxIterations && !converged; iterations++) {
    const step = scoringStep(current, theta, floor);
    const uphill = (direction: Float64Array) =>
      climb(blocks, priors, shared, theta, current, direction, floor);
    // Far from the top the clipped scoring step can point downhill; the score alone, scaled, cannot.
    const next = uphill(step) ?? uphill(scaledScore(current));
    if (!next) {
      converged = Math.max(...step.map(Math.abs)) < 1e-5;
      break;
    }
    const change = Math.max(...next.theta.map((t, k) => Math.abs(t - theta[k])));
    theta = next.theta;
    current = next.evaluation;
    converged = change < (options.tolerance ?? 1e-9);
  }
  const covariance = Float64Array.from(current.information);
  for (let k = 0; k < count; k++) covariance[k * count + k] += 1e-12;
  const dataShare = theta.map((_, k) => {
    const prior = priors[k];
    const total = current.information[k * count + k];
    const fromPrior = prior ? 1 / (4 * prior.standardDeviation ** 2) : 0;
    return total > 0 ? Math.max(0, 1 - fromPrior / total) : 0;
  });
  invertSpd(covariance, count);
  return {
    sigma: Array.from(theta, (t) => Math.exp(t / 2)),
    logVarianceCovariance: covariance,
    dataShare: Array.from(dataShare),
    logLikelihood: current.value,
    converged,
    iterations,
  };
}

/**
 * Expected information of some blocks on log σ_k², ½·tr(P·V_k·P·V_l)·σ_k²σ_l² summed over the blocks, K × K row-major; the observations do not
 * enter, so that it can be had of runs that have not been done.
 *
 * @throws RangeError when a covariance is not positive definite
 */
export function remlInformation(blocks: readonly Block[], sigma: readonly number[]): Float64Array {
  const count = sigma.length;
  const result: Evaluation = {
    value: 0,
    gradient: new Float64Array(count),
    information: new Float64Array(count * count),
  };
  const variances = Float64Array.from(sigma, (s) => s * s);
  for (const block of blocks) {
    if (!addBlock(block, variances, result)) {
      throw new RangeError('remlInformation: the covariance is not positive definite');
    }
  }
  return result.information;
}

/** The first point along the direction, halving, that is no worse than where it starts. */
function climb(
  blocks: readonly Block[],
  priors: readonly (LogScalePrior | undefined)[],
  shared: SharedEffects | undefined,
  theta: Float64Array,
  current: Evaluation,
  direction: Float64Array,
  floor: Float64Array,
): { theta: Float64Array; evaluation: Evaluation } | undefined {
  let scale = 1;
  for (let halving = 0; halving < 20; halving++, scale /= 2) {
    const moved = theta.map((t, k) => Math.max(t + scale * direction[k], floor[k]));
    const evaluation = evaluate(blocks, moved, priors, shared);
    if (evaluation && evaluation.value >= current.value - 1e-12 * Math.abs(current.value)) {
      return { theta: moved, evaluation };
    }
  }
  return undefined;
}

function scaledScore(at: Evaluation): Float64Array {
  const count = at.gradient.length;
  return at.gradient.map((g, k) => Math.max(-2, Math.min(2, g / (at.information[k * count + k] + 1e-9))));
}

/** Newton-type step with the expected information; at most a factor of e² in a variance at once. */
function scoringStep(at: Evaluation, theta: Float64Array, floor: Float64Array): Float64Array {
  const count = theta.length;
  const matrix = Float64Array.from(at.information);
  const gradient = Float64Array.from(at.gradient);
  for (let k = 0; k < count; k++) {
    matrix[k * count + k] += 1e-9 + 1e-9 * matrix[k * count + k];
    const stuck = theta[k] <= floor[k] && gradient[k] < 0;
    if (!stuck) continue;
    gradient[k] = 0;
    for (let l = 0; l < count; l++) matrix[k * count + l] = matrix[l * count + k] = k === l ? 1 : 0;
  }
  invertSpd(matrix, count);
  const step = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    for (let l = 0; l < count; l++) step[k] += matrix[k * count + l] * gradient[l];
    step[k] = Math.max(-2, Math.min(2, step[k]));
  }
  return step;
}

function evaluate(
  blocks: readonly Block[],
  theta: Float64Array,
  priors: readonly (LogScalePrior | undefined)[],
  shared: SharedEffects | undefined,
): Evaluation | undefined {
  const count = theta.length;
  const result: Evaluation = {
    value: 0,
    gradient: new Float64Array(count),
    information: new Float64Array(count * count),
  };
  const variances = theta.map(Math.exp);
  const sums = shared && sharedSums(shared.columns, count);
  for (let b = 0; b < blocks.length; b++) {
    const design = shared?.designs[b];
    if (!addBlock(blocks[b], variances, result, design && sums, design)) return undefined;
  }
  if (shared && sums && !addShared(shared, sums, variances, result)) return undefined;
  for (let k = 0; k < count; k++) {
    const prior = priors[k];
    if (!prior) continue;
    const z = (theta[k] / 2 - prior.mean) / prior.standardDeviation;
    result.value -= (z * z) / 2;
    result.gradient[k] -= z / (2 * prior.standardDeviation);
    result.information[k * count + k] += 1 / (4 * prior.standardDeviation ** 2);
  }
  return result;
}

/** What the blocks hold of the effects that they share, summed over them: q × q and q, per component where marked. */
interface SharedSums {
  /** Ω = Σ FᵀPF and Σ FᵀPy. */
  readonly omega: Float64Array;
  readonly pull: Float64Array;
  /** By component: Σ FᵀPV_kPF and Σ FᵀPV_kPy for σ_k = 1. */
  readonly swept: readonly Float64Array[];
  readonly sweptPull: readonly Float64Array[];
  /** By pair of components, l ≤ k: Σ FᵀPV_kPV_lPF for σ = 1. */
  readonly crossed: readonly Float64Array[];
}

function sharedSums(q: number, count: number): SharedSums {
  const each = (length: number) => Array.from({ length: count }, () => new Float64Array(length));
  return {
    omega: new Float64Array(q * q),
    pull: new Float64Array(q),
    swept: each(q * q),
    sweptPull: each(q),
    crossed: Array.from({ length: count * count }, () => new Float64Array(q * q)),
  };
}

/** The effects that blocks share, integrated out of what the blocks alone have added. */
function addShared(
  { columns: q, known, component: own, scaled }: SharedEffects,
  { omega, pull, swept, sweptPull, crossed }: SharedSums,
  variances: Float64Array,
  into: Evaluation,
): boolean {
  const count = variances.length;
  // With D = LLᵀ the inverse of D is not needed: M = L·(I + LᵀΩL)⁻¹·Lᵀ.
  const root = known.slice();
  for (const j of scaled) root[j * q + j] += variances[own];
  if (!cholesky(root, q)) return false;
  for (let i = 0; i < q; i++) for (let j = i + 1; j < q; j++) root[i * q + j] = 0;
  const inner = transposeMultiply(root, multiply(omega, root, q, q, q), q, q, q);
  for (let i = 0; i < q; i++) inner[i * q + i] += 1;
  const factor = inner.slice();
  if (!cholesky(factor, q) || !invertSpd(inner, q)) return false;
  let logDeterminant = 0;
  for (let i = 0; i < q; i++) logDeterminant += 2 * Math.log(factor[i * q + i]);
  const m = multiply(multiply(root, inner, q, q, q), transposed(root, q), q, q, q);
  const effect = multiply(m, pull, q, q, 1);
  into.value -= (logDeterminant - dot(pull, effect)) / 2;

  // FᵀP of all is that of the blocks, less this share of it.
  const keep = multiply(omega, m, q, q, q).map((value) => -value);
  for (let i = 0; i < q; i++) keep[i * q + i] += 1;
  const onDesign = multiply(keep, omega, q, q, q);
  const onY = multiply(keep, pull, q, q, 1);
  const weighted = swept.map((one) => multiply(m, one, q, q, q));
  for (let k = 0; k < count; k++) {
    const form = -2 * dot(sweptPull[k], effect) + dot(effect, multiply(swept[k], effect, q, q, 1));
    into.gradient[k] += (variances[k] * (form + traceOf(weighted[k], q))) / 2;
    for (let l = 0; l <= k; l++) {
      const value =
        (variances[k] *
          variances[l] *
          (traceOfProduct(weighted[k], weighted[l], q) - 2 * traceOfProduct(m, crossed[k * count + l], q))) /
        2;
      into.information[k * count + l] += value;
      if (l !== k) into.information[l * count + k] += value;
    }
  }
  let trace = 0;
  let form = 0;
  let information = 0;
  for (const i of scaled) {
    trace += onDesign[i * q + i];
    form += onY[i] ** 2;
    for (const j of scaled) information += onDesign[i * q + j] ** 2;
  }
  into.gradient[own] += (variances[own] * (form - trace)) / 2;
  into.information[own * count + own] += (variances[own] ** 2 * information) / 2;
  for (let k = 0; k < count; k++) {
    const between = multiply(multiply(keep, swept[k], q, q, q), transposed(keep, q), q, q, q);
    let sum = 0;
    for (const i of scaled) sum += between[i * q + i];
    const value = (variances[own] * variances[k] * sum) / 2;
    into.information[own * count + k] += value;
    into.information[k * count + own] += value;
  }
  return true;
}

function transposed(a: Float64Array, q: number): Float64Array {
  return a.map((_, i) => a[(i % q) * q + Math.floor(i / q)]);
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

function traceOf(a: Float64Array, q: number): number {
  let sum = 0;
  for (let i = 0; i < q; i++) sum += a[i * q + i];
  return sum;
}

/** tr(A·B). */
function traceOfProduct(a: Float64Array, b: Float64Array, q: number): number {
  let sum = 0;
  for (let i = 0; i < q; i++) for (let j = 0; j < q; j++) sum += a[i * q + j] * b[j * q + i];
  return sum;
}

/** Adds one array to another in place. */
function addTo(sum: Float64Array, more: Float64Array): void {
  for (let i = 0; i < sum.length; i++) sum[i] += more[i];
}

function addBlock(
  block: Block,
  variances: Float64Array,
  into: Evaluation,
  sums?: SharedSums,
  design?: Float64Array,
): boolean {
  const n = block.y.length;
  const p = block.columns;
  const count = variances.length;
  const covariance = block.known ? block.known.slice() : new Float64Array(n * n);
  for (let k = 0; k < count; k++) {
    const component = block.components[k];
    if (component) addProduct(covariance, component, variances[k], n);
  }
  const factor = covariance.slice();
  if (!cholesky(factor, n)) return false;
  let logDeterminant = 0;
  for (let i = 0; i < n; i++) logDeterminant += 2 * Math.log(factor[i * n + i]);

  const projector = covariance;
  if (!invertSpd(projector, n)) return false;
  if (p > 0) {
    const weighted = multiply(projector, block.design, n, n, p);
    const normal = transposeMultiply(block.design, weighted, n, p, p);
    if (block.priorPrecision) for (let i = 0; i < p * p; i++) normal[i] += block.priorPrecision[i];
    const normalFactor = normal.slice();
    if (!cholesky(normalFactor, p)) return false;
    for (let i = 0; i < p; i++) logDeterminant += 2 * Math.log(normalFactor[i * p + i]);
    // P = V⁻¹ − UᵀU with U = L⁻¹·(V⁻¹X)ᵀ, column by column of (V⁻¹X)ᵀ.
    const u = new Float64Array(n * p);
    for (let i = 0; i < n; i++) {
      const row = weighted.slice(i * p, i * p + p);
      solveLower(normalFactor, p, row);
      u.set(row, i * p);
    }
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) {
        let sum = 0;
        for (let a = 0; a < p; a++) sum += u[i * p + a] * u[j * p + a];
        projector[i * n + j] -= sum;
      }
    }
  }
  const projected = multiply(projector, block.y, n, n, 1);
  let quadratic = 0;
  for (let i = 0; i < n; i++) quadratic += block.y[i] * projected[i];
  into.value -= (logDeterminant + quadratic) / 2;

  const swept = block.components.map(
    (component) => component && multiply(projector, component.z, n, n, component.columns),
  );
  const q = sums ? sums.pull.length : 0;
  // Z_kᵀ·P·F.
  const onShared = swept.map((left, k) =>
    left && design ? transposeMultiply(left, design, n, block.components[k]?.columns ?? 0, q) : undefined,
  );
  if (sums && design) {
    const seen = multiply(projector, design, n, n, q);
    addTo(sums.omega, transposeMultiply(design, seen, n, q, q));
    addTo(sums.pull, transposeMultiply(design, projected, n, q, 1));
  }
  for (let k = 0; k < count; k++) {
    const component = block.components[k];
    const left = swept[k];
    if (!component || !left) continue;
    const m = component.columns;
    let trace = 0;
    let form = 0;
    for (let c = 0; c < m; c++) {
      let onY = 0;
      for (let i = 0; i < n; i++) {
        trace += component.z[i * m + c] * left[i * m + c];
        onY += component.z[i * m + c] * projected[i];
      }
      form += onY * onY;
    }
    into.gradient[k] += (variances[k] * (form - trace)) / 2;
    const mine = onShared[k];
    if (sums && mine) {
      addTo(sums.swept[k], transposeMultiply(mine, mine, m, q, q));
      addTo(
        sums.sweptPull[k],
        transposeMultiply(mine, transposeMultiply(component.z, projected, n, m, 1), m, q, 1),
      );
    }
    for (let l = 0; l <= k; l++) {
      const other = block.components[l];
      if (!other) continue;
      // tr(P·V_k·P·V_l) = ‖Z_lᵀ·P·Z_k‖².
      const crossed = transposeMultiply(other.z, left, n, other.columns, m);
      const theirs = onShared[l];
      if (sums && mine && theirs) {
        const through = multiply(transposeMultiply(theirs, crossed, other.columns, q, m), mine, q, m, q);
        addTo(sums.crossed[k * count + l], through);
      }
      let information = 0;
      for (let i = 0; i < crossed.length; i++) information += crossed[i] * crossed[i];
      const value = (variances[k] * variances[l] * information) / 2;
      into.information[k * count + l] += value;
      if (l !== k) into.information[l * count + k] += value;
    }
  }
  return true;
}

/** Adds variance·Z·Zᵀ to an n × n matrix. */
export function addProduct(
  to: Float64Array,
  { z, columns }: ComponentFactor,
  variance: number,
  n: number,
): void {
  for (let i = 0; i < n; i++) {
    for (let c = 0; c < columns; c++) {
      const left = variance * z[i * columns + c];
      if (left === 0) continue;
      for (let j = 0; j < n; j++) to[i * n + j] += left * z[j * columns + c];
    }
  }
}

/** A (n × m) times B (m × k), row-major. */
function multiply(a: Float64Array, b: Float64Array, n: number, m: number, k: number): Float64Array {
  const out = new Float64Array(n * k);
  for (let i = 0; i < n; i++) {
    for (let l = 0; l < m; l++) {
      const factor = a[i * m + l];
      if (factor === 0) continue;
      for (let j = 0; j < k; j++) out[i * k + j] += factor * b[l * k + j];
    }
  }
  return out;
}

/** Aᵀ (p × n) times B (n × k), A given as n × p row-major. */
function transposeMultiply(a: Float64Array, b: Float64Array, n: number, p: number, k: number): Float64Array {
  const out = new Float64Array(p * k);
  for (let i = 0; i < n; i++) {
    for (let l = 0; l < p; l++) {
      const factor = a[i * p + l];
      if (factor === 0) continue;
      for (let j = 0; j < k; j++) out[l * k + j] += factor * b[i * k + j];
    }
  }
  return out;
}
