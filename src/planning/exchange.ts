/**
 * What may be done, what each costs, and what a selection is worth. A selection may hold the same candidate several times.
 */
export interface DesignProblem {
  readonly candidates: number;
  cost(candidate: number): number;
  readonly budget: number;
  utility(selection: readonly number[]): number;
}

/** A selection with its worth after each greedy step. */
export interface Design {
  readonly selection: readonly number[];
  readonly utility: number;
  /** Cost and utility after each step of the greedy start, beginning with nothing. */
  readonly path: readonly { readonly cost: number; readonly utility: number }[];
}

/** Passes of exchange; each tries every selected one against every candidate. */
const PASSES = 6;
/** Gains below this share of the utility's size are rounding. */
const LEAST_GAIN = 1e-9;

/**
 * A good selection within a budget: greedy by gain per cost, then exchange.
 *
 * Greedy selection alone can be misled: the second half of a pair is worth nothing without the first. So afterwards every selected candidate
 * is tried against every other, and the best exchange kept, until none helps; what is left of the budget is filled again.
 *
 * Source: Fedorov (1972) Theory of Optimal Experiments, chapter 3; Mitchell (1974) Technometrics 16, 203.
 *
 * @example
 * // two observations of a straight line on [−1, 1]: the ends
 * exchangeDesign({ candidates: 21, cost: () => 1, budget: 2, utility: logDeterminantOfLine }).selection // [0, 20]
 */
export function exchangeDesign(problem: DesignProblem): Design {
  const { budget, utility } = problem;
  let selection: number[] = [];
  let worth = utility(selection);
  const path = [{ cost: 0, utility: worth }];
  const costOf = (chosen: readonly number[]) => chosen.reduce((sum, k) => sum + problem.cost(k), 0);
  const fill = (isStart: boolean) => {
    for (;;) {
      const spent = costOf(selection);
      let best: { k: number; gain: number; rate: number } | undefined;
      for (let k = 0; k < problem.candidates; k++) {
        const cost = problem.cost(k);
        if (spent + cost > budget + 1e-9) continue;
        const gain = utility([...selection, k]) - worth;
        if (!best || gain / cost > best.rate) best = { k, gain, rate: gain / cost };
      }
      if (!best || !(best.gain > LEAST_GAIN * (1 + Math.abs(worth)))) return;
      selection = [...selection, best.k];
      worth += best.gain;
      if (isStart) path.push({ cost: spent + problem.cost(best.k), utility: worth });
    }
  };
  fill(true);
  for (let pass = 0; pass < PASSES; pass++) {
    let improved = false;
    for (let place = 0; place < selection.length; place++) {
      const rest = selection.filter((_, i) => i !== place);
      const spent = costOf(rest);
      let best = { k: selection[place], utility: worth };
      for (let k = 0; k < problem.candidates; k++) {
        if (k === selection[place] || spent + problem.cost(k) > budget + 1e-9) continue;
        const value = utility([...rest, k]);
        if (value > best.utility + LEAST_GAIN * (1 + Math.abs(worth))) best = { k, utility: value };
      }
      if (best.k === selection[place]) continue;
      selection = [...rest.slice(0, place), best.k, ...rest.slice(place)];
      worth = best.utility;
      improved = true;
    }
    fill(false);
    if (!improved) break;
  }
  return { selection, utility: worth, path };
}
