import { heldFreedom } from '../numerics/degrees-of-freedom.ts';
import type { PlannedCoolerState, Question } from './planned-cooler.ts';
import { covarianceAfter, freedomOf } from './scatter-learning.ts';

/** How the limits of a cooler will change because the scatters are estimated anew. */
export interface WidthChange {
  /** Limits after over limits now where the estimate of the scatter itself stays. */
  readonly stretch: number;
  /** Standard deviation of the logarithm by which that estimate moves. */
  readonly spread: number;
  /** The same for the same change, below {@link MOST_WIDTHS}. */
  readonly number: number;
}

/**
 * The critical multiple falls with the degrees of freedom, and the estimate of the scatter, known to 1/√(2ν) now, moves by as much as it will then
 * be better known.
 *
 * @param freedom  degrees of freedom now and after, see {@link freedomOf}; for the critical multiple held to twelve as limits are
 */
export function widthChange(
  freedom: { readonly now: number; readonly after: number },
  critical: (freedom: number) => number,
): Omit<WidthChange, 'number'> {
  if (!(freedom.after > freedom.now)) return { stretch: 1, spread: 0 };
  const stretch = critical(heldFreedom(freedom.after)) / critical(heldFreedom(freedom.now));
  const spread = Math.sqrt(1 / (2 * freedom.now) - 1 / (2 * freedom.after));
  return { stretch, spread };
}

/** Degrees of freedom to the nearest twentieth of themselves: finer changes no plan, and what was worked out before can be used again. */
function rounded(freedom: number): number {
  return Number.isFinite(freedom) ? Math.exp(Math.round(Math.log(freedom) * 20) / 20) : freedom;
}

/** More than the numbers of the changes of one question. */
export const MOST_WIDTHS = 2 ** 26;
/** Changes kept by their stretch. */
const MOST_KEPT = 10_000;

/** The changes that one question comes to, each found once. */
export class WidthTable {
  private readonly coolers: readonly PlannedCoolerState[];
  private readonly critical: (freedom: number) => number;
  private readonly covariance: Float64Array;
  /** Of each cooler at each load: degrees of freedom now, and the change by those after. */
  private readonly known: readonly { readonly now: number; readonly changes: Map<number, WidthChange> }[][];
  private readonly byStretch = new Map<number, WidthChange>();
  private count = 0;

  constructor({ posterior, critical }: Question, coolers: readonly PlannedCoolerState[]) {
    this.coolers = coolers;
    this.critical = critical;
    this.covariance = posterior.scatter.logVarianceCovariance;
    this.known = coolers.map(({ limitsNow }) =>
      limitsNow.map(({ distribution: { scatterShares } }) => ({
        now: freedomOf(scatterShares, this.covariance),
        changes: new Map(),
      })),
    );
  }

  /** Of each cooler at each load. @param gains  further information on the scatters */
  after(gains: readonly Float64Array[]): WidthChange[][] {
    const learnt = gains.length > 0 ? covarianceAfter(this.covariance, gains) : this.covariance;
    return this.coolers.map(({ limitsNow }, c) =>
      limitsNow.map(({ distribution: { scatterShares } }, l) => {
        const { now, changes } = this.known[c][l];
        const after = rounded(freedomOf(scatterShares, learnt));
        let change = changes.get(after);
        if (!change) {
          change = { ...widthChange({ now, after }, this.critical), number: this.count++ };
          changes.set(after, change);
        }
        return change;
      }),
    );
  }

  /** A change that is known. */
  kept(stretch: number): WidthChange {
    let change = this.byStretch.get(stretch);
    if (!change) {
      if (this.byStretch.size >= MOST_KEPT) this.byStretch.clear();
      change = { stretch, spread: 0, number: this.count++ };
      this.byStretch.set(stretch, change);
    }
    return change;
  }
}
