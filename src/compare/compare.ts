import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { normalQuantile } from '../numerics/distributions.ts';
import { finished, type InSteps } from '../numerics/in-steps.ts';
import {
  coolersAtSpeed,
  levelOf,
  loadsAsked,
  meterErrorsOf,
  noteOn,
  roundLoads,
} from '../predict/at-conditions.ts';
import type { BudgetShare } from '../predict/budget.ts';
import type { Conditions } from '../predict/conditions.ts';
import { limitIsPossible } from '../predict/predict.ts';
import { isWithinReach, limitsPassed } from '../predict/reachable-load.ts';
import { type DistributionAtSpeed, distributionsGiven } from '../predict/speed-spread.ts';
import { bestProbabilities } from './best-probability.ts';
import type { Comparison, LoadOrder, Pair } from './comparison.ts';
import { crossingsOf, type DifferenceAt } from './crossings.ts';
import { letterDisplay } from './letter-display.ts';
import {
  type ComparedCooler,
  differenceInterval,
  limitsOf,
  meanInterval,
  ownAndApart,
  type PairTest,
  pairTest,
  type RiseLimits,
  resolvableDifference,
  toldApart,
} from './rise-limits.ts';
import { speedsNotRun } from './speeds-not-run.ts';
import { pairVerdict } from './verdict.ts';

/** Loads at which the curves are followed between those asked for, so that no change of order slips through. */
const FEWEST_STEPS = 48;

/** Numbers of fresh mounts for which the least resolvable difference is given. */
const MOUNT_COUNTS = [1, 2, 4, 8] as const;

/** How pairs are tested, in words. */
export const COMPARISON_METHOD =
  'All pairs at a load together: limits are quantiles of the distribution of each difference, at the tail that the ' +
  'Tukey-Kramer multiple of the studentized range leaves, errors that all runs share entering with the difference of the ' +
  'two sensitivities; tiers are the compact letter display of that test. One look: who tests after every run and stops at the ' +
  'first difference is wrong more often than the level says; what plan calls decided counts all looks. Crossing loads: every load at which a single pair cannot be told apart.';

/** Tells the variance of the difference of two coolers at a load of their grid by where it comes from. */
export type DifferenceBudget = (
  posterior: BenchPosterior,
  a: ComparedCooler,
  b: ComparedCooler,
  g: number,
  test: PairTest,
  air_C: number,
) => BudgetShare[];

/**
 * Order, ties and changes of order of the coolers asked for over the loads asked for.
 *
 * At each load all pairs are tested together (each difference by its own distribution, at the Tukey–Kramer level); coolers that share a tier letter are
 * not resolved. Crossing loads invert the test of a single pair.
 *
 * @param budget  tells the variance of each difference by where it comes from; absent: that is not told
 * @throws BenchError on a condition that cannot be met
 */
export function compareFrom(
  posterior: BenchPosterior,
  conditions: Conditions,
  options: { budget?: DifferenceBudget } = {},
): Comparison {
  return finished(compareSteps(posterior, conditions, options));
}

/** The same in steps: a cooler, the pairs of one cooler and a load each. */
export function* compareSteps(
  posterior: BenchPosterior,
  conditions: Conditions,
  { budget }: { budget?: DifferenceBudget } = {},
): InSteps<Comparison> {
  const level = levelOf(conditions);
  const { coolers: asked, warnings } = coolersAtSpeed(posterior, conditions);
  const loads = loadsAsked(conditions, () => roundLoads(posterior, 12));
  const grid = refine(loads);
  const test = pairTest(posterior, asked.length, level, meterErrorsOf(asked), conditions.paste);
  const room_C = conditions.ambient_C ?? posterior.bench.ambient.setpoint_C;
  const air_C = room_C + (conditions.inlet_rise_K ?? 0);
  const askedIndex = loads.map((load) => grid.indexOf(load));
  const coolers: ComparedCooler[] = [];
  const holding: (RiseLimits | undefined)[][] = [];
  for (const { cooler, at } of asked) {
    const given = distributionsGiven(posterior, cooler, grid, at);
    const limits = limitsOf(cooler, at, given(cooler.limits), test.critical);
    const one: ComparedCooler = {
      posterior: cooler,
      name: cooler.data.cooler.cooler,
      at,
      limits,
      withinReach: limits.map(({ distribution }) => isWithinReach(posterior, cooler, distribution, air_C)),
    };
    coolers.push(one);
    holding.push(ifPipesHold(one, askedIndex, () => given([]), test));
    yield;
  }
  const count = coolers.length;
  // Which of each pair is told to be the cooler one at each load; pairs stand in the order of their first and then their second.
  const told: Told[] = [];
  const pairs: Pair[] = [];
  const of: Compared = { posterior, test, askedIndex, loads };
  for (let i = 0; i < count; i++) {
    for (let j = i + 1; j < count; j++) {
      const [a, b] = [coolers[i], coolers[j]];
      const at = askedIndex.map((g) => toldApart(a.limits[g], b.limits[g], test));
      const pair = new ComparedPair(of, [a, b], [holding[i], holding[j]], at);
      if (budget) {
        pair.difference.forEach((one, l) => {
          one.budget = budget(posterior, a, b, askedIndex[l], test, air_C);
        });
      }
      told.push(at);
      pairs.push(pair);
    }
    yield;
  }
  const toldOf = (i: number, j: number): Told => {
    const [a, b] = i < j ? [i, j] : [j, i];
    return told[a * count - (a * (a + 1)) / 2 + b - a - 1];
  };
  const orders: LoadOrder[] = [];
  for (const [l, g] of askedIndex.entries()) {
    orders.push(orderAt(posterior, coolers, g, test, air_C, (i, j) => toldOf(i, j)[l] !== 0));
    yield;
  }
  const notRun = speedsNotRun(asked);
  return {
    ...(notRun.length > 0 && { speeds_not_run: notRun }),
    bench: posterior.bench.name,
    level,
    pair_level: 1 - 2 * test.tail,
    source: posterior.source,
    method: COMPARISON_METHOD,
    loads: orders,
    pairs,
    warnings: [
      ...posterior.warnings,
      ...warnings,
      ...coolers.flatMap(({ name, at }) => at.notes.map((note) => noteOn(name, note))),
    ],
  };
}

