import { type Difference, differenceInterval } from '../compare/rise-limits.ts';
import type { LimitNode } from '../fit/pipe-limit.ts';
import { normalCdf } from '../numerics/distributions.ts';
import { mixtureDeviation } from '../numerics/mixture.ts';
import { CarriedOutPart } from './carried-out.ts';
import { chanceDecided, decided, type Limit, overAllLooks, type Region, regionOf } from './decision.ts';
import { alike, eachRun, type Fitting, fittingOf, fittingsOf, inOrder, keyOf, kindOf } from './fitting.ts';
import type { PlannedCoolerState, Question } from './planned-cooler.ts';
import { PlannedRises, type RisesAfter } from './planned-rises.ts';
import { type Estimate, shrinkageEstimates } from './population.ts';
import {
  CoolerProspects,
  type ExpectedRise,
  givenOthers,
  type Heats,
  merged,
  type Prospect,
} from './prospects.ts';
import { scatterGain } from './scatter-learning.ts';
import type { PlannedRun } from './visits.ts';
import { MOST_WIDTHS, type WidthChange, WidthTable } from './width-change.ts';

/** What some planned runs buy, before they are done. */
export interface Ahead {
  readonly expectedRises: readonly (readonly ExpectedRise[])[];
  /** Variance of the difference of two coolers' true rises that is left, shared errors of the heater apart, K². */
  variance(a: number, b: number, l: number): number;
  /** Covariance of two coolers' rises that is left, and of where their estimates will come to lie, K². */
  covariance(a: number, b: number, l: number): { left: number; moves: number };
  /** The same number where a cooler's expected rise at a load is the same and its width changes alike. */
  mark(c: number, l: number): number;
  /** Chance that the two are told apart by one look, as `compare` does. */
  chance(a: number, b: number, l: number): number;
  /** Chance that they are decided, all looks counted. */
  decidedChance(a: number, b: number, l: number): number;
  /** Where the difference of two estimates decides, all looks counted. */
  region(
    a: number,
    b: number,
    l: number,
    found: readonly Pick<Prospect, 'down_K' | 'up_K'>[],
    z: number,
  ): Region;
  /**
   * How far the difference of two estimates has to lie from zero, above and below, to tell the two apart.
   *
   * @param found  how well each is then known
   * @param z  the scatters estimated anew so many standard deviations from where they are now
   */
  limit(
    a: number,
    b: number,
    l: number,
    found: readonly Pick<Prospect, 'down_K' | 'up_K'>[],
    z: number,
  ): Limit;
}

/** Planned runs that have been read, and what was found. */
export interface Read {
  readonly runs: readonly PlannedRun[];
  /** Estimate of each cooler's rise at each load, limits of pipes apart, K. */
  readonly found_K: ReadonlyMap<number, Float64Array>;
  /** The scatters estimated anew so many standard deviations from where they were. */
  readonly z: number;
}

/** From where planned runs set out: the runs of the bench, or some that have been read besides. */
interface Standing {
  readonly fittings: readonly Fitting[];
  /** Of each group, after `fittings`. */
  readonly states: readonly RisesAfter[];
  readonly mean_K: (cooler: number, l: number) => number;
  readonly among: (cooler: number) => readonly Estimate[] | undefined;
  /** How the widths have changed so far; further runs do not know by how much the scatters will move. */
  readonly widths: (changes: WidthChange[][]) => WidthChange[][];
  /** Of the coolers of a group, in their order. */
  readonly expectedRises: Map<RisesAfter, ExpectedRise[][]>;
  /** By the marks of the two coolers; of being told apart by one look, and of being decided. */
  readonly chances: Map<number, Map<number, number>>;
  readonly decisions: Map<number, Map<number, number>>;
}

/** More fittings of a sample than anybody makes for one question: what is then known is all that will be. */
const END_FITTINGS = 12;
/** What is said of one look is said of no stretch of sameness. */
const NOWHERE = [0, 0] as const;
/** More fittings than anybody makes: what is left then stays. */
const MANY_FITTINGS = 20;

