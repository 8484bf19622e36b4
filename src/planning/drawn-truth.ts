import type { Random } from '../lab/random.ts';
import { type Gaussian, given } from '../numerics/gaussian.ts';
import { cholesky } from '../numerics/matrix.ts';
import { relativeSpeed } from '../posterior/cooler-runs.ts';
import { type LimitNode, limitExcess } from '../posterior/pipe-limit.ts';
import { jointRises } from '../prediction/joint-rises.ts';
import { atLoads, type RisePoint } from '../prediction/rise-point.ts';
import { correlatedDraw } from './correlated-draw.ts';
import { type Belief, excessError, limitShows } from './outlook.ts';
import type { PlanTask } from './plan-task.ts';
import type { PlannedCoolerState } from './planned-cooler.ts';
import { type ExtendedRuns, extendRuns, type PlannedRun } from './with-planned-runs.ts';

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
 * Under a formula runs planned and the true mean at the question's loads are jointly Gaussian given the runs done ({@link jointRises}); samples
 * at hand keep what is known of them. The formula is drawn by its weight, a limit of the pipes from its nodes.
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
    this.joints = jointsOf(task, one, planned);
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

/** What is drawn from: readings of the planned runs and true means at the question's loads, all normal given the runs there are. */
function jointsOf(task: PlanTask, one: PlannedCoolerState, planned: readonly PlannedRun[]): Joint[] {
  const { posterior, power_W } = task.question;
  const described = one.posterior.data.cooler;
  const points: RisePoint[] = [
    ...planned.map(({ power_W: power, fan_rpm, sample, mount }) => ({
      power_W: power,
      speed: relativeSpeed(described, fan_rpm),
      sample,
      mount,
      reading_u_K: 0,
    })),
    ...atLoads(power_W, one.at.speed),
  ];
  const top = points.length - 1;
  const joints = jointRises(posterior, one.posterior, points, { want: 'covariance' }).map(
    (formula): Joint => {
      const joint = asBelieved(formula, top, one.beliefs[power_W.length - 1]);
      const factor = joint.covariance.slice();
      // Two loads of the question may be nearly one; a jitter far below any printed digit keeps the factor real.
      for (let a = 0; a <= top; a++) factor[a * points.length + a] += 1e-9;
      if (!cholesky(factor, points.length)) throw new RangeError('what is drawn has no spread of its own');
      return { weight: formula.weight * Math.exp(joint.logDensity), mean: joint.mean, factor };
    },
  );
  const total = joints.reduce((sum, { weight }) => sum + weight, 0);
  return joints.map((joint) => ({ ...joint, weight: joint.weight / total }));
}

/**
 * A joint distribution moved to what is believed of the cooler beside the others: given that reading of the mean at `top` which leads from
 * its own estimate there to the one among the others.
 */
function asBelieved(
  joint: Gaussian,
  top: number,
  { own, among }: Belief,
): Gaussian & { readonly logDensity: number } {
  const precision = 1 / among.u ** 2 - 1 / own.u ** 2;
  if (!(precision > 1e-9)) return { ...joint, logDensity: 0 };
  const observed = (among.mean / among.u ** 2 - own.mean / own.u ** 2) / precision;
  const all = Array.from(joint.mean.keys());
  return given(joint, [top], [observed], { of: all, noise: [1 / precision] });
}
