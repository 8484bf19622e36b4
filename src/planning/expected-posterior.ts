import { differenceInterval } from '../comparison/rise-limits.ts';
import { normalCdf } from '../numerics/distributions.ts';
import { type ConditionalGaussian, type Gaussian, given } from '../numerics/gaussian.ts';
import { addDiagonal, addTransposeProduct, cholesky, submatrix } from '../numerics/matrix.ts';
import { median } from '../numerics/median.ts';
import { mixtureDeviation, mixtureMean, mixtureQuantile } from '../numerics/mixture.ts';
import type { CoolerPosterior } from '../posterior/bench-posterior.ts';
import { relativeSpeed } from '../posterior/cooler-runs.ts';
import { type LimitNode, limitExcess, limitNodes } from '../posterior/pipe-limit.ts';
import { MOUNT, READING } from '../posterior/scatter.ts';
import { type BenchRises, benchRises } from '../prediction/bench-rises.ts';
import { jointRises } from '../prediction/joint-rises.ts';
import { heldFreedom } from '../prediction/rise-distribution.ts';
import { atLoads, type RisePoint } from '../prediction/rise-point.ts';
import type { PlannedCoolerState, Question } from './planned-cooler.ts';
import type { Estimate } from './population.ts';
import { covarianceAfter, freedomOf, scatterGain } from './scatter-learning.ts';
import type { PlannedRun } from './visits.ts';

/** What may be found of a cooler at one load, and how well it is then known. */
export interface Prospect {
  readonly weight: number;
  readonly middle_K: number;
  readonly down_K: number;
  readonly up_K: number;
}

/** A cooler at one load after some planned runs, before they are done. */
export interface Outlook {
  /** Unique among the outlooks of one expected posterior. */
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

/** What some planned runs buy, before they are done. */
export interface Ahead {
  readonly outlooks: readonly (readonly Outlook[])[];
  /** Variance of the difference of two coolers' true rises that is left, shared errors of the heater apart, K². */
  variance(a: number, b: number, l: number): number;
  /** Chance that the two are told apart. */
  chance(a: number, b: number, l: number): number;
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
  ): { above_K: number; below_K: number };
}

/** Coolers whose rises hang together, given the runs done: on the heater each by itself, on a chip all. */
interface Group {
  readonly coolers: readonly number[];
  readonly rises: BenchRises;
  /** Where the rise of a cooler at a load stands, and a kind of run. */
  readonly target: ReadonlyMap<number, number>;
  readonly kind: ReadonlyMap<string, number>;
  readonly targets: readonly number[];
  readonly states: Map<string, GroupState>;
}

/** A group after some runs. */
interface GroupState {
  readonly runs: readonly PlannedRun[];
  /** Runs and then targets, the runs with the scatters of fitting and reading in them. */
  readonly joint: Gaussian;
  /** Of the targets. */
  readonly after: ConditionalGaussian;
  readonly sensitivity: Float64Array;
  readonly outlooks: ReadonlyMap<number, readonly Outlook[]>;
}

