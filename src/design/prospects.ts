import { groupedBy } from '../bench/grouped.ts';
import { type LimitNode, limitExcess, limitNodes } from '../fit/pipe-limit.ts';
import { normalCdf } from '../numerics/distributions.ts';
import { largest } from '../numerics/extremes.ts';
import { median } from '../numerics/median.ts';
import { mixtureDeviation, mixtureMean, mixtureQuantile } from '../numerics/mixture.ts';
import type { PlannedCoolerState } from './planned-cooler.ts';
import type { Estimate } from './population.ts';

/** What may be found of a cooler at one load, and how well it is then known. */
export interface Prospect {
  readonly weight: number;
  readonly middle_K: number;
  readonly down_K: number;
  readonly up_K: number;
}

/** A cooler at one load after some planned runs, before they are done. */
export interface ExpectedRise {
  /** Unique among the expected rises of one expected posterior. */
  readonly id: number;
  readonly prospects: readonly Prospect[];
  /** Variance of where the estimate will come to lie, K²: what the runs are expected to tell. */
  readonly moves_K2: number;
  /** Standard deviation that is left, limits of pipes apart, and with them, K. */
  readonly left_K: number;
  readonly u_K: number;
  /** Effect of the errors of which no run tells, on the estimate then. */
  readonly sensitivity: Float64Array;
}

/**
 * A limit shows once it lifts a run by so many standard deviations of a fresh run. Chosen: 1 in 160 by
 * chance.
 */
const SHOWS = 2.5;
/** What is left as an error of the further excess that a limit brings beyond the greatest heat run, as a share of it. */
const EXCESS_BEYOND = 0.5;
/** Runs within this share of the heat asked for count as run there. */
const AT_THE_TOP = 0.97;

/** Fittings of a cooler by the greatest heat into the base on each, W, and the greatest of all. */
export interface Heats {
  readonly fittings: readonly { readonly most_W: number; readonly times: number }[];
  readonly seen_W: number;
}

/** What may be found of one cooler, limits of its pipes included. */
export class CoolerProspects {
  private readonly cooler: PlannedCoolerState;
  private readonly critical: (freedom: number) => number;
  /** Of the runs done. */
  private readonly done: Heats;
  /** Median of rise over heat at the runs, K/W. */
  private readonly resistance_K_per_W: number;
  /** Where a limit may lie above a greatest heat. */
  private readonly beyond = new Map<number, readonly LimitNode[]>();

  constructor(cooler: PlannedCoolerState, critical: (freedom: number) => number) {
    const { fittedIn, data } = cooler.posterior;
    // The runs that its curves were fitted to.
    const { runs, base_W, rise_K } = fittedIn?.cooler.data ?? data;
    const byMount = groupedBy(runs.keys(), (i) => `${runs[i].sample}\u0000${runs[i].mount}`);
    this.cooler = cooler;
    this.critical = critical;
    this.done = heatsOf(
      Array.from(byMount.values(), (own) => ({ most_W: largest(own.map((i) => base_W[i])), times: 1 })),
    );
    this.resistance_K_per_W = Math.max(median(rise_K.map((rise, i) => rise / base_W[i])), 1e-4);
  }

  /** With those of further fittings. */
  heatsWith(planned: Heats['fittings']): Heats {
    return heatsOf([...this.done.fittings, ...planned]);
  }

  /** Whether the heats run show a limit, given the scatter of a fresh run. */
  shows(node: LimitNode, { seen_W }: Heats): boolean {
    return limitExcess(node, seen_W) > SHOWS * this.noise_K;
  }

