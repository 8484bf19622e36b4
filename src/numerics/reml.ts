import { crossedTrace, type Part, partOf, squaresOf, through, traceOf } from './covariance-parts.ts';
import {
  addDiagonal,
  addProduct,
  addScaled,
  addTransposeProduct,
  cholesky,
  congruence,
  diagonalMatrix,
  dot,
  invertSpd,
  logDeterminant,
  product,
  productTranspose,
  solveLower,
  submatrix,
  trace,
  traceOfProduct,
  transpose,
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
  /** How the value bends down, on average information, K × K; positive definite. */
  curvature: Float64Array;
}

/**
 * Variance components by restricted maximum likelihood, pooled over independent blocks.
 *
 * Ordinary maximum likelihood divides by n and so reports too small a scatter when a block's mean curve uses up degrees
 * of freedom; the restricted likelihood is that of the contrasts which no mean curve can reach, so that the scatter is
 * unbiased in the balanced case. Maximised over log σ² by Newton's steps with step halving: the score is
 * −½·[tr(P·V_k) − yᵀ·P·V_k·P·y], P = V⁻¹ − V⁻¹X(XᵀV⁻¹X + Λ)⁻¹XᵀV⁻¹, and the bend is taken from the mean of observed and expected
 * information, ½·yᵀ·P·V_k·P·V_l·P·y, which takes one solution a component. The answer is judged by the expected one, ½·tr(P·V_k·P·V_l).
 *
 * No matrix of the rows is formed: the curve and all components but the noise and the finest grouping are few columns, and every trace is one
 * over those columns and over groups (see {@link SplitCovariance}).
 *
 * Effects that blocks share are integrated out after the blocks' own curves: with P_c of each block alone, Ω = Σ F_cᵀ·P_c·F_c and
 * M = (D⁻¹ + Ω)⁻¹, the P of all is that of the blocks less P_c·F_c·M·F_dᵀ·P_d (Woodbury), and no matrix of all runs is formed.
 *
 * Source: Patterson and Thompson (1971) Biometrika 58, 545; Searle, Casella and McCulloch (1992) Variance Components,
 * chapter 6; average information: Gilmour, Thompson and Cullis (1995) Biometrics 51, 1440. The optional priors on log σ keep a component off zero when a bench has few repeats (Chung et al. 2013,
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
    const step = newtonStep(current, theta, floor);
    const uphill = (direction: Float64Array) =>
      climb(blocks, priors, shared, theta, current, direction, floor);
    // Far from the top the clipped step can point downhill; the score alone, scaled, cannot.
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
  const covariance = expectedInformation(blocks, theta.map(Math.exp), shared);
  const dataShare = theta.map((_, k) => {
    const fromPrior = priorInformation(priors[k]);
    const total = covariance[k * count + k] + fromPrior;
    covariance[k * count + k] = total + 1e-12;
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
  const variances = Float64Array.from(sigma, (s) => s * s);
  return expectedInformation(blocks.map(laidOut), variances);
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

/** At most a factor of e² in a variance at once. */
const clipped = (step: number): number => Math.max(-2, Math.min(2, step));

/** Newton step of each log variance by itself, held within bounds: how far the fit is from its maximum. */
function scaledScore({ gradient, curvature }: Evaluation): Float64Array {
  return gradient.map((g, k) => clipped(g / (curvature[k * gradient.length + k] + 1e-9)));
}

/** Newton's step; a variance at the floor that would fall further stays there. */
function newtonStep(at: Evaluation, theta: Float64Array, floor: Float64Array): Float64Array {
  const count = theta.length;
  const matrix = Float64Array.from(at.curvature);
  const gradient = Float64Array.from(at.gradient);
  for (let k = 0; k < count; k++) {
    matrix[k * count + k] += 1e-9 + 1e-9 * matrix[k * count + k];
    const stuck = theta[k] <= floor[k] && gradient[k] < 0;
    if (!stuck) continue;
    gradient[k] = 0;
    for (let l = 0; l < count; l++) matrix[k * count + l] = matrix[l * count + k] = k === l ? 1 : 0;
  }
  invertSpd(matrix, count);
  return product(matrix, gradient, count, count).map(clipped);
}

const priorInformation = (prior: LogScalePrior | undefined): number =>
  prior ? 1 / (4 * prior.standardDeviation ** 2) : 0;

