import { type RiseLimits, riseLimits } from '../comparison/rise-limits.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { type LimitNode, limitExcess } from '../posterior/pipe-limit.ts';
import type { SpeedCondition } from '../prediction/conditions.ts';
import { normalCdf } from '../statistics/distributions.ts';
import { mixtureDeviation } from '../statistics/mixture.ts';
import { afterRuns, extendRuns, type PlannedRun } from './with-planned-runs.ts';

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
  /** Effective degrees of freedom of the scatter behind the limits, as known now. */
  readonly freedom: number;
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
/** What is left of the excess over a limit as an error, as a share of it: where it was run, and beyond what was run. */
export const EXCESS_ERROR = { within: 0.25, beyond: 0.5 };

/** Whether a run at some heat shows a limit, given the scatter of a fresh run. */
export function limitShows(node: LimitNode, seen_W: number, noise_K: number): boolean {
  return limitExcess(node, seen_W) > SHOWS * noise_K;
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
      freedom: one.distribution.meanFreedom,
    }));
  }
  const extended = extendRuns(posterior, cooler, planned);
  const after = afterRuns(extended);
  const bare = riseLimits(posterior, { ...after, limits: [] }, at, power_W, critical);
  const unseen = after.limits.length > 0 ? riseLimits(posterior, after, at, power_W, critical) : bare;
  const noise = Math.sqrt(bare[0].distribution.freshVariance_K2);
  const found = cooler.limits.filter((node) => limitShows(node, extended.seen_W, noise));
  const foundWeight = found.reduce((sum, node) => sum + node.weight, 0);
  return power_W.map((_, l) => {
    const base_W = bare[l].distribution.loading_W;
    const prospects: Prospect[] = [];
    if (foundWeight < 1) prospects.push(prospectOf(unseen[l], 1 - foundWeight));
    const share = extended.seen_W >= 0.97 * base_W ? EXCESS_ERROR.within : EXCESS_ERROR.beyond;
    for (const node of found) {
      const excess = limitExcess(node, base_W);
      const error = share * excess * critical(Number.POSITIVE_INFINITY);
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
      freedom: bare[l].distribution.meanFreedom,
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

/**
 * Standard deviation of the logarithm by which the limits will move because the scatters are estimated anew.
 *
 * Every fresh mount adds about one degree of freedom to the pooled scatter of mounts; the estimate of the scatter, known to 1/√(2ν) now, moves by
 * as much as it will then be better known. That the critical multiple falls a little with ν is not counted on: the scatter of samples, which
 * mounts tell nothing of, soon rules.
 */
export function widthSpread(freedom: number, mounts: number): number {
  if (!Number.isFinite(freedom)) return 0;
  return Math.sqrt(Math.max(0, 1 / (2 * freedom) - 1 / (2 * (freedom + mounts))));
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
 */
export function chanceResolved(
  a: Outlook,
  b: Outlook,
  { shared, critical }: Pick<Question, 'shared' | 'critical'>,
  mounts: number,
): number {
  const multiple = critical(Number.POSITIVE_INFINITY);
  const widths = widthSpread(Math.min(a.freedom, b.freedom), mounts);
  let common = 0;
  for (let k = 0; k < shared.length; k++) {
    common += ((a.sensitivity[k] - b.sensitivity[k]) * shared[k] * multiple) ** 2;
  }
  const spread = Math.sqrt(a.moves_K2 + b.moves_K2);
  let sum = 0;
  for (const { weight, z } of widths > 0 ? WIDTH_POINTS : [{ weight: 1, z: 0 }]) {
    const scale = Math.exp(2 * z * widths);
    for (const x of a.prospects) {
      for (const y of b.prospects) {
        const difference = x.middle_K - y.middle_K;
        const above = Math.sqrt(scale * (x.down_K ** 2 + y.up_K ** 2) + common);
        const below = Math.sqrt(scale * (x.up_K ** 2 + y.down_K ** 2) + common);
        const chance =
          spread > 1e-9
            ? normalCdf((difference - above) / spread) + normalCdf((-difference - below) / spread)
            : difference > above || -difference > below
              ? 1
              : 0;
        sum += weight * x.weight * y.weight * chance;
      }
    }
  }
  return sum;
}
