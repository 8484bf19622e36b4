import {
  addDiagonal,
  addGram,
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
  solveLower,
  submatrix,
  trace,
  traceOfProduct,
  transpose,
  transposeProduct,
} from './matrix.ts';

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
 * For the rails of R's nlme `remlFit([rails], { start: [10, 10] }).sigma` is 24.805 and 4.0208.
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
  return product(matrix, gradient, count, count).map((step) => Math.max(-2, Math.min(2, step)));
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
    into.gradient[k] += (variances[k] * (form + trace(weighted[k], q))) / 2;
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
  const s = scaled.length;
  const ofScaled = submatrix(onDesign, q, scaled);
  const pulled = submatrix(onY, 1, scaled, [0]);
  into.gradient[own] += (variances[own] * (dot(pulled, pulled) - trace(ofScaled, s))) / 2;
  into.information[own * count + own] += (variances[own] ** 2 * dot(ofScaled, ofScaled)) / 2;
  for (let k = 0; k < count; k++) {
    const between = submatrix(congruence(keep, swept[k], q, q), q, scaled);
    const value = (variances[own] * variances[k] * trace(between, s)) / 2;
    into.information[own * count + k] += value;
    into.information[k * count + own] += value;
  }
  return true;
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
    if (component) addGram(covariance, component.z, n, component.columns, variances[k]);
  }
  const projector = covariance;
  if (!cholesky(projector, n)) return false;
  let logDet = logDeterminant(projector, n);
  invertFactored(projector, n);
  if (p > 0) {
    const weighted = product(projector, block.design, n, n, p);
    const normal = transposeProduct(block.design, weighted, n, p, p);
    if (block.priorPrecision) addScaled(normal, block.priorPrecision);
    if (!cholesky(normal, p)) return false;
    logDet += logDeterminant(normal, p);
    // P = V⁻¹ − UᵀU with U = L⁻¹·(V⁻¹X)ᵀ.
    const u = transpose(weighted, n, p);
    solveLower(normal, p, u, n);
    addTransposeProduct(projector, u, u, p, n, n, -1);
  }
  const projected = product(projector, block.y, n, n);
  into.value -= (logDet + dot(block.y, projected)) / 2;

  const swept = block.components.map(
    (component) => component && product(projector, component.z, n, n, component.columns),
  );
  const q = sums ? sums.pull.length : 0;
  // Z_kᵀ·P·F.
  const onShared = swept.map((left, k) =>
    left && design ? transposeProduct(left, design, n, block.components[k]?.columns ?? 0, q) : undefined,
  );
  if (sums && design) {
    const seen = product(projector, design, n, n, q);
    addTransposeProduct(sums.omega, design, seen, n, q, q);
    addTransposeProduct(sums.pull, design, projected, n, q);
  }
  for (let k = 0; k < count; k++) {
    const component = block.components[k];
    const left = swept[k];
    if (!component || !left) continue;
    const m = component.columns;
    const onY = transposeProduct(component.z, projected, n, m);
    into.gradient[k] += (variances[k] * (dot(onY, onY) - dot(component.z, left))) / 2;
    const mine = onShared[k];
    if (sums && mine) {
      addTransposeProduct(sums.swept[k], mine, mine, m, q, q);
      addTransposeProduct(sums.sweptPull[k], mine, onY, m, q);
    }
    for (let l = 0; l <= k; l++) {
      const other = block.components[l];
      if (!other) continue;
      // tr(P·V_k·P·V_l) = ‖Z_lᵀ·P·Z_k‖².
      const crossed = transposeProduct(other.z, left, n, other.columns, m);
      const theirs = onShared[l];
      if (sums && mine && theirs) {
        const through = transposeProduct(theirs, crossed, other.columns, q, m);
        addProduct(sums.crossed[k * count + l], through, mine, q, m, q);
      }
      const value = (variances[k] * variances[l] * dot(crossed, crossed)) / 2;
      into.information[k * count + l] += value;
      if (l !== k) into.information[l * count + k] += value;
    }
  }
  return true;
}