/** A limit shows once it lifts a run by so many standard deviations of a fresh run. */
const SHOWS = 2.5;
/** What is left as an error of the further excess that a limit brings beyond the greatest heat run, as a share of it. */
const EXCESS_BEYOND = 0.5;
/** Runs within this share of the heat asked for count as run there. */
const AT_THE_TOP = 0.97;
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
  private readonly groups: readonly Group[];
  private readonly gains = new Map<string, Float64Array>();
  private readonly chances = new Map<string, number>();
  private count = 0;

  /** @param runs  of every kind that may be planned: cooler, sample, load and speed */
  constructor(question: Question, coolers: readonly PlannedCoolerState[], runs: readonly PlannedRun[]) {
    this.question = question;
    this.coolers = coolers;
    this.kinds = [...new Map(runs.map((run) => [kindOf(run), run])).values()];
    const foreseen = coolers.flatMap((_, c) => (this.isForeseen(c) ? [c] : []));
    const together = question.posterior.term ? [foreseen] : foreseen.map((c) => [c]);
    this.groups = together.map((members) => this.groupOf(members));
  }

  /** A cooler that was run on a chip alone has no place among the others' errors: nothing is foreseen of it. */
  isForeseen(cooler: number): boolean {
    const { term, source } = this.question.posterior;
    return !term || this.coolers[cooler].posterior.fittedIn?.posterior.source !== source;
  }

  after(runs: readonly PlannedRun[]): Ahead {
    return this.foretold(runs, this.widthsAfter(this.byCooler(runs)));
  }

  private byCooler(runs: readonly PlannedRun[]): PlannedRun[][] {
    const own = this.coolers.map((): PlannedRun[] => []);
    for (const run of runs) own[run.cooler].push(run);
    return own;
  }

  private foretold(runs: readonly PlannedRun[], widths: readonly (readonly WidthChange[])[]): Ahead {
    const own = this.byCooler(runs);
    const states = this.groups.map((group) =>
      this.stateOf(
        group,
        group.coolers.flatMap((c) => own[c]),
      ),
    );
    const outlooks = this.coolers.map(
      (_, c) => states.find(({ outlooks: all }) => all.has(c))?.outlooks.get(c) ?? this.unmoved(c),
    );
    const variance = (a: number, b: number, l: number): number => {
      const common = 2 * this.covariance(states, a, b, l);
      return Math.max(outlooks[a][l].left_K ** 2 + outlooks[b][l].left_K ** 2 - common, 0);
    };
    const limit: Ahead['limit'] = (a, b, l, found, z) =>
      this.pairLimit([a, b], l, found, outlooks, widths, z, this.covariance(states, a, b, l));
    const chance = (a: number, b: number, l: number): number => {
      if (runs.length === 0 || !(this.isForeseen(a) && this.isForeseen(b))) {
        return this.isResolvedNow(a, b, l) ? 1 : 0;
      }
      return this.chanceOf([a, b], l, outlooks, widths, this.covariance(states, a, b, l));
    };
    return { outlooks, variance, chance, limit };
  }

  /** Whether two coolers are told apart by the runs there are. */
  isResolvedNow(a: number, b: number, l: number): boolean {
    const { critical, shared } = this.question;
    const [first, second] = [this.coolers[a].limitsNow[l], this.coolers[b].limitsNow[l]];
    const { low_K, high_K } = differenceInterval(
      first,
      second,
      { shared, space: [] },
      normalCdf(-critical(Number.POSITIVE_INFINITY)),
    );
    return low_K > 0 || high_K < 0;
  }

  /** Chance that two are told apart once the samples at hand are fitted as often as one likes, at the load named that is nearest. */
  everChance(a: number, b: number, l: number): number {
    const power_W = this.question.power_W[l];
    const runs = [a, b].flatMap((cooler) => {
      const own = this.kinds.filter((kind) => kind.cooler === cooler);
      const nearest = Math.min(...own.map((kind) => Math.abs(kind.power_W - power_W)));
      return own
        .filter((kind) => Math.abs(kind.power_W - power_W) === nearest)
        .flatMap((kind) =>
          Array.from({ length: MANY_FITTINGS }, (_, k) => ({ ...kind, mount: `${kind.sample}/${k}` })),
        );
    });
    // So many fittings settle the scatters too.
    const settled = this.coolers.map(({ limitsNow }) =>
      limitsNow.map(({ distribution: { meanFreedom } }) => ({
        stretch: this.question.critical(Number.POSITIVE_INFINITY) / this.question.critical(meanFreedom),
        spread: 0,
        name: 'settled',
      })),
    );
    return this.foretold(runs, settled).chance(a, b, l);
  }

  /** For carrying runs out: what to draw, and what would be found. */
  carriedOut(runs: readonly PlannedRun[]): CarriedOutPart[] {
    return this.groups.map((group) =>
      this.partOf(
        group,
        this.stateOf(
          group,
          runs.filter(({ cooler }) => group.coolers.includes(cooler)),
        ),
      ),
    );
  }

  private partOf(group: Group, state: GroupState): CarriedOutPart {
    const { runs, joint, after } = state;
    const planned = runs.length;
    const targets = group.targets.length;
    const heats = new Map(group.coolers.map((c) => [c, this.heatsOf(group, c, runs)]));
    const heat_W = runs.map((run) => group.rises.loading_W[this.kindRow(group, run)]);
    return {
      coolers: group.coolers,
      readings: planned,
      draws: this.drawsOf(group, state),
      found_K: (values) => {
        const off = joint.mean.map((mean, k) => values[k] - mean).subarray(0, planned);
        return addTransposeProduct(joint.mean.slice(planned), after.weights, off, planned, targets);
      },
      excess_K: (cooler, node) =>
        runs.map((run, k) => (run.cooler === cooler ? limitExcess(node, heat_W[k]) : 0)),
      excessAt_K: (cooler, l, node) =>
        limitExcess(node, group.rises.loading_W[(group.target.get(cooler) as number) + l]),
      prospect: (cooler, l, node) => {
        const { middle_K, ...rest } = this.prospectFor(
          group,
          state,
          cooler,
          l,
          heats.get(cooler) as Heat[],
          node,
        );
        return { ...rest, beyond_K: middle_K - group.rises.mean[(group.target.get(cooler) as number) + l] };
      },
      shows: (cooler, node) => limitShows(node, greatest(heats.get(cooler) as Heat[]), this.noiseOf(cooler)),
    };
  }

  /**
   * What readings and true rises are drawn from: on the heater each formula as it is believed of the cooler beside the others (what is found
   * of it stands by its own runs), on a chip all coolers together.
   */
  private drawsOf(group: Group, { runs, joint }: GroupState): Draw[] {
    const { posterior, power_W } = this.question;
    const { posterior: cooler, at, among } = this.coolers[group.coolers[0]];
    const points = [
      ...runs.map(({ power_W: power, fan_rpm, sample, mount }) => ({
        power_W: power,
        speed: relativeSpeed(cooler.data.cooler, fan_rpm),
        sample,
        mount,
        reading_u_K: 0,
      })),
      ...atLoads(power_W, at.speed, at.more),
    ];
    const under = posterior.term
      ? [{ ...joint, weight: 1 }]
      : jointRises(posterior, cooler, points, { want: 'covariance' });
    const size = joint.mean.length;
    const draws = under.map((formula): Draw => {
      const { mean, covariance, logDensity } = asBelieved(
        formula,
        joint,
        size - 1,
        among?.[power_W.length - 1],
      );
      const factor = covariance.slice();
      // Two loads of the question may be nearly one; a jitter far below any printed digit keeps the factor real.
      addDiagonal(factor, size, 1e-9);
      if (!cholesky(factor, size)) throw new RangeError('what is drawn has no spread of its own');
      return { weight: formula.weight * Math.exp(logDensity), mean, factor };
    });
    const total = draws.reduce((sum, { weight }) => sum + weight, 0);
    return draws.map((draw) => ({ ...draw, weight: draw.weight / total }));
  }

  private groupOf(members: readonly number[]): Group {
    const { posterior, power_W } = this.question;
    const target = new Map<number, number>();
    const kind = new Map<string, number>();
    let first = 0;
    const points = members.map((c) => {
      const { posterior: cooler, at } = this.coolers[c];
      const own = this.kinds.filter((one) => one.cooler === c);
      target.set(c, first);
      own.forEach((one, k) => {
        kind.set(kindOf(one), first + power_W.length + k);
      });
      first += power_W.length + own.length;
      return {
        // Limits of pipes stand beside the Gaussian.
        cooler: { ...cooler, limits: [] },
        rises: atLoads(power_W, at.speed, at.more),
        readings: own.map(
          (one): RisePoint => ({
            power_W: one.power_W,
            speed: relativeSpeed(cooler.data.cooler, one.fan_rpm),
            sample: one.sample,
          }),
        ),
      };
    });
    const targets = members.flatMap((c) => power_W.map((_, l) => (target.get(c) as number) + l));
    return {
      coolers: members,
      rises: benchRises(posterior, points),
      target,
      kind,
      targets,
      states: new Map(),
    };
  }

  private kindRow(group: Group, run: PlannedRun): number {
    const row = group.kind.get(kindOf(run));
    if (row === undefined) throw new RangeError(`no kind of run at ${run.power_W} W was named`);
    return row;
  }

  private stateOf(group: Group, runs: readonly PlannedRun[]): GroupState {
    const key = keyOf(runs);
    const found = group.states.get(key);
    if (found) return found;
    const { mean, covariance, loading_W, sensitivity, errors } = group.rises;
    const { sigma } = this.question.posterior.scatter;
    const rows = [...runs.map((run) => this.kindRow(group, run)), ...group.targets];
    const joint = {
      mean: submatrix(mean, 1, rows, [0]),
      covariance: submatrix(covariance, mean.length, rows),
    };
    runs.forEach((a, i) => {
      runs.forEach((b, j) => {
        if (a.cooler !== b.cooler || a.mount !== b.mount) return;
        joint.covariance[i * rows.length + j] += sigma[MOUNT] ** 2 * loading_W[rows[i]] * loading_W[rows[j]];
      });
      joint.covariance[i * rows.length + i] += sigma[READING] ** 2;
    });
    const planned = runs.map((_, i) => i);
    const after = given(joint, planned, undefined);
    const columns = Array.from({ length: errors }, (_, e) => e);
    const left = addTransposeProduct(
      submatrix(sensitivity, errors, group.targets, columns),
      after.weights,
      submatrix(sensitivity, errors, rows.slice(0, runs.length), columns),
      runs.length,
      group.targets.length,
      errors,
      -1,
    );
    const bare: GroupState = { runs, joint, after, sensitivity: left, outlooks: new Map() };
    const outlooks = new Map(group.coolers.map((c) => [c, this.outlooksOf(group, bare, c)]));
    const state = { ...bare, outlooks };
    group.states.set(key, state);
    return state;
  }

  /** Variance left and now of a cooler's rise at a load, as the group's Gaussian has them. */
  private variances(group: Group, state: GroupState, c: number, l: number): { left: number; now: number } {
    const t = group.coolers.indexOf(c) * this.question.power_W.length + l;
    const at = group.targets[t];
    const size = group.rises.mean.length;
    return {
      left: Math.max(state.after.covariance[t * group.targets.length + t], 1e-12),
      now: group.rises.covariance[at * size + at],
    };
  }

  private outlooksOf(group: Group, state: GroupState, c: number): Outlook[] {
    const { power_W } = this.question;
    const { posterior: cooler, among } = this.coolers[c];
    const heats = this.heatsOf(group, c, state.runs);
    const seen_W = greatest(heats);
    const found = cooler.limits.filter((node) => limitShows(node, seen_W, this.noiseOf(c)));
    const foundWeight = found.reduce((sum, node) => sum + node.weight, 0);
    return power_W.map((_, l): Outlook => {
      const { left, now } = this.variances(group, state, c, l);
      const prospects: (Prospect & { spread_K2: number })[] = [];
      if (foundWeight < 1) {
        prospects.push({
          ...this.prospectFor(group, state, c, l, heats, undefined),
          weight: 1 - foundWeight,
        });
      }
      for (const node of found) {
        prospects.push({ ...this.prospectFor(group, state, c, l, heats, node), weight: node.weight });
      }
      const middle = prospects.reduce((sum, one) => sum + one.weight * one.middle_K, 0);
      const spread = prospects.reduce(
        (sum, one) => sum + one.weight * (one.spread_K2 + (one.middle_K - middle) ** 2),
        0,
      );
      const t = group.coolers.indexOf(c) * power_W.length + l;
      const errors = group.rises.errors;
      const outlook: Outlook = {
        id: this.count++,
        prospects: merged(prospects),
        moves_K2: Math.max(0, now - left),
        left_K: Math.sqrt(left),
        u_K: Math.sqrt(left + spread),
        sensitivity: state.sensitivity.slice(t * errors, (t + 1) * errors),
      };
      return among
        ? believed(outlook, { mean: group.rises.mean[group.targets[t]], variance: now }, among[l])
        : outlook;
    });
  }

  /** What is found of a cooler: with a limit that shows, or (`undefined`) with one that may still lie above the heats run. */
  private prospectFor(
    group: Group,
    state: GroupState,
    c: number,
    l: number,
    heats: readonly Heat[],
    node: LimitNode | undefined,
  ): Omit<Prospect, 'weight'> & { readonly spread_K2: number } {
    const { critical } = this.question;
    const { posterior: cooler, limitsNow } = this.coolers[c];
    const row = (group.target.get(c) as number) + l;
    const mean = group.rises.mean[row];
    const base_W = group.rises.loading_W[row];
    const { left } = this.variances(group, state, c, l);
    const multiple = critical(limitsNow[l].distribution.meanFreedom);
    const half = multiple * Math.sqrt(left);
    if (node) {
      const error = excessError(node, heats, base_W, this.noiseOf(c));
      const side = Math.hypot(half, error * critical(Number.POSITIVE_INFINITY));
      return { middle_K: mean + limitExcess(node, base_W), down_K: side, up_K: side, spread_K2: error ** 2 };
    }
    const nodes =
      cooler.limits.length > 0 ? limitNodes(cooler.data.cooler, greatest(heats), resistanceOf(cooler)) : [];
    const excess = nodes.map((one) => limitExcess(one, base_W));
    if (!excess.some((value) => value > 1e-3)) {
      return { middle_K: mean, down_K: half, up_K: half, spread_K2: 0 };
    }
    const mixture = {
      weight: Float64Array.from(nodes, ({ weight }) => weight),
      mean: Float64Array.from(excess, (value) => mean + value),
      deviation: new Float64Array(nodes.length).fill(Math.sqrt(left)),
    };
    const tail = normalCdf(-critical(Number.POSITIVE_INFINITY));
    const stretch = multiple / critical(Number.POSITIVE_INFINITY);
    const middle_K = mixtureMean(mixture);
    return {
      middle_K,
      down_K: middle_K - mixtureQuantile(mixture, tail, stretch),
      up_K: mixtureQuantile(mixture, 1 - tail, stretch) - middle_K,
      spread_K2: Math.max(0, mixtureDeviation(mixture) ** 2 - left),
    };
  }

  /** Heats into the base of a cooler's runs, done and planned, each with its fitting. */
  private heatsOf(group: Group, c: number, planned: readonly PlannedRun[]): Heat[] {
    const { runs, base_W } = runsBehind(this.coolers[c].posterior);
    const done = runs.map(({ sample, mount }, i) => ({
      base_W: base_W[i],
      fitting: `${sample}\u0000${mount}`,
    }));
    const ahead = planned
      .filter(({ cooler }) => cooler === c)
      .map((run) => ({
        base_W: group.rises.loading_W[this.kindRow(group, run)],
        fitting: `${run.sample}\u0000${run.mount}`,
      }));
    return [...done, ...ahead];
  }

  private noiseOf(c: number): number {
    return Math.sqrt(this.coolers[c].limitsNow[0].distribution.freshVariance_K2);
  }

  /** A cooler of which nothing is foreseen stays as it is. */
  private unmoved(c: number): Outlook[] {
    return this.coolers[c].limitsNow.map(({ middle_K, down_K, up_K, sensitivity, distribution }): Outlook => {
      const left_K = mixtureDeviation(distribution.mean);
      const prospects = [{ weight: 1, middle_K, down_K, up_K }];
      return { id: -1 - c, prospects, moves_K2: 0, left_K, u_K: left_K, sensitivity };
    });
  }

  /** Covariance that is left between two coolers' rises; zero for coolers of two groups. */
  private covariance(states: readonly GroupState[], a: number, b: number, l: number): number {
    if (!this.question.posterior.term) return 0;
    const k = this.groups.findIndex(({ coolers }) => coolers.includes(a) && coolers.includes(b));
    if (k < 0) return 0;
    const { coolers, targets } = this.groups[k];
    const loads = this.question.power_W.length;
    const at = (c: number) => coolers.indexOf(c) * loads + l;
    return states[k].after.covariance[at(a) * targets.length + at(b)];
  }

  private covarianceNow(a: number, b: number, l: number): number {
    if (!this.question.posterior.term) return 0;
    const group = this.groups.find(({ coolers }) => coolers.includes(a) && coolers.includes(b));
    if (!group) return 0;
    const at = (c: number) => (group.target.get(c) as number) + l;
    return group.rises.covariance[at(a) * group.rises.mean.length + at(b)];
  }

  /** How each cooler's limits at each load will change because the scatters are estimated anew once all have had their runs. */
  private widthsAfter(runs: readonly (readonly PlannedRun[])[]): WidthChange[][] {
    const { posterior, critical } = this.question;
    const now = posterior.scatter.logVarianceCovariance;
    // Runs on a chip tell little of the scatters, which are the heater's: nothing is counted.
    const gains = posterior.term
      ? []
      : runs.flatMap((own, c) => (own.length > 0 ? [this.gainOf(c, own)] : []));
    const learnt = gains.length > 0 ? covarianceAfter(now, gains) : now;
    return this.coolers.map(({ limitsNow }) =>
      limitsNow.map(({ distribution: { scatterShares } }) =>
        widthChange(
          { now: freedomOf(scatterShares, now), after: rounded(freedomOf(scatterShares, learnt)) },
          critical,
        ),
      ),
    );
  }

  private gainOf(c: number, runs: readonly PlannedRun[]): Float64Array {
    const key = keyOf(runs);
    let gain = this.gains.get(key);
    if (!gain) {
      gain = scatterGain(this.question.posterior, this.coolers[c].posterior, runs);
      this.gains.set(key, gain);
    }
    return gain;
  }

  private chanceOf(
    [a, b]: readonly [number, number],
    l: number,
    outlooks: Ahead['outlooks'],
    widths: readonly (readonly WidthChange[])[],
    covariance: number,
  ): number {
    const [first, second] = [outlooks[a][l], outlooks[b][l]];
    const [p, q] = [widths[a][l], widths[b][l]];
    const key = `${first.id} ${second.id} ${p.name} ${q.name}`;
    let sum = this.chances.get(key);
    if (sum !== undefined) return sum;
    sum = 0;
    const moved = this.covarianceNow(a, b, l) - covariance;
    const spread = Math.sqrt(Math.max(first.moves_K2 + second.moves_K2 - 2 * moved, 0));
    for (const { weight, z } of p.spread > 0 || q.spread > 0 ? WIDTH_POINTS : [{ weight: 1, z: 0 }]) {
      for (const x of first.prospects) {
        for (const y of second.prospects) {
          const limit = this.pairLimit([a, b], l, [x, y], outlooks, widths, z, covariance);
          const share = weight * x.weight * y.weight;
          sum += share * chanceBeyond(x.middle_K - y.middle_K, spread, limit.above_K, limit.below_K);
        }
      }
    }
    this.chances.set(key, sum);
    return sum;
  }

  /**
   * How far the difference of two estimates has to lie from zero, above and below, to tell the two apart: as `differenceInterval` has it, less
   * what the errors left have in common.
   */
  private pairLimit(
    [a, b]: readonly [number, number],
    l: number,
    [x, y]: readonly Pick<Prospect, 'down_K' | 'up_K'>[],
    outlooks: Ahead['outlooks'],
    widths: readonly (readonly WidthChange[])[],
    z: number,
    covariance: number,
  ): { above_K: number; below_K: number } {
    const { critical, shared, posterior } = this.question;
    const multiple = critical(Number.POSITIVE_INFINITY);
    const p = widths[a][l].stretch * Math.exp(z * widths[a][l].spread);
    const q = widths[b][l].stretch * Math.exp(z * widths[b][l].spread);
    let common = 0;
    if (posterior.term) {
      const [m, n] = [a, b].map((c) => critical(this.coolers[c].limitsNow[l].distribution.meanFreedom));
      common = -2 * p * q * m * n * covariance;
    } else {
      const [first, second] = [outlooks[a][l].sensitivity, outlooks[b][l].sensitivity];
      for (let k = 0; k < shared.length; k++) common += ((first[k] - second[k]) * shared[k] * multiple) ** 2;
    }
    return {
      above_K: Math.sqrt(Math.max((p * x.down_K) ** 2 + (q * y.up_K) ** 2 + common, 0)),
      below_K: Math.sqrt(Math.max((p * x.up_K) ** 2 + (q * y.down_K) ** 2 + common, 0)),
    };
  }
}