/** A block at some variances. */
interface BlockAt {
  readonly v: SplitCovariance;
  readonly parts: readonly Part[];
  /** P·U: Y·N⁻¹. */
  readonly solved: Float64Array;
  /** P·y of the block alone, and yᵀ·P·y. */
  readonly projected: Float64Array;
  readonly form: number;
  /** F and P·F of the effects that it shares, n × q. */
  readonly design?: Float64Array;
  readonly seen?: Float64Array;
}

/**
 * A block at some variances: V⁻¹ of the readings and the components' columns, and the quadratic form;
 * `undefined` where V is not positive definite.
 */
function blockAt(
  { layout, precision, y }: LaidOut,
  variances: Float64Array,
  design: Float64Array | undefined,
  q: number,
): BlockAt | undefined {
  const v = layout.at(variances, precision);
  if (!v) return undefined;
  const parts = layout.roles.map((role) => partOf(role, v, variances));
  const solved = product(v.weighted, v.inverse(), v.n, v.columns, v.columns);
  const { solution: projected, form } = v.solveWithForm(y);
  return { v, parts, solved, projected, form, ...(design && { design, seen: v.solve(design, q) }) };
}

/** σ_k²·V_k·X of each component k that a block has, its parts together, n × columns. */
function throughEach(
  parts: readonly Part[],
  v: SplitCovariance,
  x: Float64Array,
  columns = 1,
): Map<number, Float64Array> {
  const moved = new Map<number, Float64Array>();
  for (const part of parts) {
    const one = through(part, v, x, columns);
    const before = moved.get(part.component);
    moved.set(part.component, before ? addScaled(before, one) : one);
  }
  return moved;
}

/** The restricted likelihood, its score and its bend at some log σ²; `undefined` where a covariance is not positive definite. */
function evaluate(
  blocks: readonly LaidOut[],
  theta: Float64Array,
  priors: readonly (LogScalePrior | undefined)[],
  shared: SharedEffects | undefined,
): Evaluation | undefined {
  const count = theta.length;
  const q = shared?.columns ?? 0;
  const variances = theta.map(Math.exp);
  let value = 0;
  const gradient = new Float64Array(count);
  const average = new Float64Array(count * count);
  // Fᵀ·P·w_k over all blocks, w_k = σ_k²·V_k·P·y.
  const reach = Array.from({ length: count }, () => new Float64Array(q));
  const add = (one: BlockAt, common?: Integrated) => addScore(one, common, q, gradient, average, reach);
  const at: BlockAt[] = [];
  for (const [b, block] of blocks.entries()) {
    const one = blockAt(block, variances, shared?.designs[b], q);
    if (!one) return undefined;
    value -= (one.v.logDeterminant + one.form) / 2;
    // Blocks that share nothing are done with one by one.
    if (shared) at.push(one);
    else add(one);
  }
  const common = shared && integrated(shared, at, variances);
  if (shared && !common) return undefined;
  if (common) value -= (common.logDeterminant - dot(common.pull, common.effect)) / 2;
  for (const one of at) add(one, common);
  if (shared && common) addShared(shared, common, reach, variances, gradient, average);
  // The bend over log σ² has the score on its diagonal; without it where that leaves a saddle.
  const curvature = addDiagonal(
    average.slice(),
    count,
    gradient.map((g) => -g),
  );
  priors.forEach((prior, k) => {
    if (!prior) return;
    const z = (theta[k] / 2 - prior.mean) / prior.standardDeviation;
    value -= (z * z) / 2;
    gradient[k] -= z / (2 * prior.standardDeviation);
    for (const matrix of [average, curvature]) matrix[k * count + k] += priorInformation(prior);
  });
  const bends = addDiagonal(curvature.slice(), count, 1e-9);
  return { value, gradient, curvature: cholesky(bends, count) ? curvature : average };
}

