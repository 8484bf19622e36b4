import { heldFreedom } from '../numerics/degrees-of-freedom.ts';
import type { PlannedCoolerState, Question } from './planned-cooler.ts';
import { covarianceAfter, freedomOf } from './scatter-learning.ts';

/** How the limits of a cooler will change because the scatters are estimated anew. */
export interface WidthChange {
  /** Limits after over limits now, in the middle of where the estimate of the scatters may come to lie. */
  readonly stretch: number;
  /** Standard deviation of the logarithm by which that estimate moves them. */
  readonly spread: number;
  /** The same for the same change, below {@link MOST_WIDTHS}. */
  readonly number: number;
}

/** What is known of the scatters: covariance of ln σ², and the share of a variance that each brings. */
interface Known {
  readonly shares: Float64Array;
  readonly covariance: Float64Array;
}

/**
 * The critical multiple changes with the degrees of freedom of what is then left, and the estimate of the scatters moves by as much as they will then be
 * better known. A variance estimated with ν degrees of freedom is more often too small than too great, ln s² lying 1/ν below ln σ² on average
 * (from the digamma function of ν/2), so limits grow on the way from few degrees of freedom to many: by the square of `spread`.
 */
export function widthChange(
  now: Known,
  after: Known,
  critical: (freedom: number) => number,
): Omit<WidthChange, 'number'> {
  const [first, last] = [now, after].map(({ shares, covariance }) => freedomOf(shares, covariance));
  const before = freedomOf(after.shares, now.covariance);
  const spread = Math.sqrt(Math.max(1 / (2 * before) - 1 / (2 * last), 0));
  const stretch = critical(heldFreedom(last)) / critical(heldFreedom(first));
  return { stretch: stretch * Math.exp(spread * spread), spread };
}

/** More than the numbers of the changes of one question. */
export const MOST_WIDTHS = 2 ** 26;
/** Changes of the logarithm of the limits that are taken as one: finer ones change no plan, and what was worked out before can be used again. */
const ALIKE = 1 / 500;

/** The changes that one question comes to, each found once. */
export class WidthTable {
  private readonly coolers: readonly PlannedCoolerState[];
  private readonly critical: (freedom: number) => number;
  private readonly covariance: Float64Array;
  private readonly kept = new Map<number, WidthChange>();

  constructor({ posterior, critical }: Question, coolers: readonly PlannedCoolerState[]) {
    this.coolers = coolers;
    this.critical = critical;
    this.covariance = posterior.scatter.logVarianceCovariance;
  }

  /**
   * Of each cooler at each load.
   *
   * @param gains  further information on the scatters
   * @param sharesOf  share that each scatter will have in the variance of a cooler's rise at a load
   */
  after(gains: readonly Float64Array[], sharesOf: (c: number, l: number) => Float64Array): WidthChange[][] {
    const learnt = gains.length > 0 ? covarianceAfter(this.covariance, gains) : this.covariance;
    return this.coolers.map(({ limitsNow }, c) =>
      limitsNow.map(({ distribution: { scatterShares } }, l) => {
        if (learnt === this.covariance) return this.known(1);
        const now = { shares: scatterShares, covariance: this.covariance };
        const after = { shares: sharesOf(c, l), covariance: learnt };
        const { stretch, spread } = widthChange(now, after, this.critical);
        return this.known(stretch, spread);
      }),
    );
  }

  /** A change that is known, to within {@link ALIKE}. */
  known(stretch: number, spread = 0): WidthChange {
    const [first, second] = [Math.round(Math.log(stretch) / ALIKE), Math.round(spread / ALIKE)];
    const key = first * 10_000 + second;
    let change = this.kept.get(key);
    if (!change) {
      change = { stretch: Math.exp(first * ALIKE), spread: second * ALIKE, number: this.kept.size };
      this.kept.set(key, change);
    }
    return change;
  }
}
