import { crossedTrace, type Part, partOf, squareOf, through, traceOf } from './covariance-parts.ts';
import {
  addDiagonal,
  addProduct,
  addScaled,
  addTransposeProduct,
  cholesky,
  congruence,
  diagonalMatrix,
  dot,
  invertFactored,
  invertSpd,
  logDeterminant,
  product,
  quadraticForm,
  submatrix,
  trace,
  traceOfProduct,
  transposeProduct,
} from './matrix.ts';
import {
  type Columns,
  type ComponentFactor,
  type Components,
  CovarianceLayout,
  type SplitCovariance,
} from './split-covariance.ts';

export type { ComponentFactor };

/**
 * One block of observations that is independent of all others given the variances.
 *
 * The block's model is y = X·β + noise with covariance Σ_k σ_k²·V_k; β belongs to the block alone. At least one component, or `noise`, has to give
 * every row a variance of its own.
 */
export interface Block {
  /** Observations, or residuals about a linearisation point, length n. */
  readonly y: Float64Array;
  /** Design, n × p row-major; p may be 0. */
  readonly design: Float64Array;
  readonly columns: number;
  /** V_k = Z_k·Z_kᵀ of each variance component, a sum of such where there are several; `undefined` where it is absent from the block. */
  readonly components: Components;
  /** Variance of each row that is known beforehand, n. */
  readonly noise?: Float64Array;
  /** Covariance known beforehand, by its factor. */
  readonly known?: Columns;
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
 * No matrix of the rows is formed: the curve and all components but the noise and the finest grouping are few columns, and every trace is one
 * over those columns and over groups (see {@link SplitCovariance}).
 *
 * Effects that blocks share are integrated out after the blocks' own curves: with P_c of each block alone, Ω = Σ F_cᵀ·P_c·F_c and
 * M = (D⁻¹ + Ω)⁻¹, the P of all is that of the blocks less P_c·F_c·M·F_dᵀ·P_d (Woodbury), and no matrix of all runs is formed.
 *
 * Source: Patterson and Thompson (1971) Biometrika 58, 545; Searle, Casella and McCulloch (1992) Variance Components,
 * chapter 6. The optional priors on log σ keep a component off zero when a bench has few repeats (Chung et al. 2013,
 * Psychometrika 78, 685).
 *
 * @throws RangeError when a covariance is not positive definite at the start
 * For the rails of R's nlme `remlFit([rails], { start: [10, 10] }).sigma` is 24.805 and 4.0208.
 */
export function remlFit(given: readonly Block[], options: RemlOptions): RemlResult {
  const blocks = given.map(laidOut);
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
    if (!addBlock(laidOut(block), variances, result)) {
      throw new RangeError('remlInformation: the covariance is not positive definite');
    }
  }
  return result.information;
}

/** The first point along the direction, halving, that is no worse than where it starts. */
function climb(
  blocks: readonly LaidOut[],
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
  return product(matrix, gradient, count, count).map((step) => Math.max(-2, Math.min(2, step)));
}

function evaluate(
  blocks: readonly LaidOut[],
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
  /** By component: Σ σ_k²·FᵀPV_kPF and Σ σ_k²·FᵀPV_kPy. */
  readonly swept: readonly Float64Array[];
  readonly sweptPull: readonly Float64Array[];
  /** By pair of components, l ≤ k: Σ σ_k²σ_l²·FᵀPV_kPV_lPF. */
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
  const inner = addDiagonal(transposeProduct(root, product(omega, root, q, q, q), q, q, q), q, 1);
  if (!cholesky(inner, q)) return false;
  const logDet = logDeterminant(inner, q);
  invertFactored(inner, q);
  const m = congruence(root, inner, q, q);
  const effect = product(m, pull, q, q);
  into.value -= (logDet - dot(pull, effect)) / 2;

  // FᵀP of all is that of the blocks, less this share of it.
  const keep = addProduct(diagonalMatrix(q), omega, m, q, q, q, -1);
  const onDesign = product(keep, omega, q, q, q);
  const onY = product(keep, pull, q, q);
  const weighted = swept.map((one) => product(m, one, q, q, q));
  for (let k = 0; k < count; k++) {
    const form = -2 * dot(sweptPull[k], effect) + quadraticForm(effect, swept[k]);
    into.gradient[k] += (form + trace(weighted[k], q)) / 2;
    for (let l = 0; l <= k; l++) {
      const value =
        traceOfProduct(weighted[k], weighted[l], q) / 2 - traceOfProduct(m, crossed[k * count + l], q);
      into.information[k * count + l] += value;
      if (l !== k) into.information[l * count + k] += value;
    }
  }
  const s = scaled.length;
  const ofScaled = submatrix(onDesign, q, scaled);
  const pulled = submatrix(onY, 1, scaled, [0]);
  into.gradient[own] += (variances[own] * (dot(pulled, pulled) - trace(ofScaled, s))) / 2;
  into.information[own * count + own] += (variances[own] ** 2 * dot(ofScaled, ofScaled)) / 2;
  for (let k = 0; k < count; k++) {
    const between = submatrix(congruence(keep, swept[k], q, q), q, scaled);
    const value = (variances[own] * trace(between, s)) / 2;
    into.information[own * count + k] += value;
    into.information[k * count + own] += value;
  }
  return true;
}

