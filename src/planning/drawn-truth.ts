import { sourceOf } from '../bench/source.ts';
import type { Random } from '../lab/random.ts';
import { cholesky, solveLower, solveUpperT } from '../numerics/matrix.ts';
import type { CurvePosterior } from '../posterior/curve-posterior.ts';
import { type LimitNode, limitExcess } from '../posterior/pipe-limit.ts';
import { curveValues } from '../posterior/rise-curve.ts';
import { runCovariance, SHAPE, shapeCorrelation } from '../posterior/scatter.ts';
import { correlatedDraw } from './correlated-draw.ts';
import { type Belief, excessError, limitShows } from './outlook.ts';
import type { PlannedCoolerState, PlanTask } from './plan-task.ts';
import { type ExtendedRuns, extendRuns, LEAST_CURVE_WEIGHT, type PlannedRun } from './with-planned-runs.ts';

/** A cooler as it may truly be, and what the planned runs would then read. */
export interface DrawnTruth {
  /** Readings of the planned runs, the excess over a limit that shows taken off, K. */
  readonly readings_K: Float64Array;
  /** True mean rise at the loads of the question, K. */
  readonly mean_K: readonly number[];
  /** The limit, where a planned run shows it, and the error with which its excess is then known at each load. */
  readonly limit: { readonly node: LimitNode; readonly error_K: readonly number[] } | undefined;
}

/** One formula: the joint distribution of planned readings and true means given the runs there are. */
interface Joint {
  readonly weight: number;
  readonly mean: Float64Array;
  readonly factor: Float64Array;
}

/**
 * Draws truths of one cooler from its posterior.
 *
 * Under a formula everything is Gaussian about the mode: runs done, runs planned and the true mean at the question's loads have one joint covariance
 * (prior of the curve, departure from the formula, and for the runs the scatters of sample, mount, session and reading), and conditioning on the
 * runs done gives what is drawn from. Samples at hand keep what is known of them. The formula is drawn by its weight, a limit of the pipes from its
 * nodes.
 */
export class TruthDrawer {
  /** Absent where nothing is planned on the cooler. */
  readonly extended: ExtendedRuns | undefined;
  private readonly joints: readonly Joint[];
  private readonly task: PlanTask;
  private readonly one: PlannedCoolerState;
  private readonly planned: number;
  private readonly noise: number;

  constructor(task: PlanTask, one: PlannedCoolerState, planned: readonly PlannedRun[]) {
    const { posterior } = one;
    this.task = task;
    this.one = one;
    this.planned = planned.length;
    this.extended = planned.length > 0 ? extendRuns(task.question.posterior, posterior, planned) : undefined;
    this.noise = Math.sqrt(one.limitsNow[0].distribution.freshVariance_K2);
    const extended = this.extended ?? extendRuns(task.question.posterior, posterior, []);
    const used = posterior.curves
      .map((curve, m) => ({ curve, weight: posterior.weights[m] }))
      .filter(({ weight }) => weight > LEAST_CURVE_WEIGHT);
    const total = used.reduce((sum, { weight }) => sum + weight, 0);
    const joints = used.map(({ curve, weight }) => jointOf(task, one, extended, curve, weight / total));
    const believed = joints.reduce((sum, { weight }) => sum + weight, 0);
    this.joints = joints.map((joint) => ({ ...joint, weight: joint.weight / believed }));
  }

  draw(random: Random): DrawnTruth {
    const { task, one, planned } = this;
    const { power_W } = task.question;
    const joint = pick(this.joints, random.uniform());
    const values = correlatedDraw(joint.factor, joint.mean.length, random).map((x, i) => joint.mean[i] + x);
    const readings_K = values.slice(0, planned);
    const mean_K = power_W.map((_, l) => values[planned + l]);
    const { limits } = one.posterior;
    if (limits.length === 0) return { readings_K, mean_K, limit: undefined };
    const node = pick(limits, random.uniform());
    const base_W = one.limitsNow.map((at) => at.distribution.loading_W);
    const truly = mean_K.map((rise, l) => rise + limitExcess(node, base_W[l]));
    const { extended } = this;
    if (extended && limitShows(node, extended.seen_W, this.noise)) {
      const error_K = base_W.map((base) => excessError(node, extended, base, this.noise));
      return { readings_K, mean_K: truly, limit: { node, error_K } };
    }
    const first = (extended?.data.runs.length ?? 0) - planned;
    const lifted = readings_K.map(
      (rise, k) => rise + limitExcess(node, extended?.data.base_W[first + k] ?? 0),
    );
    return { readings_K: lifted, mean_K: truly, limit: undefined };
  }
}

function pick<T extends { readonly weight: number }>(list: readonly T[], share: number): T {
  let sum = 0;
  for (const one of list) {
    sum += one.weight;
    if (share < sum) return one;
  }
  return list[list.length - 1];
}

