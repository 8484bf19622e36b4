import { countMounts } from '../bench/mounts.ts';
import { type RiseLimits, riseLimits } from '../comparison/rise-limits.ts';
import { normalCdf } from '../numerics/distributions.ts';
import { mixtureDeviation } from '../numerics/mixture.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { type LimitNode, limitExcess } from '../posterior/pipe-limit.ts';
import type { SpeedCondition } from '../prediction/conditions.ts';
import { heldFreedom } from '../prediction/rise-distribution.ts';
import type { Estimate } from './population.ts';
import { freedomOf, scatterInformation } from './scatter-learning.ts';
import { afterRuns, type ExtendedRuns, extendRuns, type PlannedRun } from './with-planned-runs.ts';

/** What may be found of a cooler at one load, and how well it is then known. */
export interface Prospect {
  readonly weight: number;
  readonly middle_K: number;
  readonly down_K: number;
  readonly up_K: number;
}

/** A cooler at one load after some planned runs, before they are done. */
export interface Outlook {
  readonly prospects: readonly Prospect[];
  /** Variance of where the estimate will come to lie, K²: what the runs are expected to tell. */
  readonly moves_K2: number;
  /** Standard deviation that is left, limits of pipes apart, K. */
  readonly left_K: number;
  readonly sensitivity: Float64Array;
  /** Effective degrees of freedom of the scatter behind the limits, as known now, and the share of each scatter in the variance. */
  readonly freedom: number;
  readonly scatterShares: Float64Array;
  /** Information that the planned runs bring on the scatters, see {@link scatterInformation}; absent without planned runs. */
  readonly informs: Float64Array | undefined;
}

/** A cooler's rise at one load, limits of pipes apart: by its own runs, and as believed beside the other coolers. */
export interface Belief {
  readonly own: Estimate;
  readonly among: Estimate;
}

/**
 * An outlook by what is believed of the cooler beside the others.
 *
 * Where the estimate will come to lie once the planned runs have read is a mean of what it is now and what they will show, with weight g on the latter,
 * g the share of the variance that they take away. What they will show is expected where the cooler is believed to be, not where its own runs put it.
 */
export function believing(outlook: Outlook, { own, among }: Belief): Outlook {
  if (!(own.u > 0)) return outlook;
  const g = outlook.moves_K2 / (own.u * own.u);
  const shift = g * (among.mean - own.mean);
  return {
    ...outlook,
    prospects: outlook.prospects.map((one) => ({ ...one, middle_K: one.middle_K + shift })),
    moves_K2: g * g * among.u * among.u + g * (1 - g) * own.u * own.u,
  };
}

/** The question that a plan is to answer. */
export interface Question {
  readonly posterior: BenchPosterior;
  readonly power_W: readonly number[];
  readonly critical: (freedom: number) => number;
  readonly shared: Float64Array;
}

/** A limit shows once it lifts a run by so many standard deviations of a fresh run. */
const SHOWS = 2.5;
/** What is left as an error of the further excess that a limit brings beyond the greatest heat run, as a share of it. */
const EXCESS_BEYOND = 0.5;
/** Runs within this share of the heat asked for count as run there. */
const AT_THE_TOP = 0.97;

/** Whether a run at some heat shows a limit, given the scatter of a fresh run. */
export function limitShows(node: LimitNode, seen_W: number, noise_K: number): boolean {
  return limitExcess(node, seen_W) > SHOWS * noise_K;
}

/**
 * Standard deviation with which the excess over a limit that shows is known, K.
 *
 * A formula fitted below the limit tells nothing of the excess; where the cooler was run past it, the fresh mounts run there do, each with its own
 * scatter; beyond the greatest heat run the excess has to be continued.
 *
 * @param base_W  heat into the base at which the rise is asked for
 * @param noise_K  scatter of a run on a fresh mount, K
 */
export function excessError(
  node: LimitNode,
  { data, seen_W }: ExtendedRuns,
  base_W: number,
  noise_K: number,
): number {
  const top_W = AT_THE_TOP * Math.min(base_W, seen_W);
  const mounts = countMounts(data.runs.filter((_, i) => data.base_W[i] >= top_W));
  const further = Math.max(0, limitExcess(node, base_W) - limitExcess(node, seen_W));
  return Math.hypot(noise_K / Math.sqrt(Math.max(mounts, 1)), EXCESS_BEYOND * further);
}