/**
 * The posterior that planned runs are expected to leave, before they are read (preposterior analysis: Raiffa and Schlaifer
 * 1961, Applied Statistical Decision Theory, chapter 5).
 *
 * Rises asked for and readings that may be taken are points of one Gaussian given the runs done ({@link benchRises}), whatever the
 * source. What planned runs leave is that Gaussian given them: the covariance that is left does not depend on what they
 * read, and the estimates will come to lie about what they are now with the variance that goes. Limits of pipes stand
 * beside it: a run past one shows it, otherwise it may still lie above the heats run. Scatters are kept as they are known
 * now, but for how well they will be known. Errors of the heater that no run tells of are carried as sensitivities.
 */
export class ExpectedPosterior {
  private readonly question: Question;
  private readonly coolers: readonly PlannedCoolerState[];
  private readonly kinds: readonly PlannedRun[];
  private readonly groups: readonly PlannedRises[];
  /** Place of each cooler's group; absent: nothing is foreseen of it. */
  private readonly groupAt: ReadonlyMap<number, number>;
  private readonly gains = new Map<string, Float64Array>();
  private readonly prospects: readonly CoolerProspects[];
  private readonly widthsAt: WidthTable;
  private readonly start: Standing;
  private readonly differences = new Map<number, Difference>();
  /** What many fittings at each load would tell, where coolers stand each by itself. */
  private readonly ever = new Map<number, Ahead>();
  private count = 0;
  private now: Ahead | undefined;
  private end: Ahead | undefined;

  /** @param runs  of every kind that may be planned: cooler, sample, load and speed */
  constructor(question: Question, coolers: readonly PlannedCoolerState[], runs: readonly PlannedRun[]) {
    this.question = question;
    this.coolers = coolers;
    const kinds = [...new Map(runs.map((run) => [kindOf(run), run])).values()];
    this.kinds = kinds;
    const foreseen = coolers.flatMap((_, c) => (this.hasExpectedRises(c) ? [c] : []));
    const together = question.posterior.term ? [foreseen] : foreseen.map((c) => [c]);
    this.groups = together.map((members) => new PlannedRises(question, coolers, members, kinds));
    this.groupAt = new Map(this.groups.flatMap((group, g) => group.coolers.map((c) => [c, g] as const)));
    this.widthsAt = new WidthTable(question, coolers);
    this.prospects = coolers.map((cooler) => new CoolerProspects(cooler, question.critical));
    const groupOf = (c: number) => this.groups[this.groupAt.get(c) as number];
    this.start = {
      fittings: [],
      states: this.groups.map((group) => group.after([])),
      mean_K: (c, l) => groupOf(c).rises.mean[groupOf(c).target(c, l)],
      among: (c) => coolers[c].among,
      widths: (changes) => changes,
      ...nothingFound(),
    };
  }

  /** A cooler that was run on a chip alone has no place among the others' errors: nothing is foreseen of it. */
  hasExpectedRises(cooler: number): boolean {
    const { term, source } = this.question.posterior;
    return !term || this.coolers[cooler].posterior.fittedIn?.posterior.source !== source;
  }

  after(runs: readonly PlannedRun[]): Ahead {
    return this.afterFittings(fittingsOf(runs));
  }

  afterFittings(fittings: readonly Fitting[]): Ahead {
    return this.foretold(this.start, fittings, this.widthsAfter(this.byCooler(fittings)));
  }

  /** What further runs buy once some planned ones have been read. */
  afterReading(read: Read): (runs: readonly PlannedRun[]) => Ahead {
    const readFittings = fittingsOf(read.runs);
    const states = this.statesAfter(this.byCooler(readFittings));
    const loads = this.question.power_W.length;
    const found = (c: number) => read.found_K.get(c) as Float64Array;
    // As whoever plans again does: each cooler beside the others, as they are now known.
    const asked = this.groups.flatMap((group, g) =>
      group.coolers.map((c) => ({
        c,
        u: Array.from({ length: loads }, (_, l) => Math.sqrt(group.variance(states[g], c, l))),
      })),
    );
    const beside = Array.from({ length: loads }, (_, l) =>
      shrinkageEstimates(asked.map(({ c, u }) => ({ mean: found(c)[l], u: u[l] }))),
    );
    const soFar = this.widthsAfter(this.byCooler(readFittings));
    const standing: Standing = {
      fittings: readFittings,
      states,
      mean_K: (c, l) => found(c)[l],
      among: (c) => {
        const k = asked.findIndex((one) => one.c === c);
        return this.coolers[c].among && k >= 0 ? beside.map((at) => at[k]) : undefined;
      },
      widths: (changes) =>
        changes.map((own, c) =>
          own.map(({ stretch }, l) => {
            return this.widthsAt.known(stretch * Math.exp(read.z * soFar[c][l].spread));
          }),
        ),
      ...nothingFound(),
    };
    return (runs) => {
      const fittings = fittingsOf(runs);
      const all = this.widthsAfter(this.byCooler([...readFittings, ...fittings]));
      return this.foretold(standing, fittings, standing.widths(all));
    };
  }