function jointOf(
  task: PlanTask,
  one: PlannedCoolerState,
  { data, factors }: ExtendedRuns,
  fitted: CurvePosterior,
  weight: number,
): Joint {
  const { posterior, power_W } = task.question;
  const { scatter, active } = posterior;
  const n = data.runs.length;
  const done = one.posterior.data.runs.length;
  const loads = power_W.length;
  const size = n + loads;
  const p = fitted.eta.length;
  const leak = sourceOf(posterior.bench, posterior.source).leak_W_per_K.value;
  const at = curveValues(n, p);
  fitted.curve.evaluate(fitted.eta, data, leak, at);
  const there = curveValues(loads, p);
  const speed = one.at.speed;
  fitted.curve.evaluate(
    fitted.eta,
    { power_W: Float64Array.from(power_W), speed: new Float64Array(loads).fill(speed) },
    leak,
    there,
  );
  const sigma = scatter.sigma.map((s, k) => (active[k] ? s : 0));
  const runs = runCovariance(data, factors, sigma);
  const shape = (sigma[SHAPE] * one.posterior.typical_K_per_W) ** 2;
  const slope = (i: number, j: number) => (i < n ? at.jacobian[i * p + j] : there.jacobian[(i - n) * p + j]);
  const base = (i: number) => (i < n ? data.base_W[i] : Math.max(there.base_W[i - n], 1e-3));
  const heat = (i: number) => (i < n ? data.base_W[i] : there.loading_W[i - n]);
  const speedAt = (i: number) => (i < n ? data.speed[i] : speed);
  const covariance = new Float64Array(size * size);
  for (let a = 0; a < size; a++) {
    for (let b = 0; b < size; b++) {
      let sum =
        a < n && b < n
          ? runs[a * n + b]
          : shape * heat(a) * heat(b) * shapeCorrelation(base(a), speedAt(a), base(b), speedAt(b));
      for (let j = 0; j < p; j++) sum += slope(a, j) * fitted.prior.deviation[j] ** 2 * slope(b, j);
      covariance[a * size + b] = sum;
    }
  }
  const departure = new Float64Array(done);
  const middle = new Float64Array(size);
  for (let i = 0; i < size; i++) {
    middle[i] = i < n ? at.rise_K[i] : there.rise_K[i - n];
    for (let j = 0; j < p; j++) middle[i] -= slope(i, j) * (fitted.eta[j] - fitted.prior.mean[j]);
  }
  for (let i = 0; i < done; i++) departure[i] = data.rise_K[i] - middle[i];
  const joint = conditioned(covariance, middle, departure, size, done);
  const share = believed(joint, one.beliefs[loads - 1]);
  const factor = joint.covariance;
  const left = size - done;
  // Two loads of the question may be nearly one; a jitter far below any printed digit keeps the factor real.
  for (let a = 0; a < left; a++) factor[a * left + a] += 1e-9;
  if (!cholesky(factor, left)) throw new RangeError('what is drawn has no spread of its own');
  return { weight: weight * share, mean: joint.mean, factor };
}

/**
 * Moves a joint distribution, its last value the mean at the greatest load asked for, to what is believed of the cooler beside the others: by the
 * observation of that mean which leads from the one to the other.
 *
 * @returns density of that observation under the formula, up to a factor that all formulas share
 */
function believed(
  { mean, covariance }: { mean: Float64Array; covariance: Float64Array },
  { own, among }: Belief,
): number {
  const precision = 1 / among.u ** 2 - 1 / own.u ** 2;
  if (!(precision > 1e-9)) return 1;
  const observed = (among.mean / among.u ** 2 - own.mean / own.u ** 2) / precision;
  const size = mean.length;
  const top = size - 1;
  const column = Float64Array.from({ length: size }, (_, i) => covariance[i * size + top]);
  const spread = column[top] + 1 / precision;
  const off = observed - mean[top];
  for (let i = 0; i < size; i++) {
    mean[i] += (column[i] / spread) * off;
    for (let j = 0; j < size; j++) covariance[i * size + j] -= (column[i] * column[j]) / spread;
  }
  return Math.exp(-(off * off) / (2 * spread)) / Math.sqrt(spread);
}

/** Mean and covariance of what is behind the first `done` values, given those. */
function conditioned(
  covariance: Float64Array,
  middle: Float64Array,
  departure: Float64Array,
  size: number,
  done: number,
): { mean: Float64Array; covariance: Float64Array } {
  const left = size - done;
  const among = new Float64Array(done * done);
  const pull = new Float64Array(done * left);
  for (let i = 0; i < done; i++) {
    for (let j = 0; j < done; j++) among[i * done + j] = covariance[i * size + j];
    for (let j = 0; j < left; j++) pull[i * left + j] = covariance[i * size + done + j];
  }
  if (!cholesky(among, done)) throw new RangeError('the covariance of the runs is not positive definite');
  solveLower(among, done, pull, left);
  const after = new Float64Array(left * left);
  for (let a = 0; a < left; a++) {
    for (let b = 0; b < left; b++) {
      let sum = covariance[(done + a) * size + done + b];
      for (let i = 0; i < done; i++) sum -= pull[i * left + a] * pull[i * left + b];
      after[a * left + b] = sum;
    }
  }
  solveUpperT(among, done, pull, left);
  const mean = new Float64Array(left);
  for (let a = 0; a < left; a++) {
    mean[a] = middle[done + a];
    for (let i = 0; i < done; i++) mean[a] += pull[i * left + a] * departure[i];
  }
  return { mean, covariance: after };
}