/** Limits at the loads asked for if no further limit of the pipes is met; `undefined` where none is possible. */
function ifPipesHold(
  { posterior: cooler, at, limits }: ComparedCooler,
  askedIndex: readonly number[],
  holding: () => readonly DistributionAtSpeed[],
  test: PairTest,
): (RiseLimits | undefined)[] {
  const possible = askedIndex.filter((g) => limitIsPossible(cooler, limits[g].distribution));
  if (possible.length === 0) return askedIndex.map(() => undefined);
  const open = holding();
  const held = limitsOf(
    cooler,
    at,
    possible.map((g) => open[g]),
    test.critical,
  );
  return askedIndex.map((g) => held[possible.indexOf(g)]);
}

/** The loads asked for with steps between them; one load stays alone. */
function refine(loads: readonly number[]): number[] {
  if (loads.length < 2) return [...loads];
  const span = loads[loads.length - 1] - loads[0];
  const step = span / FEWEST_STEPS;
  const grid: number[] = [];
  for (let l = 0; l + 1 < loads.length; l++) {
    const parts = Math.max(1, Math.ceil((loads[l + 1] - loads[l]) / step - 1e-9));
    for (let k = 0; k < parts; k++) grid.push(loads[l] + ((loads[l + 1] - loads[l]) * k) / parts);
  }
  grid.push(loads[loads.length - 1]);
  return grid;
}

/** The order at a load: letters, chances of being coolest, what may be run there. */
function orderAt(
  posterior: BenchPosterior,
  coolers: readonly ComparedCooler[],
  g: number,
  test: PairTest,
  air_C: number,
  isResolved: (i: number, j: number) => boolean,
): LoadOrder {
  const at = coolers
    .map((cooler, index) => ({ cooler, index, limits: cooler.limits[g] }))
    .sort((a, b) => a.limits.middle_K - b.limits.middle_K);
  const limits = at.map((entry) => entry.limits);
  const letters = letterDisplay(at.length, (i, j) => isResolved(at[i].index, at[j].index));
  const best = bestProbabilities(ownAndApart(limits, test));
  const loading = limits.reduce((sum, one) => sum + one.distribution.loading_W, 0) / limits.length;
  return {
    power_W: limits[0].power_W,
    order: at.map(({ cooler, limits: one }, i) => {
      const interval = meanInterval(one, test.shared, test.level);
      const notes = limitsPassed(posterior, one.power_W, air_C + one.middle_K);
      return {
        cooler: cooler.name,
        rise_K: one.middle_K,
        mean_low_K: interval.low_K,
        mean_high_K: interval.high_K,
        tiers: letters[i],
        p_best: best[i],
        extrapolated: one.extrapolated,
        within_reach: cooler.withinReach[g],
        above_limit: notes.length > 0,
        notes,
      };
    }),
    resolvable: MOUNT_COUNTS.map((mounts) => ({
      mounts,
      difference_K: resolvableDifference(posterior.scatter.sigma, loading, mounts, test.multiple),
    })),
  };
}

/** Which of two is told to be the cooler one, load by load, see {@link toldApart}. */
type Told = readonly (-1 | 0 | 1)[];

/** What all pairs of a comparison have in common. */
interface Compared {
  readonly posterior: BenchPosterior;
  readonly test: PairTest;
  readonly loads: readonly number[];
  /** Where the loads stand in the grid. */
  readonly askedIndex: readonly number[];
}

