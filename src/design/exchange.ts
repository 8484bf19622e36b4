/**
 * What may be done, what each costs, and what a selection is worth. A selection may hold the same candidate several times.
 */
export interface DesignProblem {
  readonly candidates: number;
  /** What a selection takes: no less than a part of it. */
  cost(selection: readonly number[]): number;
  readonly budget: number;
  /** A further budget, of what some candidates take. */
  readonly beside?: { cost(selection: readonly number[]): number; readonly budget: number };
  utility(selection: readonly number[]): number;
  /** Selections within the budget from which to exchange besides the greedy one. */
  readonly starts?: readonly (readonly number[])[];
}

/** A selection with its worth after each greedy step. */
export interface Design {
  readonly selection: readonly number[];
  readonly utility: number;
  /** What is selected after each step of the greedy start, its cost and utility, beginning with nothing. */
  readonly path: readonly {
    readonly selection: readonly number[];
    readonly cost: number;
    readonly utility: number;
  }[];
}

/** Passes of exchange; each tries every selected one against every candidate. */
const PASSES = 6;
/** Gains below this share of the utility's size are rounding. */
const LEAST_GAIN = 1e-9;

/**
 * A good selection within a budget: greedy by gain per cost, then exchange.
 *
 * Greedy selection is never far off where returns diminish, but not where two candidates are worth something only together. So every selected
 * candidate is afterwards tried against every other and the best exchange kept, until none helps, what is left of the budget is filled again, and the
 * same is done from any other start that is given; the best end counts.
 *
 * Source: Fedorov (1972) Theory of Optimal Experiments, chapter 3; Mitchell (1974) Technometrics 16, 203.
 *
 * @example
 * // two observations of a straight line on [−1, 1]: the ends
 * exchangeDesign({ candidates: 21, cost: (some) => some.length, budget: 2, utility: logDeterminantOfLine }).selection // [0, 20]
 */
export function exchangeDesign(problem: DesignProblem): Design {
  const path = [{ selection: [] as readonly number[], cost: 0, utility: problem.utility([]) }];
  const greedy = filled(problem, [], (selection, utility) => {
    path.push({ selection, cost: problem.cost(selection), utility });
  });
  let best = exchanged(problem, greedy);
  for (const start of problem.starts ?? []) {
    if (!isWithin(problem, start, problem.cost(start))) continue;
    const end = exchanged(problem, filled(problem, start));
    if (problem.utility(end) > problem.utility(best) + leastGain(problem.utility(best))) best = end;
  }
  return { selection: best, utility: problem.utility(best), path };
}

/** Whether a selection stays within its budgets. */
function isWithin({ budget, beside }: DesignProblem, selection: readonly number[], cost: number): boolean {
  return cost <= budget + 1e-9 && (!beside || beside.cost(selection) <= beside.budget + 1e-9);
}

/** Gains below this are rounding. */
function leastGain(worth: number): number {
  return LEAST_GAIN * (1 + Math.abs(worth));
}

/** Adds the candidate with most gain per cost until none fits or helps. */
function filled(
  problem: DesignProblem,
  start: readonly number[],
  onStep?: (selection: readonly number[], utility: number) => void,
): number[] {
  let selection = [...start];
  let worth = problem.utility(selection);
  for (;;) {
    const spent = problem.cost(selection);
    let best: { k: number; gain: number; rate: number } | undefined;
    for (let k = 0; k < problem.candidates; k++) {
      const more = [...selection, k];
      const cost = problem.cost(more);
      if (!isWithin(problem, more, cost)) continue;
      const gain = problem.utility(more) - worth;
      const rate = gain / (cost - spent);
      if (!best || rate > best.rate) best = { k, gain, rate };
    }
    if (!best || !(best.gain > leastGain(worth))) return selection;
    selection = [...selection, best.k];
    worth += best.gain;
    onStep?.(selection, worth);
  }
}

/** Replaces one candidate at a time by a better or cheaper one, or by none, until a pass changes nothing. */
function exchanged(problem: DesignProblem, start: readonly number[]): number[] {
  let selection = [...start];
  for (let pass = 0; pass < PASSES; pass++) {
    const before = selection;
    // The same candidate at two places exchanges alike, so that it is tried once until something has changed.
    const tried = new Set<number>();
    for (let place = 0; place < selection.length; place++) {
      if (tried.has(selection[place])) continue;
      tried.add(selection[place]);
      const rest = selection.filter((_, i) => i !== place);
      const worth = problem.utility(selection);
      let best = { k: selection[place], utility: worth };
      for (let k = 0; k < problem.candidates; k++) {
        if (k === selection[place]) continue;
        const other = [...rest, k];
        if (!isWithin(problem, other, problem.cost(other))) continue;
        const utility = problem.utility(other);
        if (utility > best.utility + leastGain(worth)) best = { k, utility };
      }
      if (best.k === selection[place]) continue;
      selection = [...rest.slice(0, place), best.k, ...rest.slice(place)];
      tried.clear();
    }
    if (selection === before) break;
    selection = filled(problem, selection);
  }
  return selection;
}