  /** Planned runs by the cooler they are on. */
  private byCooler(fittings: readonly Fitting[]): Fitting[][] {
    const own = this.coolers.map((): Fitting[] => []);
    for (const one of fittings) own[one.cooler].push(one);
    return own;
  }

  /** State of each group after some runs. */
  private statesAfter(own: readonly (readonly Fitting[])[]): RisesAfter[] {
    return this.groups.map((group, g) => {
      const fittings =
        group.coolers.length === 1 ? own[group.coolers[0]] : group.coolers.flatMap((c) => own[c]);
      return fittings.length === 0 && this.start ? this.start.states[g] : group.after(fittings);
    });
  }

  /** @param only  the one load that is asked for; absent: all */
  private foretold(
    from: Standing,
    fittings: readonly Fitting[],
    widths: readonly (readonly WidthChange[])[],
    only?: number,
  ): Ahead {
    const states = this.statesAfter(this.byCooler([...from.fittings, ...fittings]));
    const expectedRises = this.coolers.map((_, c) => {
      const g = this.groupAt.get(c);
      return g === undefined ? this.unmoved(c) : this.expectedRisesOf(from, g, states[g], c, only);
    });
    const mark = (c: number, l: number) => expectedRises[c][l].id * MOST_WIDTHS + widths[c][l].number;
    const covariance = (a: number, b: number, l: number) => this.covariance(states, a, b, l);
    const variance = (a: number, b: number, l: number): number =>
      Math.max(
        expectedRises[a][l].left_K ** 2 + expectedRises[b][l].left_K ** 2 - 2 * covariance(a, b, l),
        0,
      );
    const limit: Ahead['limit'] = (a, b, l, found, z) =>
      this.pairLimit([a, b], l, found, expectedRises, widths, z, covariance(a, b, l));
    const region: Ahead['region'] = (a, b, l, found, z) =>
      this.regionAt(a, b, l, limit(a, b, l, found, z), variance(a, b, l));
    const chanceOf = (isDecision: boolean, a: number, b: number, l: number): number => {
      if (
        (from === this.start && fittings.length === 0) ||
        !(this.hasExpectedRises(a) && this.hasExpectedRises(b))
      ) {
        return (isDecision ? this.decidedNow(a, b, l) !== undefined : this.isResolvedNow(a, b, l)) ? 1 : 0;
      }
      const [first, second] = [expectedRises[a][l], expectedRises[b][l]];
      const [p, q] = [widths[a][l], widths[b][l]];
      const found = isDecision ? from.decisions : from.chances;
      const ofFirst = found.get(mark(a, l)) ?? new Map<number, number>();
      if (ofFirst.size === 0) found.set(mark(a, l), ofFirst);
      const known = ofFirst.get(mark(b, l));
      if (known !== undefined) return known;
      let sum = 0;
      const moved = this.covariance(from.states, a, b, l) - covariance(a, b, l);
      const spread = Math.sqrt(Math.max(first.moves_K2 + second.moves_K2 - 2 * moved, 0));
      const left = variance(a, b, l);
      const margin_K = isDecision ? this.question.decision.margin_K : 0;
      for (const { weight, z } of p.spread > 0 || q.spread > 0 ? WIDTH_POINTS : [{ weight: 1, z: 0 }]) {
        for (const x of first.prospects) {
          for (const y of second.prospects) {
            const at = limit(a, b, l, [x, y], z);
            const middle = x.middle_K - y.middle_K;
            if (isHopeless(at, margin_K, middle, spread)) continue;
            const where = isDecision ? this.regionAt(a, b, l, at, left) : { ...at, same: NOWHERE };
            sum += weight * x.weight * y.weight * chanceDecided(where, middle, spread);
          }
        }
      }
      sum = Math.min(sum, 1);
      ofFirst.set(mark(b, l), sum);
      return sum;
    };
    return {
      expectedRises,
      variance,
      covariance: (a, b, l) => {
        const left = covariance(a, b, l);
        return { left, moves: this.covariance(from.states, a, b, l) - left };
      },
      mark,
      limit,
      region,
      chance: (a, b, l) => chanceOf(false, a, b, l),
      decidedChance: (a, b, l) => chanceOf(true, a, b, l),
    };
  }