/** An outlook at every load of the question. */
export function outlookAfter(
  question: Question,
  cooler: CoolerPosterior,
  at: SpeedCondition,
  planned: readonly PlannedRun[],
): Outlook[] {
  const { posterior, power_W, critical } = question;
  const before = riseLimits(posterior, { ...cooler, limits: [] }, at, power_W, critical);
  if (planned.length === 0) {
    const now = riseLimits(posterior, cooler, at, power_W, critical);
    return now.map((one, l) => ({
      prospects: [{ weight: 1, middle_K: one.middle_K, down_K: one.down_K, up_K: one.up_K }],
      moves_K2: 0,
      left_K: mixtureDeviation(before[l].distribution.mean),
      sensitivity: one.sensitivity,
      freedom: freedomOf(one.distribution.scatterShares, posterior.scatter.logVarianceCovariance),
      scatterShares: one.distribution.scatterShares,
      informs: undefined,
    }));
  }
  const extended = extendRuns(posterior, cooler, planned);
  const after = afterRuns(extended);
  const bare = riseLimits(posterior, { ...after, limits: [] }, at, power_W, critical);
  const unseen = after.limits.length > 0 ? riseLimits(posterior, after, at, power_W, critical) : bare;
  const standing = scatterInformation(posterior, cooler);
  const informs = scatterInformation(posterior, after).map((value, k) => value - standing[k]);
  const noise = Math.sqrt(bare[0].distribution.freshVariance_K2);
  const found = cooler.limits.filter((node) => limitShows(node, extended.seen_W, noise));
  const foundWeight = found.reduce((sum, node) => sum + node.weight, 0);
  return power_W.map((_, l) => {
    const base_W = bare[l].distribution.loading_W;
    const prospects: Prospect[] = [];
    if (foundWeight < 1) prospects.push(prospectOf(unseen[l], 1 - foundWeight));
    for (const node of found) {
      const excess = limitExcess(node, base_W);
      const error = excessError(node, extended, base_W, noise) * critical(Number.POSITIVE_INFINITY);
      prospects.push({
        weight: node.weight,
        middle_K: bare[l].middle_K + excess,
        down_K: Math.hypot(bare[l].down_K, error),
        up_K: Math.hypot(bare[l].up_K, error),
      });
    }
    const left = mixtureDeviation(bare[l].distribution.mean);
    const now = mixtureDeviation(before[l].distribution.mean);
    return {
      prospects: merged(prospects),
      moves_K2: Math.max(0, now * now - left * left),
      left_K: left,
      sensitivity: bare[l].sensitivity,
      freedom: freedomOf(bare[l].distribution.scatterShares, posterior.scatter.logVarianceCovariance),
      scatterShares: bare[l].distribution.scatterShares,
      informs,
    };
  });
}

function prospectOf({ middle_K, down_K, up_K }: RiseLimits, weight: number): Prospect {
  return { weight, middle_K, down_K, up_K };
}

/** Prospects that lie within a tenth of a kelvin of each other are one. */
function merged(prospects: readonly Prospect[]): Prospect[] {
  const out: Prospect[] = [];
  for (const one of [...prospects].sort((a, b) => a.middle_K - b.middle_K)) {
    const last = out.at(-1);
    if (!last || one.middle_K - last.middle_K > 0.1) {
      out.push(one);
      continue;
    }
    const weight = last.weight + one.weight;
    const mean = (a: number, b: number) => (last.weight * a + one.weight * b) / weight;
    out[out.length - 1] = {
      weight,
      middle_K: mean(last.middle_K, one.middle_K),
      down_K: mean(last.down_K, one.down_K),
      up_K: mean(last.up_K, one.up_K),
    };
  }
  return out;
}

/** How the limits of a cooler will change because the scatters are estimated anew. */
export interface WidthChange {
  /** Limits after over limits now where the estimate of the scatter itself stays. */
  readonly stretch: number;
  /** Standard deviation of the logarithm by which that estimate moves. */
  readonly spread: number;
}