/** One of the distributions to draw from, with its chance: mean, and the lower factor of the covariance. */
export interface Draw {
  readonly weight: number;
  readonly mean: Float64Array;
  readonly factor: Float64Array;
}

/** Planned runs of coolers whose rises hang together, to be carried out. */
export interface CarriedOutPart {
  readonly coolers: readonly number[];
  /** How many readings stand before the true rises, cooler by cooler and load by load, in what is drawn. */
  readonly readings: number;
  readonly draws: readonly Draw[];
  /** Estimates of the rises once the runs have read so, limits of pipes apart. */
  found_K(values: Float64Array): Float64Array;
  /** What a limit adds to each reading, and to a true rise. */
  excess_K(cooler: number, node: LimitNode): number[];
  excessAt_K(cooler: number, l: number, node: LimitNode): number;
  /** How a cooler is then known, and how far its estimate lies beyond the one without limits. */
  prospect(
    cooler: number,
    l: number,
    node: LimitNode | undefined,
  ): {
    readonly beyond_K: number;
    readonly down_K: number;
    readonly up_K: number;
    readonly spread_K2: number;
  };
  shows(cooler: number, node: LimitNode): boolean;
}

function kindOf({ cooler, sample, power_W, fan_rpm }: PlannedRun): string {
  return `${cooler}\u0000${sample}\u0000${power_W}\u0000${fan_rpm}`;
}

