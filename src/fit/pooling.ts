import { addScaled, diagonalMatrix, invertSpd, product } from '../numerics/matrix.ts';
import { solveLinear } from '../numerics/orthogonal.ts';
import type { CurvePosterior, CurvePrior } from './curve-posterior.ts';
import { statedPrior } from './curve-posterior.ts';
import type { RiseCurve } from './rise-curve.ts';

/**
 * Fewest coolers from which a spread between coolers is learnt. Chosen: two tell next to nothing of a
 * spread.
 */
const FEWEST = 3;
/** Weight, in coolers, of the assumption about the spread, and that spread: ±35 % between coolers of one bench. */
const SPREAD_WEIGHT = 2;
const SPREAD = 0.35;

/** Degrees of freedom of the spread between coolers: now and then one is built quite differently. */
const TAIL_FREEDOM = 4;

/**
 * What the other coolers of a bench say about a formula's parameters: empirical Bayes by EM.
 *
 * Each parameter of cooler c is taken as normal about a bench mean μ with spread τ on the fitting scale. A cooler whose
 * own runs tell its fan exponent keeps it; one run at a single speed borrows μ ± τ. Given μ and τ the posterior of each
 * cooler is C = (H + T⁻¹)⁻¹, m = C·(b + T⁻¹μ) with H and b the information of its own runs (E-step); μ and τ² are
 * then the mean and the mean square of what was found (M-step). τ is held up by an assumed spread counted as two coolers, and the
 * uncertainty of μ itself is added to the prior that is returned.
 *
 * Source: Dempster, Laird and Rubin (1977) JRSS B 39, 1; Gelman et al., Bayesian Data Analysis, 3rd ed., chapter 5.
 *
 * @param posteriors  one a cooler, all of one formula
 * @param pooled  for each parameter, whether it may be pooled
 */
export function benchPrior(
  curve: RiseCurve,
  posteriors: readonly CurvePosterior[],
  pooled: readonly boolean[],
): CurvePrior {
  const stated = statedPrior(curve);
  const usable = posteriors.filter((posterior) => posterior.information.every(Number.isFinite));
  if (usable.length < FEWEST) return stated;
  const p = curve.parameterCount;
  const spread0 = curve.scales.map((scale, j) =>
    scale.logarithmic ? Math.min(SPREAD, stated.deviation[j]) : stated.deviation[j],
  );
  const mean = stated.mean.slice();
  const variance = Float64Array.from(spread0, (s, j) => (pooled[j] ? s * s : stated.deviation[j] ** 2));
  let uncertainty = new Float64Array(p);
  const pull = usable.map((posterior) => informationTarget(posterior, p));
  for (let iteration = 0; iteration < 40; iteration++) {
    const sum = new Float64Array(p);
    const squares = new Float64Array(p);
    // What the coolers tell of μ, p × p: T⁻¹ − T⁻¹CT⁻¹ of each. Runs at one speed tell a sum of two parameters and nothing of its split,
    // and only the whole matrix says so.
    const told = new Float64Array(p * p);
    const modes: Float64Array[] = [];
    const spreads: Float64Array[] = [];
    for (let c = 0; c < usable.length; c++) {
      const { mode, covariance } = shrink(usable[c].information, pull[c], mean, variance, p);
      modes.push(mode);
      spreads.push(covariance);
      for (let j = 0; j < p; j++) {
        sum[j] += mode[j];
        told[j * p + j] += 1 / variance[j];
        for (let k = 0; k < p; k++) told[j * p + k] -= covariance[j * p + k] / (variance[j] * variance[k]);
      }
    }
    let change = 0;
    for (let j = 0; j < p; j++) {
      if (!pooled[j]) continue;
      const own = 1 / stated.deviation[j] ** 2;
      const next = (sum[j] / variance[j] + own * stated.mean[j]) / (usable.length / variance[j] + own);
      change = Math.max(change, Math.abs(next - mean[j]));
      mean[j] = next;
    }
    uncertainty = uncertaintyOfMeans(told, stated, pooled);
    for (let c = 0; c < usable.length; c++) {
      for (let j = 0; j < p; j++) squares[j] += (modes[c][j] - mean[j]) ** 2 + spreads[c][j * p + j];
    }
    for (let j = 0; j < p; j++) {
      if (!pooled[j]) continue;
      variance[j] = (squares[j] + SPREAD_WEIGHT * spread0[j] ** 2) / (usable.length + SPREAD_WEIGHT);
    }
    if (change < 1e-6) break;
  }
  return {
    mean,
    deviation: variance.map((v, j) => Math.sqrt(pooled[j] ? v + uncertainty[j] : v)),
    pooled,
  };
}

