import { addGram, addScaled, cholesky, dot, invertSpd, logDeterminant, product } from '../numerics/matrix.ts';

/** How far a bad fitting or a session out of control may stand off, K/W, and how often either is met (common practice, no source). */
const FAULT_K_PER_W = 0.05;
export const FAULT_CHANCE = 0.04;
/** One fitting whose resistance may be off: what that would do to the estimate of the effects. */
export interface FittingFault {
  readonly session: number;
  /** FᵀΩd, with d the heats of the fitting's runs. */
  readonly onEffects: Float64Array;
  /** dᵀΩd. */
  readonly square: number;
  /** dᵀΩ·departure. */
  readonly pull: number;
}

/** What is wrong under a hypothesis: a session as a whole, or one fitting in it. */
export type Fault = FittingFault | { readonly session: number };

export const isFitting = (fault: Fault): fault is FittingFault => 'square' in fault;

/** What the runs of coolers in several sessions say of the effects: ΣFᵀΩF, ΣFᵀΩ·departure, and of each fitting. */
export interface SessionInformation {
  readonly precision: Float64Array;
  readonly pull: Float64Array;
  readonly fittings: readonly FittingFault[];
}

/** The effects under one hypothesis, and how well it foresees the runs, prior chance included; none where a matrix is singular. */
export function under(told: SessionInformation, prior: Float64Array, chance: number, fault?: Fault) {
  const { length: size } = told.pull;
  const covariance = prior.slice();
  const place = fault && !isFitting(fault) ? (size / 2 + fault.session) * (size + 1) : undefined;
  if (place !== undefined) covariance[place] += FAULT_K_PER_W ** 2;
  const wide = place === undefined ? 0 : covariance[place];
  const priorRoot = covariance.slice();
  if (!cholesky(priorRoot, size) || !invertSpd(covariance, size)) return [];
  const toward = told.pull.slice();
  let log = Math.log(chance) - logDeterminant(priorRoot, size) / 2;
  addScaled(covariance, told.precision);
  if (fault && isFitting(fault)) {
    // A fitting that is off adds to its cooler's covariance along one direction (Sherman and Morrison).
    const scale = 1 / (FAULT_K_PER_W ** -2 + fault.square);
    addGram(covariance, fault.onEffects, size, 1, -scale);
    addScaled(toward, fault.onEffects, -scale * fault.pull);
    log += (scale * fault.pull ** 2 - Math.log(1 + FAULT_K_PER_W ** 2 * fault.square)) / 2;
  }
  const root = covariance.slice();
  if (!cholesky(root, size) || !invertSpd(covariance, size)) return [];
  const mean = product(covariance, toward, size, size);
  log += (dot(toward, mean) - logDeterminant(root, size)) / 2;
  // Runs that say nothing of a session leave it as sessions are that nothing ties.
  if (place !== undefined) log += Math.log(Math.max(1 - covariance[place] / wide, Number.MIN_VALUE));
  return [{ log, mean, covariance, fault }];
}