  /** Where a difference decides, from the limits that one look has and the variance that is left of it. */
  private regionAt(a: number, b: number, l: number, limit: Limit, variance_K2: number): Region {
    const { critical, decision } = this.question;
    const share = this.inTheEnd().variance(a, b, l) / Math.max(variance_K2, 1e-12);
    return regionOf(decision, limit, critical(Number.POSITIVE_INFINITY), share);
  }

  /** What is left once every sample at hand was fitted as often as anybody would. */
  private inTheEnd(): Ahead {
    if (!this.end) {
      const { power_W } = this.question;
      const fittings = this.coolers.flatMap((_, cooler) =>
        this.fittingsAt(cooler, power_W[power_W.length - 1], END_FITTINGS),
      );
      const asNow = this.widthsAt.known(1);
      this.end = this.foretold(
        this.start,
        fittings,
        this.coolers.map(() => power_W.map(() => asNow)),
      );
    }
    return this.end;
  }

  /** Each sample of a cooler fitted many times, on each source at the load named that is nearest. */
  private fittingsAt(cooler: number, power_W: number, times: number): Fitting[] {
    return [undefined, true].flatMap((onHeater) => {
      const own = this.kinds.filter((kind) => kind.cooler === cooler && kind.onHeater === onHeater);
      const nearest = Math.min(...own.map((kind) => Math.abs(kind.power_W - power_W)));
      return own
        .filter((kind) => Math.abs(kind.power_W - power_W) === nearest)
        .map((kind) => ({ ...fittingOf([kind]), times }));
    });
  }

  /** Whether two coolers are told apart by the runs there are, in one look. */
  isResolvedNow(a: number, b: number, l: number): boolean {
    const { low_K, high_K } = this.differenceNow(a, b, l);
    return low_K > 0 || high_K < 0;
  }

  /** What the runs there are decide of two coolers, all looks counted. */
  decidedNow(a: number, b: number, l: number): ReturnType<typeof decided> {
    const { rise_K, limit } = this.limitNow(a, b, l);
    return decided(this.regionAt(a, b, l, limit, this.varianceNow(a, b, l)), rise_K);
  }

  /** Difference of two coolers by the runs there are, and how far its limits for all looks lie below and above it, K. */
  looked(a: number, b: number, l: number): { rise_K: number; above_K: number; below_K: number } {
    const { rise_K, limit } = this.limitNow(a, b, l);
    const { critical, decision } = this.question;
    const share = this.inTheEnd().variance(a, b, l) / this.varianceNow(a, b, l);
    return { rise_K, ...overAllLooks(limit, critical(Number.POSITIVE_INFINITY), share, decision.tell) };
  }

  /** The difference of two coolers now, and how far it has to be from zero. */
  private limitNow(a: number, b: number, l: number): { rise_K: number; limit: Limit } {
    const { rise_K, low_K, high_K } = this.differenceNow(a, b, l);
    return { rise_K, limit: { above_K: rise_K - low_K, below_K: high_K - rise_K } };
  }

  /** Variance of the difference of two coolers now, K². */
  private varianceNow(a: number, b: number, l: number): number {
    this.now ??= this.afterFittings([]);
    return Math.max(this.now.variance(a, b, l), 1e-12);
  }

  /** Difference of two coolers' rises as one look at the runs there are has it. */
  differenceNow(a: number, b: number, l: number): Difference {
    const key = (a * this.coolers.length + b) * this.question.power_W.length + l;
    let found = this.differences.get(key);
    if (!found) {
      const [first, second] = [this.coolers[a].limitsNow[l], this.coolers[b].limitsNow[l]];
      const { shared, critical } = this.question;
      const tail = normalCdf(-critical(Number.POSITIVE_INFINITY));
      found = differenceInterval(first, second, { shared, space: [] }, tail);
      this.differences.set(key, found);
    }
    return found;
  }