/** The same for the same runs on as many fittings, whatever these are called. */
function keyOf(runs: readonly PlannedRun[]): string {
  if (runs.length === 0) return '';
  const fittings = new Map<string, string>();
  for (const run of runs) {
    const name = `${run.cooler}\u0000${run.mount}`;
    fittings.set(name, `${fittings.get(name) ?? ''}${kindOf(run)}`);
  }
  return [...fittings.values()].sort().join(';');
}

/** Heat into the base of a run, and its fitting. */
interface Heat {
  readonly base_W: number;
  readonly fitting: string;
}

function greatest(heats: readonly Heat[]): number {
  return Math.max(...heats.map(({ base_W }) => base_W));
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
function excessError(node: LimitNode, heats: readonly Heat[], base_W: number, noise_K: number): number {
  const seen_W = greatest(heats);
  const top_W = AT_THE_TOP * Math.min(base_W, seen_W);
  const mounts = new Set(heats.filter((one) => one.base_W >= top_W).map(({ fitting }) => fitting));
  const further = Math.max(0, limitExcess(node, base_W) - limitExcess(node, seen_W));
  return Math.hypot(noise_K / Math.sqrt(Math.max(mounts.size, 1)), EXCESS_BEYOND * further);
}

/** The runs that a cooler's curves were fitted to. */
function runsBehind({ fittedIn, data }: CoolerPosterior): CoolerPosterior['data'] {
  return fittedIn?.cooler.data ?? data;
}

/** Median of rise over heat at the runs, K/W. */
function resistanceOf(cooler: CoolerPosterior): number {
  const { rise_K, base_W } = runsBehind(cooler);
  return Math.max(median(rise_K.map((rise, i) => rise / base_W[i])), 1e-4);
}

/** Whether a run at some heat shows a limit, given the scatter of a fresh run. */
function limitShows(node: LimitNode, seen_W: number, noise_K: number): boolean {
  return limitExcess(node, seen_W) > SHOWS * noise_K;
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
 * An outlook by what is believed of the cooler beside the others.
 *
 * Where the estimate will come to lie once the planned runs have read is a mean of what it is now and what they will show, with weight g on the latter,
 * g the share of the variance that they take away. What they will show is expected where the cooler is believed to be, not where its own runs put it.
 */
function believed(outlook: Outlook, own: { mean: number; variance: number }, among: Estimate): Outlook {
  const g = outlook.moves_K2 / own.variance;
  const shift = g * (among.mean - own.mean);
  return {
    ...outlook,
    prospects: outlook.prospects.map((one) => ({ ...one, middle_K: one.middle_K + shift })),
    moves_K2: g * g * among.u * among.u + g * (1 - g) * own.variance,
  };
}

/**
 * A joint distribution moved to what is believed of one of its values beside the other coolers: given that reading of it which leads from the
 * cooler's own estimate to the one among them.
 *
 * @param own  the cooler's own estimate, over formulas
 */
function asBelieved(
  joint: Gaussian,
  own: Gaussian,
  at: number,
  among: Estimate | undefined,
): Gaussian & { readonly logDensity: number } {
  const size = joint.mean.length;
  const [mean, variance] = [own.mean[at], own.covariance[at * size + at]];
  const precision = among ? 1 / among.u ** 2 - 1 / variance : 0;
  if (!among || !(precision > 1e-9)) return { ...joint, logDensity: 0 };
  const observed = (among.mean / among.u ** 2 - mean / variance) / precision;
  return given(joint, [at], [observed], { of: Array.from(joint.mean.keys()), noise: [1 / precision] });
}

/** How the limits of a cooler will change because the scatters are estimated anew. */
export interface WidthChange {
  /** Limits after over limits now where the estimate of the scatter itself stays. */
  readonly stretch: number;
  /** Standard deviation of the logarithm by which that estimate moves. */
  readonly spread: number;
  /** The same for the same change. */
  readonly name: string;
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
  if (!(freedom.after > freedom.now)) return { stretch: 1, spread: 0, name: '' };
  const stretch = critical(heldFreedom(freedom.after)) / critical(heldFreedom(freedom.now));
  const spread = Math.sqrt(1 / (2 * freedom.now) - 1 / (2 * freedom.after));
  return { stretch, spread, name: `${stretch} ${spread}` };
}

/** Degrees of freedom to the nearest twentieth of themselves: finer changes no plan, and what was worked out before can be used again. */
function rounded(freedom: number): number {
  return Number.isFinite(freedom) ? Math.exp(Math.round(Math.log(freedom) * 20) / 20) : freedom;
}

/** Three-point Gauss–Hermite rule. */
const WIDTH_POINTS = [
  { weight: 1 / 6, z: -Math.sqrt(3) },
  { weight: 2 / 3, z: 0 },
  { weight: 1 / 6, z: Math.sqrt(3) },
];

/** Chance that an estimate which comes to lie normally about `middle` ends above a limit, or below another on the other side of zero. */
function chanceBeyond(middle: number, spread: number, above: number, below: number): number {
  if (!(spread > 1e-9)) return middle > above || -middle > below ? 1 : 0;
  return normalCdf((middle - above) / spread) + normalCdf((-middle - below) / spread);
}
