import { type ChipPlan, runsOnChip } from './chip-plan.ts';
import { chanceResolved, type Outlook } from './outlook.ts';
import { isResolvedNow, learntScatter, outlookFor, type PlanTask } from './plan-task.ts';
import { freedomOf } from './scatter-learning.ts';

/** What selections of visits are worth. */
export interface Worth {
  of(selection: readonly number[]): number;
  /** Expected number of pairs told apart, mean over the loads. */
  pairs(selection: readonly number[]): number;
}

export function worthFor(task: PlanTask): Worth {
  return task.chip ? new ChipWorth(task, task.chip) : new HeaterWorth(task);
}

/** Pairs, by i·coolers + j, that the runs there are leave untold at some load; the others are told, or cannot be ranked. */
function openPairs(task: PlanTask): boolean[] {
  return task.coolers.flatMap((_, i) =>
    task.coolers.map(
      (_, j) =>
        i < j && !task.isBarred(i, j) && task.question.power_W.some((_, l) => !isResolvedNow(task, i, j, l)),
    ),
  );
}

/** On a chip: all coolers together, since a run of one tells of the term that the others have too. */
class ChipWorth implements Worth {
  private readonly task: PlanTask;
  private readonly chip: ChipPlan;
  private readonly isOpen: boolean[];

  constructor(task: PlanTask, chip: ChipPlan) {
    this.task = task;
    this.chip = chip;
    this.isOpen = openPairs(task);
  }

  of(selection: readonly number[]): number {
    const { task, chip } = this;
    const after = this.after(selection);
    if (task.goal === 'order') return this.pairsAmong(after) + INFORMATION * this.information(after);
    let sum = 0;
    for (const c of chip.foreseen) {
      task.question.power_W.forEach((_, l) => {
        sum -= task.multiple * (chip.deviation(after, c, l) as number);
      });
    }
    return sum;
  }

  pairs(selection: readonly number[]): number {
    return this.pairsAmong(this.after(selection));
  }

  private after(selection: readonly number[]): Float64Array {
    const { visits, coolers } = this.task;
    return this.chip.after(
      runsOnChip(
        selection.map((k) => visits[k]),
        coolers,
      ),
    );
  }

  private pairsAmong(after: Float64Array): number {
    return this.overPairs((i, j, l) => {
      if (!this.isOpen[i * this.task.coolers.length + j]) return 1;
      return this.chip.chance(after, i, j, l) ?? 0;
    });
  }

  /** As {@link HeaterWorth} has it. */
  private information(after: Float64Array): number {
    return this.overPairs((i, j, l) => {
      const variance = this.chip.variance(after, i, j, l);
      const isOpen = this.isOpen[i * this.task.coolers.length + j];
      return isOpen && variance !== undefined ? -0.5 * Math.log(variance) : 0;
    });
  }

  /** Sum over the pairs of the mean over the loads. */
  private overPairs(of: (i: number, j: number, l: number) => number): number {
    const { coolers, question } = this.task;
    let sum = 0;
    for (let i = 0; i < coolers.length; i++) {
      for (let j = i + 1; j < coolers.length; j++) {
        for (let l = 0; l < question.power_W.length; l++) sum += of(i, j, l) / question.power_W.length;
      }
    }
    return sum;
  }
}

/** On the heater: each cooler's outlook and each pair's chance worked out once. */
class HeaterWorth implements Worth {
  private readonly task: PlanTask;
  private readonly states = new Map<string, number>();
  private readonly outlooks: (readonly Outlook[])[] = [];
  private readonly chances = new Map<string, number>();

  private readonly isOpen: boolean[];

  constructor(task: PlanTask) {
    this.task = task;
    this.isOpen = openPairs(task);
  }

  of(selection: readonly number[]): number {
    const states = this.statesOf(selection);
    if (this.task.goal === 'prediction') {
      let sum = 0;
      for (const state of states) for (const outlook of this.outlooks[state]) sum -= spreadOf(outlook);
      return sum;
    }
    return this.pairsAmong(states) + INFORMATION * this.information(states);
  }

  pairs(selection: readonly number[]): number {
    return this.pairsAmong(this.statesOf(selection));
  }

  private statesOf(selection: readonly number[]): number[] {
    const { coolers, visits } = this.task;
    const chosen = coolers.map(() => [] as number[]);
    for (const k of selection) chosen[visits[k].cooler].push(k);
    return chosen.map((list, c) => this.stateOf(c, list));
  }

  private pairsAmong(states: readonly number[]): number {
    let sum = 0;
    const covariance = learntScatter(
      this.task,
      states.map((state) => this.outlooks[state]),
    );
    for (let i = 0; i < states.length; i++) {
      for (let j = i + 1; j < states.length; j++) {
        sum += this.isOpen[i * states.length + j] ? this.chanceOf(states[i], states[j], covariance) : 1;
      }
    }
    return sum;
  }

  /** How well the differences that are not told apart will be known, mean over the loads, nats. */
  private information(states: readonly number[]): number {
    let sum = 0;
    for (let i = 0; i < states.length; i++) {
      for (let j = i + 1; j < states.length; j++) {
        if (!this.isOpen[i * states.length + j]) continue;
        const first = this.outlooks[states[i]];
        const second = this.outlooks[states[j]];
        first.forEach((one, l) => {
          sum -= Math.log(Math.hypot(one.left_K, second[l].left_K)) / first.length;
        });
      }
    }
    return sum;
  }

  private stateOf(cooler: number, list: number[]): number {
    const { task } = this;
    list.sort((a, b) => a - b);
    const key = `${cooler}:${list.join()}`;
    let state = this.states.get(key);
    if (state === undefined) {
      const visits = list.map((k) => task.visits[k]);
      state = this.outlooks.push(outlookFor(task, cooler, visits)) - 1;
      this.states.set(key, state);
    }
    return state;
  }

  /** Over the loads of the question, the mean chance. */
  private chanceOf(a: number, b: number, covariance: Float64Array): number {
    const first = this.outlooks[a];
    const second = this.outlooks[b];
    const after = first.map((one, l) => ({
      a: rounded(freedomOf(one.scatterShares, covariance)),
      b: rounded(freedomOf(second[l].scatterShares, covariance)),
    }));
    const key = `${a},${b},${after.map((at) => `${at.a},${at.b}`).join()}`;
    let chance = this.chances.get(key);
    if (chance === undefined) {
      const { question } = this.task;
      chance = 0;
      first.forEach((one, l) => {
        chance! += chanceResolved(one, second[l], question, after[l]) / first.length;
      });
      this.chances.set(key, chance);
    }
    return chance;
  }
}

/** Degrees of freedom to the nearest twentieth of themselves: finer changes no plan, and what was worked out before can be used again. */
function rounded(freedom: number): number {
  return Number.isFinite(freedom) ? Math.exp(Math.round(Math.log(freedom) * 20) / 20) : freedom;
}

/**
 * Worth in pairs told apart of the difference of an open pair known e times better. The chances rest on what is believed now and a plan that trusts them
 * wholly is the worse for it; this keeps hours on all that is open.
 */
const INFORMATION = 0.3;

/** Expected half-width of a prediction, K. */
function spreadOf({ prospects }: Outlook): number {
  return prospects.reduce((sum, { weight, down_K, up_K }) => sum + (weight * (down_K + up_K)) / 2, 0);
}