  /** Chance that two are told apart once the samples at hand are fitted any number of times, at the load named that is nearest. */
  everChance(a: number, b: number, l: number, isDecision = false): number {
    const ahead = this.everAhead(l, this.question.posterior.term ? [a, b] : undefined);
    return isDecision ? ahead.decidedChance(a, b, l) : ahead.chance(a, b, l);
  }

  /** @param only  the coolers fitted; absent: all, each of which stands by itself */
  private everAhead(l: number, only?: readonly number[]): Ahead {
    const known = only ? undefined : this.ever.get(l);
    if (known) return known;
    const { power_W, critical } = this.question;
    const fittings = (only ?? [...this.coolers.keys()]).flatMap((cooler) =>
      this.fittingsAt(cooler, power_W[l], MANY_FITTINGS),
    );
    // So many fittings settle the scatters too.
    const settled = this.coolers.map(({ limitsNow }) =>
      limitsNow.map(({ distribution: { meanFreedom } }) =>
        this.widthsAt.known(critical(Number.POSITIVE_INFINITY) / critical(meanFreedom)),
      ),
    );
    const ahead = this.foretold(this.start, fittings, settled, l);
    if (!only) this.ever.set(l, ahead);
    return ahead;
  }

  /** For carrying runs out: what to draw, and what would be found. */
  carriedOut(runs: readonly PlannedRun[]): CarriedOutPart[] {
    return this.groups.map((group) => {
      const own = fittingsOf(runs.filter(({ cooler }) => group.coolers.includes(cooler)));
      return new CarriedOutPart(group, own, this.prospects);
    });
  }

  /** A cooler of group g after some runs, seen from where these set out; at the other loads only what was found before. */
  private expectedRisesOf(
    from: Standing,
    g: number,
    state: RisesAfter,
    c: number,
    only?: number,
  ): readonly ExpectedRise[] {
    const ofGroup = from.expectedRises.get(state) ?? [];
    if (ofGroup.length === 0) from.expectedRises.set(state, ofGroup);
    const place = this.groups[g].coolers.indexOf(c);
    ofGroup[place] ??= [];
    const rises = ofGroup[place];
    const { power_W } = this.question;
    let heats: Heats | undefined;
    for (let l = only ?? 0; l <= (only ?? power_W.length - 1); l++) {
      if (rises[l]) continue;
      heats ??= this.prospects[c].heatsWith(this.groups[g].heatsOf(c, state.fittings));
      rises[l] = this.expectedRiseOf(from, g, state, c, l, heats);
    }
    return rises;
  }

  private expectedRiseOf(
    from: Standing,
    g: number,
    state: RisesAfter,
    c: number,
    l: number,
    heats: Heats,
  ): ExpectedRise {
    const group = this.groups[g];
    const { limits } = this.coolers[c].posterior;
    const found = limits.filter((node) => this.prospects[c].shows(node, heats));
    const foundWeight = found.reduce((sum, node) => sum + node.weight, 0);
    const left = group.variance(state, c, l);
    const now = group.variance(from.states[g], c, l);
    const mean = from.mean_K(c, l);
    const at = { base_W: group.rises.loading_W[group.target(c, l)], mean_K: mean, left_K2: left };
    const prospect = (node: LimitNode | undefined) => this.prospects[c].found(l, at, heats, node);
    const prospects: (Prospect & { spread_K2: number })[] = [];
    if (foundWeight < 1) prospects.push({ ...prospect(undefined), weight: 1 - foundWeight });
    for (const node of found) prospects.push({ ...prospect(node), weight: node.weight });
    const middle = prospects.reduce((sum, one) => sum + one.weight * one.middle_K, 0);
    const spread = prospects.reduce(
      (sum, one) => sum + one.weight * (one.spread_K2 + (one.middle_K - middle) ** 2),
      0,
    );
    const expectedRise: ExpectedRise = {
      id: this.count++,
      prospects: merged(prospects, Math.sqrt(left)),
      moves_K2: Math.max(0, now - left),
      left_K: Math.sqrt(left),
      u_K: Math.sqrt(left + spread),
      sensitivity: group.sensitivity(state, c, l),
    };
    const among = from.among(c);
    return among ? givenOthers(expectedRise, { mean, variance: now }, among[l]) : expectedRise;
  }