  /**
   * What is found at a load: with a limit that shows, or (`undefined`) with one that may still lie above the heats run.
   *
   * @param at  heat into the base there, the estimate and the variance that is left of it, limits of pipes apart
   */
  found(
    l: number,
    { base_W, mean_K, left_K2 }: { base_W: number; mean_K: number; left_K2: number },
    heats: Heats,
    node: LimitNode | undefined,
  ): Omit<Prospect, 'weight'> & { readonly spread_K2: number } {
    const { critical } = this;
    const multiple = critical(this.cooler.limitsNow[l].distribution.meanFreedom);
    const half = multiple * Math.sqrt(left_K2);
    if (node) {
      const error = excessError(node, heats, base_W, this.noise_K);
      const side = Math.hypot(half, error * critical(Number.POSITIVE_INFINITY));
      return {
        middle_K: mean_K + limitExcess(node, base_W),
        down_K: side,
        up_K: side,
        spread_K2: error ** 2,
      };
    }
    const nodes = this.limitsBeyond(heats.seen_W);
    const excess = nodes.map((one) => limitExcess(one, base_W));
    if (!excess.some((value) => value > 1e-3)) {
      return { middle_K: mean_K, down_K: half, up_K: half, spread_K2: 0 };
    }
    const mixture = {
      weight: Float64Array.from(nodes, ({ weight }) => weight),
      mean: Float64Array.from(excess, (value) => mean_K + value),
      deviation: new Float64Array(nodes.length).fill(Math.sqrt(left_K2)),
    };
    const tail = normalCdf(-critical(Number.POSITIVE_INFINITY));
    const stretch = multiple / critical(Number.POSITIVE_INFINITY);
    const middle_K = mixtureMean(mixture);
    return {
      middle_K,
      down_K: middle_K - mixtureQuantile(mixture, tail, stretch),
      up_K: mixtureQuantile(mixture, 1 - tail, stretch) - middle_K,
      spread_K2: Math.max(0, mixtureDeviation(mixture) ** 2 - left_K2),
    };
  }

  /** Standard deviation of a fresh run, K. */
  private get noise_K(): number {
    return Math.sqrt(this.cooler.limitsNow[0].distribution.freshVariance_K2);
  }

  /** Where a limit may still lie above the heats run. */
  private limitsBeyond(seen_W: number): readonly LimitNode[] {
    const { limits, limitPrior } = this.cooler.posterior;
    if (limits.length === 0) return [];
    let nodes = this.beyond.get(seen_W);
    if (!nodes) {
      // The chance that there is none to come, since it was met within the runs, is what it is now.
      const none = limits.filter(({ slope_K_per_W }) => slope_K_per_W === 0);
      const left = none.reduce((share, { weight }) => share - weight, 1);
      const toCome = limitNodes(limitPrior, seen_W, this.resistance_K_per_W);
      nodes = [...none, ...toCome.map((node) => ({ ...node, weight: left * node.weight }))];
      this.beyond.set(seen_W, nodes);
    }
    return nodes;
  }
}

function heatsOf(fittings: Heats['fittings']): Heats {
  return { fittings, seen_W: largest(fittings.map(({ most_W }) => most_W)) };
}

/**
 * Standard deviation with which the excess over a limit that shows is known, K.
 *
 * A formula fitted below the limit tells nothing of the excess; where the cooler was run past it, the fresh mounts run there do,
 * each with its own scatter; beyond the greatest heat run the excess has to be continued.
 *
 * @param base_W  heat into the base at which the rise is asked for
 * @param noise_K  scatter of a run on a fresh mount, K
 */
function excessError(node: LimitNode, { fittings, seen_W }: Heats, base_W: number, noise_K: number): number {
  const top_W = AT_THE_TOP * Math.min(base_W, seen_W);
  let mounts = 0;
  for (const { most_W, times } of fittings) if (most_W >= top_W) mounts += times;
  const further = Math.max(0, limitExcess(node, base_W) - limitExcess(node, seen_W));
  return Math.hypot(noise_K / Math.sqrt(Math.max(mounts, 1)), EXCESS_BEYOND * further);
}

/** Prospects that lie so near each other are one: within a tenth of a kelvin, or three tenths of what is not known of each. */
const ALIKE_K = 0.1;
const ALIKE = 0.3;

/** Those that lie near each other as one. @param left_K  what is not known of each */
export function merged(prospects: readonly Prospect[], left_K: number): Prospect[] {
  const within_K = Math.max(ALIKE_K, ALIKE * left_K);
  const out: Prospect[] = [];
  for (const one of [...prospects].sort((a, b) => a.middle_K - b.middle_K)) {
    const last = out.at(-1);
    if (!last || one.middle_K - last.middle_K > within_K) {
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
 * An expected rise given what the other coolers tell of this one.
 *
 * Where the estimate will come to lie once the planned runs have read is a mean of what it is now and what they will show, with weight g on the latter,
 * g the share of the variance that they take away. What they will show is expected where all runs together put the cooler, not where its own alone do.
 */
export function givenOthers(
  expectedRise: ExpectedRise,
  own: { mean: number; variance: number },
  among: Estimate,
): ExpectedRise {
  const g = expectedRise.moves_K2 / own.variance;
  const shift = g * (among.mean - own.mean);
  return {
    ...expectedRise,
    prospects: expectedRise.prospects.map((one) => ({ ...one, middle_K: one.middle_K + shift })),
    moves_K2: g * g * among.u * among.u + g * (1 - g) * own.variance,
  };
}