/** A block as it stands throughout a fit. */
interface LaidOut extends Block {
  readonly layout: CovarianceLayout;
  /** E of all columns: 1 each for the components', the prior's for the design's. */
  readonly precision: Float64Array;
}

function laidOut(block: Block): LaidOut {
  const { y, design, columns: p, components, noise, known, priorPrecision } = block;
  const layout = new CovarianceLayout(y.length, components, {
    noise,
    known,
    design: { z: design, columns: p },
  });
  const size = layout.columns;
  const first = size - p;
  const precision = new Float64Array(size * size);
  for (let c = 0; c < first; c++) precision[c * size + c] = 1;
  for (let j = 0; j < p; j++) {
    for (let k = 0; k < p; k++) precision[(first + j) * size + first + k] = priorPrecision?.[j * p + k] ?? 0;
  }
  return { ...block, layout, precision };
}

/**
 * A block's part of the value, the score and the information.
 *
 * With Y = B⁻¹U and N as in {@link SplitCovariance}, P = B⁻¹ − Y·N⁻¹·Yᵀ. Between columns of components σ_kσ_l·Z_kᵀPZ_l is I − N⁻¹, and PU is Q = Y·N⁻¹;
 * what the nest's b_j (the columns of its Z) and the rows' own variances bring beside are sums over groups and over rows.
 */
function addBlock(
  { layout, precision, y }: LaidOut,
  variances: Float64Array,
  into: Evaluation,
  sums?: SharedSums,
  design?: Float64Array,
): boolean {
  const v = layout.at(variances, precision);
  if (!v) return false;
  const count = variances.length;
  const q = product(v.weighted, v.inverse(), v.n, v.columns, v.columns);
  const parts = layout.roles.map((role) => partOf(role, v, variances));
  const projected = v.solve(y);
  const effects = v.coefficients(y);
  into.value -= (v.logDeterminant + v.form(y)) / 2;
  parts.forEach((one, a) => {
    const k = one.component;
    into.gradient[k] += (squareOf(one, v, projected, effects) - traceOf(one, v, q)) / 2;
    for (let b = 0; b <= a; b++) {
      const l = parts[b].component;
      const value = crossedTrace(one, parts[b], v, q) / 2;
      into.information[k * count + l] += value;
      if (b !== a) into.information[l * count + k] += value;
    }
  });
  if (sums && design) addToShared(sums, v, parts, design, projected, count);
  return true;
}

/** What a block holds of the effects that it shares. @param design  F, n × q; projected: P·y */
function addToShared(
  sums: SharedSums,
  v: SplitCovariance,
  parts: readonly Part[],
  design: Float64Array,
  projected: Float64Array,
  count: number,
): void {
  const { n } = v;
  const q = sums.pull.length;
  const seen = v.solve(design, q);
  addTransposeProduct(sums.omega, design, seen, n, q, q);
  addTransposeProduct(sums.pull, design, projected, n, q);
  const moved = new Map<number, Float64Array>();
  for (const part of parts) {
    const one = through(part, v, seen, q);
    const before = moved.get(part.component);
    moved.set(part.component, before ? addScaled(before, one) : one);
  }
  for (const [k, left] of moved) {
    addTransposeProduct(sums.swept[k], seen, left, n, q, q);
    addTransposeProduct(sums.sweptPull[k], left, projected, n, q);
    const back = v.solve(left, q);
    for (const [l, right] of moved) {
      if (l <= k) addTransposeProduct(sums.crossed[k * count + l], right, back, n, q, q);
    }
  }
}