  /** A cooler of which nothing is foreseen stays as it is. */
  private unmoved(c: number): ExpectedRise[] {
    return this.coolers[c].limitsNow.map(
      ({ middle_K, down_K, up_K, sensitivity, distribution }): ExpectedRise => {
        const left_K = mixtureDeviation(distribution.mean);
        const prospects = [{ weight: 1, middle_K, down_K, up_K }];
        return { id: -1 - c, prospects, moves_K2: 0, left_K, u_K: left_K, sensitivity };
      },
    );
  }

  /** Covariance that is left between two coolers' rises; zero for coolers of two groups. */
  private covariance(states: readonly RisesAfter[], a: number, b: number, l: number): number {
    if (!this.question.posterior.term) return 0;
    const k = this.groupAt.get(a);
    if (k === undefined || this.groupAt.get(b) !== k) return 0;
    return this.groups[k].covariance(states[k], a, b, l);
  }

  /** How each cooler's limits at each load will change because the scatters are estimated anew once all have had their runs. */
  private widthsAfter(fittings: readonly (readonly Fitting[])[]): WidthChange[][] {
    // Runs on a chip tell little of the scatters, which are the heater's: nothing is counted.
    const gains = this.question.posterior.term
      ? []
      : fittings.flatMap((own, c) => (own.length > 0 ? [this.gainOf(c, own)] : []));
    return this.widthsAt.after(gains, (c, l) => {
      const own = fittings[c];
      const { scatterShares } = this.coolers[c].limitsNow[l].distribution;
      const g = own.length > 0 ? this.groupAt.get(c) : undefined;
      return g === undefined ? scatterShares : this.groups[g].shares(this.groups[g].after(own), l);
    });
  }

  /** What some runs add to what is known of the scatters. Kept by the runs. */
  private gainOf(c: number, fittings: readonly Fitting[]): Float64Array {
    const merged = inOrder(alike(fittings));
    const key = keyOf(merged);
    let gain = this.gains.get(key);
    if (!gain) {
      gain = scatterGain(this.question.posterior, this.coolers[c].posterior, eachRun(merged));
      this.gains.set(key, gain);
    }
    return gain;
  }

  /**
   * How far the difference of two estimates has to lie from zero, above and below, to tell the two apart: as `differenceInterval` has it, less
   * what the errors left have in common.
   */
  private pairLimit(
    [a, b]: readonly [number, number],
    l: number,
    [x, y]: readonly Pick<Prospect, 'down_K' | 'up_K'>[],
    expectedRises: Ahead['expectedRises'],
    widths: readonly (readonly WidthChange[])[],
    z: number,
    covariance: number,
  ): Limit {
    const { critical, shared, posterior } = this.question;
    const multiple = critical(Number.POSITIVE_INFINITY);
    const p = widths[a][l].stretch * Math.exp(z * widths[a][l].spread);
    const q = widths[b][l].stretch * Math.exp(z * widths[b][l].spread);
    let common = 0;
    if (posterior.term) {
      const [m, n] = [a, b].map((c) => critical(this.coolers[c].limitsNow[l].distribution.meanFreedom));
      common = -2 * p * q * m * n * covariance;
    } else {
      const [first, second] = [expectedRises[a][l].sensitivity, expectedRises[b][l].sensitivity];
      for (let k = 0; k < shared.length; k++) common += ((first[k] - second[k]) * shared[k] * multiple) ** 2;
    }
    return {
      above_K: Math.sqrt(Math.max((p * x.down_K) ** 2 + (q * y.up_K) ** 2 + common, 0)),
      below_K: Math.sqrt(Math.max((p * x.up_K) ** 2 + (q * y.down_K) ** 2 + common, 0)),
    };
  }
}

function nothingFound(): Pick<Standing, 'expectedRises' | 'chances' | 'decisions'> {
  return { expectedRises: new Map(), chances: new Map(), decisions: new Map() };
}

/** Whether a difference next to never comes to lie beyond these limits, which those for all looks are not within, or well within a margin. */
function isHopeless(
  { above_K, below_K }: Limit,
  margin_K: number,
  middle_K: number,
  spread_K: number,
): boolean {
  const reach = 6.5 * spread_K + margin_K;
  return middle_K + reach < above_K && reach - middle_K < below_K && above_K + below_K >= 2 * margin_K;
}

/** Three-point Gauss–Hermite rule. */
const WIDTH_POINTS = [
  { weight: 1 / 6, z: -Math.sqrt(3) },
  { weight: 2 / 3, z: 0 },
  { weight: 1 / 6, z: Math.sqrt(3) },
];