/**
 * The critical multiple falls with the degrees of freedom, and the estimate of the scatter, known to 1/√(2ν) now, moves by as much as it will then
 * be better known.
 *
 * @param freedom  degrees of freedom now and after, see {@link freedomOf}; for the critical multiple held to eight as limits are
 */
export function widthChange(
  freedom: { readonly now: number; readonly after: number },
  critical: (freedom: number) => number,
): WidthChange {
  if (!(freedom.after > freedom.now)) return { stretch: 1, spread: 0 };
  return {
    stretch: critical(heldFreedom(freedom.after)) / critical(heldFreedom(freedom.now)),
    spread: Math.sqrt(1 / (2 * freedom.now) - 1 / (2 * freedom.after)),
  };
}

/** Three-point Gauss–Hermite rule. */
const WIDTH_POINTS = [
  { weight: 1 / 6, z: -Math.sqrt(3) },
  { weight: 2 / 3, z: 0 },
  { weight: 1 / 6, z: Math.sqrt(3) },
];

/**
 * Chance that two coolers will be told apart, before the runs are done.
 *
 * The estimate of the difference will come to lie normally about what is expected now, with the variance by which the runs reduce what is
 * not known (preposterior analysis: Raiffa and Schlaifer 1961, Applied Statistical Decision Theory, chapter 5); they are told apart where it
 * lies further from nought than the limits that will then hold.
 *
 * @param after  effective degrees of freedom that the two will have then, all planned runs of the bench done
 */
export function chanceResolved(
  a: Outlook,
  b: Outlook,
  { shared, critical }: Pick<Question, 'shared' | 'critical'>,
  after: { readonly a: number; readonly b: number },
): number {
  const multiple = critical(Number.POSITIVE_INFINITY);
  const ofA = widthChange({ now: a.freedom, after: after.a }, critical);
  const ofB = widthChange({ now: b.freedom, after: after.b }, critical);
  const widths = Math.max(ofA.spread, ofB.spread);
  let common = 0;
  for (let k = 0; k < shared.length; k++) {
    common += ((a.sensitivity[k] - b.sensitivity[k]) * shared[k] * multiple) ** 2;
  }
  const spread = Math.sqrt(a.moves_K2 + b.moves_K2);
  let sum = 0;
  for (const { weight, z } of widths > 0 ? WIDTH_POINTS : [{ weight: 1, z: 0 }]) {
    const p = (ofA.stretch * Math.exp(z * ofA.spread)) ** 2;
    const q = (ofB.stretch * Math.exp(z * ofB.spread)) ** 2;
    for (const x of a.prospects) {
      for (const y of b.prospects) {
        const difference = x.middle_K - y.middle_K;
        const above = Math.sqrt(p * x.down_K ** 2 + q * y.up_K ** 2 + common);
        const below = Math.sqrt(p * x.up_K ** 2 + q * y.down_K ** 2 + common);
        sum += weight * x.weight * y.weight * chanceBeyond(difference, spread, above, below);
      }
    }
  }
  return sum;
}

/**
 * Chance that two coolers would be told apart, were the samples at hand mounted without end.
 *
 * What samples scatter by about the mean of all samples stays then, and so do the errors that all runs share; the limits come from these. What goes
 * is the rest of what is not known now, and by as much the estimate will move: by the root of what is not known less what stays of the samples.
 *
 * @param found  difference as estimated and its standard deviation now, shared errors apart, K
 * @param stays  standard deviations of the difference that no mount takes away, K
 * @param multiple  critical multiple of the family of pairs
 */
export function chanceInTheEnd(
  found: { readonly difference_K: number; readonly now_K: number },
  stays: { readonly samples_K: number; readonly shared_K: number },
  multiple: number,
): number {
  const limit = multiple * Math.hypot(stays.samples_K, stays.shared_K);
  const moves = Math.sqrt(Math.max(0, found.now_K ** 2 - stays.samples_K ** 2));
  return chanceBeyond(found.difference_K, moves, limit);
}

/** Chance that an estimate which comes to lie normally about `middle` ends above a limit, or below another on the other side of nought. */
export function chanceBeyond(middle: number, spread: number, above: number, below = above): number {
  if (!(spread > 1e-9)) return middle > above || -middle > below ? 1 : 0;
  return normalCdf((middle - above) / spread) + normalCdf((-middle - below) / spread);
}