/** What is told of a pair: its limits, crossings and verdict are found once they are asked for, since many coolers have very many pairs. */
class ComparedPair implements Pair {
  readonly a: string;
  readonly b: string;
  readonly resolved: Pair['resolved'];
  declare readonly resolved_if_pipes_hold?: Pair['resolved_if_pipes_hold'];
  declare readonly crossings: Pair['crossings'];
  declare readonly difference: Pair['difference'];
  declare readonly verdict: string;
  readonly #of: Compared;
  readonly #coolers: readonly [ComparedCooler, ComparedCooler];
  readonly #holding: readonly (readonly (RiseLimits | undefined)[])[];
  #difference: Pair['difference'] | undefined;
  #crossings: Pair['crossings'] | undefined;
  #verdict: string | undefined;

  /** @param holding  limits of either if no further limit of the pipes is met, where one is possible */
  constructor(
    of: Compared,
    coolers: readonly [ComparedCooler, ComparedCooler],
    holding: readonly (readonly (RiseLimits | undefined)[])[],
    told: Told,
  ) {
    this.#of = of;
    this.#coolers = coolers;
    this.#holding = holding;
    this.a = coolers[0].name;
    this.b = coolers[1].name;
    this.resolved = resolvedRanges(this.a, this.b, of.loads, told);
    Object.defineProperties(this, FOUND_WHEN_ASKED);
    const ifHeld = told.flatMap((one, l) => {
      const held = one === 0 ? this.#heldAt(l) : undefined;
      const better = held ? toldApart(...held, of.test) : 0;
      return better === 0 ? [] : [{ power_W: of.loads[l], better: better < 0 ? this.a : this.b }];
    });
    if (ifHeld.length > 0) Object.assign(this, { resolved_if_pipes_hold: ifHeld });
  }

  #heldAt(l: number): [RiseLimits, RiseLimits] | undefined {
    const [a, b] = this.#holding.map((one) => one[l]);
    if (!a && !b) return undefined;
    const g = this.#of.askedIndex[l];
    return [a ?? this.#coolers[0].limits[g], b ?? this.#coolers[1].limits[g]];
  }

  findDifference(): Pair['difference'] {
    const { askedIndex, test } = this.#of;
    const [a, b] = this.#coolers;
    this.#difference ??= askedIndex.map((g, l): Pair['difference'][number] => {
      const { rise_K, low_K, high_K, p_less } = differenceInterval(a.limits[g], b.limits[g], test, test.tail);
      const found = { power_W: a.limits[g].power_W, rise_K, low_K, high_K, p_less };
      const held = this.#heldAt(l);
      if (!held) return found;
      const limits = differenceInterval(...held, test, test.tail);
      return { ...found, if_pipes_hold: { low_K: limits.low_K, high_K: limits.high_K } };
    });
    return this.#difference;
  }

  findCrossings(): Pair['crossings'] {
    this.#crossings ??= crossingsBetween(...this.#coolers, this.#of.test);
    return this.#crossings;
  }

  findVerdict(): string {
    const { posterior, test } = this.#of;
    this.#verdict ??= pairVerdict(this, posterior.scatter.sigma, ...this.#coolers, test.multiple);
    return this.#verdict;
  }
}

/** Members of a pair like any other to whoever reads, copies or writes it out. */
const FOUND_WHEN_ASKED: PropertyDescriptorMap & ThisType<ComparedPair> = {
  crossings: {
    enumerable: true,
    get() {
      return this.findCrossings();
    },
  },
  difference: {
    enumerable: true,
    get() {
      return this.findDifference();
    },
  },
  verdict: {
    enumerable: true,
    get() {
      return this.findVerdict();
    },
  },
};

function crossingsBetween(a: ComparedCooler, b: ComparedCooler, test: PairTest): Pair['crossings'] {
  if (!changesOrder(a, b)) return [];
  const followed = a.limits.map(
    (one, g): DifferenceAt => ({
      power_W: one.power_W,
      rise_K: one.middle_K - b.limits[g].middle_K,
      extrapolated: one.extrapolated || b.limits[g].extrapolated,
    }),
  );
  const { shared, space, level } = test;
  const tail = (1 - level) / 2;
  const alone = { shared, space, tail, multiple: -normalQuantile(tail) };
  return crossingsOf(a.name, b.name, followed, {
    limits: (g) => differenceInterval(a.limits[g], b.limits[g], alone, tail),
    holdsZero: (g) => toldApart(a.limits[g], b.limits[g], alone) === 0,
  });
}

/** Whether the estimates of two coolers change order over the loads looked at. */
function changesOrder(a: ComparedCooler, b: ComparedCooler): boolean {
  const isFirst = a.limits[0].middle_K < b.limits[0].middle_K;
  for (let g = 1; g < a.limits.length; g++) {
    if (a.limits[g].middle_K < b.limits[g].middle_K !== isFirst) return true;
  }
  return false;
}

/** Runs of neighbouring loads asked for at which the same one of the two is resolved as better. */
function resolvedRanges(a: string, b: string, loads: readonly number[], told: Told): Pair['resolved'] {
  const out: Pair['resolved'] = [];
  told.forEach((one, l) => {
    if (one === 0) return;
    if (l > 0 && told[l - 1] === one) out[out.length - 1].to_W = loads[l];
    else out.push({ from_W: loads[l], to_W: loads[l], better: one < 0 ? a : b });
  });
  return out;
}