/** Adds what a block has in the score, in the average information and in the reach of the shared effects. */
function addScore(
  { v, parts, solved, projected, seen }: BlockAt,
  common: Integrated | undefined,
  q: number,
  gradient: Float64Array,
  average: Float64Array,
  reach: readonly Float64Array[],
): void {
  const count = gradient.length;
  const residual = projected.slice();
  if (common && seen) addProduct(residual, seen, common.effect, v.n, q, 1, -1);
  const halves = common && seen && product(seen, common.root, v.n, q, q);
  // Columns w_k = σ_k²·V_k·P·y.
  const moved = new Float64Array(v.n * count);
  for (const part of parts) {
    const k = part.component;
    gradient[k] += (squaresOf(part, v, residual) - traceOf(part, v, solved)) / 2;
    if (halves) gradient[k] += squaresOf(part, v, halves, q) / 2;
    const one = through(part, v, residual, 1);
    for (let i = 0; i < v.n; i++) moved[i * count + k] += one[i];
  }
  addTransposeProduct(average, moved, v.solve(moved, count), v.n, count, count, 0.5);
  if (!seen) return;
  reach.forEach((to, k) => {
    const one = Float64Array.from({ length: v.n }, (_, i) => moved[i * count + k]);
    addTransposeProduct(to, seen, one, v.n, q);
  });
}

/** What blocks share, given all of them: M and what comes with it. */
interface Integrated {
  /** Ω = Σ Fᵀ·P·F, and Σ Fᵀ·P·y. */
  readonly omega: Float64Array;
  readonly pull: Float64Array;
  /** M = (D⁻¹ + Ω)⁻¹, and R with R·Rᵀ = M. */
  readonly m: Float64Array;
  readonly root: Float64Array;
  /** M·Fᵀ·P·y: the likeliest effects. */
  readonly effect: Float64Array;
  /** ln|D| + ln|D⁻¹ + Ω|. */
  readonly logDeterminant: number;
}

/**
 * The shared effects integrated out of all blocks: their precision Ω = ΣFᵀV⁻¹F, posterior mean, and what both
 * do to the likelihood.
 */
function integrated(
  { columns: q, known, component, scaled }: SharedEffects,
  at: readonly BlockAt[],
  variances: Float64Array,
): Integrated | undefined {
  const omega = new Float64Array(q * q);
  const pull = new Float64Array(q);
  for (const { v, design, seen, projected } of at) {
    if (!design || !seen) continue;
    addTransposeProduct(omega, design, seen, v.n, q, q);
    addTransposeProduct(pull, design, projected, v.n, q);
  }
  // With D = LLᵀ the inverse of D is not needed: M = L·(I + LᵀΩL)⁻¹·Lᵀ.
  const lower = known.slice();
  for (const j of scaled) lower[j * q + j] += variances[component];
  if (!cholesky(lower, q)) return undefined;
  const inner = addDiagonal(transposeProduct(lower, product(omega, lower, q, q, q), q, q, q), q, 1);
  if (!cholesky(inner, q)) return undefined;
  const half = transpose(lower, q, q);
  solveLower(inner, q, half, q);
  const root = transpose(half, q, q);
  const m = productTranspose(root, root, q, q, q);
  return { omega, pull, m, root, effect: product(m, pull, q, q), logDeterminant: logDeterminant(inner, q) };
}

/** What the effects that blocks share add to the score and to the average information, own scatter among them. */
function addShared(
  { columns: q, component: own, scaled }: SharedEffects,
  { omega, pull, m, root, effect }: Integrated,
  reach: readonly Float64Array[],
  variances: Float64Array,
  gradient: Float64Array,
  average: Float64Array,
): void {
  const count = variances.length;
  // Fᵀ·P·y of all, and D's scattering part of it.
  const onY = addProduct(pull.slice(), omega, effect, q, q, 1, -1);
  const onDesign = addProduct(omega.slice(), omega, product(m, omega, q, q, q), q, q, q, -1);
  const spread = new Float64Array(q);
  for (const j of scaled) {
    spread[j] = variances[own] * onY[j];
    gradient[own] += (variances[own] * (onY[j] ** 2 - onDesign[j * q + j])) / 2;
  }
  const across = product(omega, spread, q, q);
  const halves = reach.map((one, k) => transposeProduct(root, k === own ? across : one, q, q));
  for (let k = 0; k < count; k++) {
    for (let l = 0; l < count; l++) {
      const apart =
        k === own ? dot(l === own ? across : reach[l], spread) : l === own ? dot(reach[k], spread) : 0;
      average[k * count + l] += (apart - dot(halves[k], halves[l])) / 2;
    }
  }
}

