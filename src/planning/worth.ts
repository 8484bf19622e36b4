import type { Ahead } from './expected-posterior.ts';
import { aheadOf, isResolvedNow, type PlanTask } from './plan-task.ts';

/** What selections of visits are worth. */
export class Worth {
  private readonly task: PlanTask;
  /** Pairs that the runs there are leave untold at some load; the others are told, or cannot be ranked. */
  private readonly isOpen: readonly (readonly boolean[])[];

  constructor(task: PlanTask) {
    this.task = task;
    this.isOpen = task.coolers.map((_, a) =>
      task.coolers.map(
        (__, b) =>
          !task.isBarred(a, b) && task.question.power_W.some((___, l) => !isResolvedNow(task, a, b, l)),
      ),
    );
  }

  of(selection: readonly number[]): number {
    const ahead = this.after(selection);
    if (this.task.goal === 'order') return this.pairsAmong(ahead) + INFORMATION * this.information(ahead);
    let sum = 0;
    for (const loads of ahead.outlooks) {
      for (const { prospects } of loads) {
        for (const { weight, down_K, up_K } of prospects) sum -= (weight * (down_K + up_K)) / 2;
      }
    }
    return sum;
  }

  /** Expected number of pairs told apart, mean over the loads. */
  pairs(selection: readonly number[]): number {
    return this.pairsAmong(this.after(selection));
  }

  private after(selection: readonly number[]): Ahead {
    return aheadOf(
      this.task,
      selection.map((k) => this.task.visits[k]),
    );
  }

  private pairsAmong(ahead: Ahead): number {
    return this.overPairs((a, b, l) => (this.isOpen[a][b] ? ahead.chance(a, b, l) : 1));
  }

  /** How well the differences that are not told apart will be known, mean over the loads, nats. */
  private information(ahead: Ahead): number {
    return this.overPairs((a, b, l) => (this.isOpen[a][b] ? -0.5 * Math.log(ahead.variance(a, b, l)) : 0));
  }

  /** Sum over the pairs of the mean over the loads. */
  private overPairs(of: (a: number, b: number, l: number) => number): number {
    const { coolers, question } = this.task;
    const loads = question.power_W.length;
    let sum = 0;
    for (let a = 0; a < coolers.length; a++) {
      for (let b = a + 1; b < coolers.length; b++) {
        for (let l = 0; l < loads; l++) sum += of(a, b, l) / loads;
      }
    }
    return sum;
  }
}

/**
 * Worth in pairs told apart of the difference of an open pair known e times better. The chances rest on what is believed now and a plan that trusts them
 * wholly is the worse for it; this keeps hours on all that is open.
 */
const INFORMATION = 0.3;