/** Variance of each bench mean: what the coolers tell of all that are pooled, with the stated prior, inverted. */
function uncertaintyOfMeans(
  told: Float64Array,
  { deviation }: CurvePrior,
  pooled: readonly boolean[],
): Float64Array<ArrayBuffer> {
  const p = pooled.length;
  for (let j = 0; j < p; j++) {
    told[j * p + j] += 1 / deviation[j] ** 2;
    for (let k = 0; k < p; k++) if (j !== k && !(pooled[j] && pooled[k])) told[j * p + k] = 0;
  }
  invertSpd(told, p);
  return Float64Array.from(deviation, (_, j) => told[j * p + j]);
}

/**
 * Weight, in coolers, of what the bench mean of a parameter does not take from the coolers. Chosen: as much
 * as one cooler.
 */
const MEAN_HELD = 1;

/**
 * How the prior's mean of each cooler, and with it the cooler's curve, answers to the errors that all runs share.
 *
 * A thermometer that reads high lifts every cooler, and so lifts what they are pooled to: borrowing does not take such an error
 * away. With s = C·JᵀV⁻¹·∂y/∂error of each cooler alone, the shift is where δη = s + C·T⁻¹·δμ with δμ the mean of
 * δη over the coolers.
 *
 * @param own  s of each cooler, p × count
 * @returns C·T⁻¹·δμ of each cooler, p × count
 */
export function pooledShift(
  posteriors: readonly CurvePosterior[],
  own: readonly Float64Array[],
): Float64Array[] {
  const pooled = posteriors[0]?.prior.pooled;
  const shifts = own.map((s) => new Float64Array(s.length));
  if (!pooled) return shifts;
  const p = pooled.length;
  const count = own[0].length / p;
  const coolers = own.length + MEAN_HELD;
  // C·T⁻¹ of each cooler, p × p; and the identity less their mean.
  const passes = posteriors.map(({ covariance, prior }) =>
    covariance.map((value, k) => (pooled[k % p] ? value / prior.deviation[k % p] ** 2 : 0)),
  );
  const system = diagonalMatrix(p, new Float64Array(p).fill(1));
  for (const pass of passes) addScaled(system, pass, -1 / coolers);
  for (let e = 0; e < count; e++) {
    const told = Float64Array.from({ length: p }, (_, j) =>
      own.reduce((sum, s) => sum + s[j * count + e] / coolers, 0),
    );
    const mean = solveLinear(system.slice(), p, told);
    if (!mean) continue;
    passes.forEach((pass, c) => {
      product(pass, mean, p, p).forEach((shift, j) => {
        shifts[c][j * count + e] = shift;
      });
    });
  }
  return shifts;
}

/**
 * A pooled prior for a cooler that lies far from the others, as a Student's t would have it.
 *
 * A normal spread learnt from coolers that are alike would drag the odd one to them against its own runs. The t with ν degrees of freedom is a normal
 * whose deviation grows with the distance already found, by √((ν + z²)/(ν + 1)); near the mean it is left as it is,
 * and it never gets wider than the model file's own prior.
 *
 * @param before  the cooler's last fit of this formula
 */
export function heavyTailed(prior: CurvePrior, before: CurvePosterior | undefined): CurvePrior {
  if (!before || !prior.pooled) return prior;
  const most = statedPrior(before.curve).deviation;
  return {
    ...prior,
    deviation: prior.deviation.map((deviation, j) => {
      const z = (before.eta[j] - prior.mean[j]) / deviation;
      const grown = deviation * Math.sqrt(Math.max(1, (TAIL_FREEDOM + z * z) / (TAIL_FREEDOM + 1)));
      return Math.min(grown, Math.max(deviation, most[j]));
    }),
  };
}

/** b = H·η̂ + JᵀV⁻¹(y − f): where the runs alone would pull the parameters, times their information. */
function informationTarget(posterior: CurvePosterior, p: number): Float64Array {
  const target = new Float64Array(p);
  const n = posterior.residual_K.length;
  for (let j = 0; j < p; j++) {
    for (let k = 0; k < p; k++) target[j] += posterior.information[j * p + k] * posterior.eta[k];
    for (let i = 0; i < n; i++) {
      target[j] += posterior.weightedJacobian[i * p + j] * posterior.residual_K[i];
    }
  }
  return target;
}

/** Posterior of one cooler under a normal prior on each parameter: covariance (H + T⁻¹)⁻¹ and mode. */
function shrink(
  information: Float64Array,
  target: Float64Array,
  mean: Float64Array,
  variance: Float64Array,
  p: number,
): { mode: Float64Array; covariance: Float64Array } {
  const covariance = information.slice();
  for (let j = 0; j < p; j++) covariance[j * p + j] += 1 / variance[j];
  invertSpd(covariance, p);
  const mode = new Float64Array(p);
  for (let j = 0; j < p; j++) {
    for (let k = 0; k < p; k++) mode[j] += covariance[j * p + k] * (target[k] + mean[k] / variance[k]);
  }
  return { mode, covariance };
}