/** Expected information on log σ_k², ½·tr(P·V_k·P·V_l)·σ_k²σ_l², K × K row-major. */
function expectedInformation(
  blocks: readonly LaidOut[],
  variances: Float64Array,
  shared?: SharedEffects,
): Float64Array {
  const count = variances.length;
  const q = shared?.columns ?? 0;
  const information = new Float64Array(count * count);
  const sums = shared && sharedSums(q, count);
  const at: BlockAt[] = [];
  for (const [b, block] of blocks.entries()) {
    const one = blockAt(block, variances, shared?.designs[b], q);
    if (!one) throw new RangeError('expectedInformation: the covariance is not positive definite');
    const { v, parts, solved, seen } = one;
    parts.forEach((part, a) => {
      const k = part.component;
      for (let c = 0; c <= a; c++) {
        const l = parts[c].component;
        const value = crossedTrace(part, parts[c], v, solved) / 2;
        information[k * count + l] += value;
        if (c !== a) information[l * count + k] += value;
      }
    });
    if (sums && seen) addToShared(sums, v, parts, seen, count);
    if (shared) at.push(one);
  }
  const common = shared && integrated(shared, at, variances);
  if (shared && sums && common) addSharedInformation(shared, common, sums, variances, information);
  return information;
}

/** What the blocks hold of the effects that they share, summed over them, q × q. */
interface SharedSums {
  /** By component: Σ σ_k²·FᵀPV_kPF. */
  readonly swept: readonly Float64Array[];
  /** By pair of components, l ≤ k: Σ σ_k²σ_l²·FᵀPV_kPV_lPF. */
  readonly crossed: readonly Float64Array[];
}

/** Zero matrices for the sums over blocks, one a component and one a pair of components. */
function sharedSums(q: number, count: number): SharedSums {
  const each = (length: number) => Array.from({ length }, () => new Float64Array(q * q));
  return { swept: each(count), crossed: each(count * count) };
}

/** The expected information once the effects that blocks share are integrated out of what the blocks alone have. */
function addSharedInformation(
  { columns: q, component: own, scaled }: SharedEffects,
  { omega, m }: Integrated,
  { swept, crossed }: SharedSums,
  variances: Float64Array,
  information: Float64Array,
): void {
  const count = variances.length;
  const weighted = swept.map((one) => product(m, one, q, q, q));
  for (let k = 0; k < count; k++) {
    for (let l = 0; l <= k; l++) {
      const value =
        traceOfProduct(weighted[k], weighted[l], q) / 2 - traceOfProduct(m, crossed[k * count + l], q);
      information[k * count + l] += value;
      if (l !== k) information[l * count + k] += value;
    }
  }
  // FᵀP of all is that of the blocks, less this share of it.
  const keep = addProduct(diagonalMatrix(q), omega, m, q, q, q, -1);
  const ofScaled = submatrix(product(keep, omega, q, q, q), q, scaled);
  information[own * count + own] += (variances[own] ** 2 * dot(ofScaled, ofScaled)) / 2;
  for (let k = 0; k < count; k++) {
    const between = submatrix(congruence(keep, swept[k], q, q), q, scaled);
    const value = (variances[own] * trace(between, scaled.length)) / 2;
    information[own * count + k] += value;
    information[k * count + own] += value;
  }
}

/** What a block holds of the effects that it shares. @param seen  P·F, n × q */
function addToShared(
  sums: SharedSums,
  v: SplitCovariance,
  parts: readonly Part[],
  seen: Float64Array,
  count: number,
): void {
  const { n } = v;
  const q = seen.length / n;
  const moved = throughEach(parts, v, seen, q);
  for (const [k, left] of moved) {
    addTransposeProduct(sums.swept[k], seen, left, n, q, q);
    const back = v.solve(left, q);
    for (const [l, right] of moved) {
      if (l <= k) addTransposeProduct(sums.crossed[k * count + l], right, back, n, q, q);
    }
  }
}

/**
 * A block as it stands throughout a fit.
 *
 * With Y = B⁻¹U and N as in {@link SplitCovariance}, P = B⁻¹ − Y·N⁻¹·Yᵀ. Between columns of components σ_kσ_l·Z_kᵀPZ_l is I − N⁻¹, and PU is Y·N⁻¹;
 * what the nest's b_j (the columns of its Z) and the rows' own variances bring beside are sums over groups and over rows.
 */
interface LaidOut extends Block {
  readonly layout: CovarianceLayout;
  /** E of all columns: 1 each for the components', the prior's for the design's. */
  readonly precision: Float64Array;
}

/** A block with the covariance laid out once: groups, design, prior precision. */
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
