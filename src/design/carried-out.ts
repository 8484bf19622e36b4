import { type LimitNode, limitExcess } from '../fit/pipe-limit.ts';
import { addTransposeProduct } from '../numerics/matrix.ts';
import { type Fitting, inOrder } from './fitting.ts';
import type { Draw, PlannedRises, RisesAfter } from './planned-rises.ts';
import type { CoolerProspects, Heats, Prospect } from './prospects.ts';
import type { PlannedRun } from './visits.ts';

/** Planned runs of coolers whose rises hang together, to be carried out. */
export class CarriedOutPart {
  readonly coolers: readonly number[];
  readonly runs: readonly PlannedRun[];
  /** Of each run: where its fresh fitting stands in what is drawn, and heat into the base, W. */
  readonly rows: readonly number[];
  readonly heat_W: readonly number[];
  /** True rises and what a fresh fitting of a sample would read on average, the fitting's own effect apart. */
  readonly draws: readonly Draw[];
  private readonly group: PlannedRises;
  private readonly after: RisesAfter;
  private readonly prospects: readonly CoolerProspects[];
  private readonly heats: ReadonlyMap<number, Heats>;

  /**
   * @param fittings  of these coolers alone
   * @param prospects  of every cooler
   */
  constructor(group: PlannedRises, fittings: Fitting[], prospects: readonly CoolerProspects[]) {
    this.group = group;
    this.after = group.laidOut(inOrder(fittings));
    this.prospects = prospects;
    this.coolers = group.coolers;
    this.runs = this.after.fittings.flatMap(({ runs }) => runs);
    this.rows = this.runs.map((run) => group.row(run));
    this.heat_W = this.rows.map((row) => group.rises.loading_W[row]);
    this.draws = group.draws();
    this.heats = new Map(
      group.coolers.map((c) => [c, prospects[c].heatsWith(group.heatsOf(c, fittings))] as const),
    );
  }

  /** Where the true rise of a cooler at a load stands in what is drawn. */
  target(cooler: number, l: number): number {
    return this.group.target(cooler, l);
  }

  /** Estimates of the rises once the runs have read so, limits of pipes apart, cooler by cooler and load by load. */
  found_K(readings: Float64Array): Float64Array {
    const { joint, after } = this.after;
    const off = readings.map((value, k) => value - joint.mean[k]);
    const now = joint.mean.slice(this.runs.length);
    return addTransposeProduct(now, after.weights, off, this.runs.length, now.length);
  }

  /** What a limit adds to each reading, and to a true rise. */
  excess_K(cooler: number, node: LimitNode): number[] {
    return this.runs.map((run, k) => (run.cooler === cooler ? limitExcess(node, this.heat_W[k]) : 0));
  }

  excessAt_K(cooler: number, l: number, node: LimitNode): number {
    return limitExcess(node, this.group.rises.loading_W[this.target(cooler, l)]);
  }

  /** How a cooler is then known (`middle_K`: how far its estimate lies beyond the one without limits). */
  prospect(
    c: number,
    l: number,
    node: LimitNode | undefined,
  ): Omit<Prospect, 'weight'> & { readonly spread_K2: number } {
    const base_W = this.group.rises.loading_W[this.target(c, l)];
    const at = { base_W, mean_K: 0, left_K2: this.group.variance(this.after, c, l) };
    return this.prospects[c].found(l, at, this.heats.get(c) as Heats, node);
  }

  shows(cooler: number, node: LimitNode): boolean {
    return this.prospects[cooler].shows(node, this.heats.get(cooler) as Heats);
  }
}
