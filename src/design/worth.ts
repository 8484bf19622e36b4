import { bestProbabilities } from '../compare/best-probability.ts';
import { ownAndApart } from '../compare/rise-limits.ts';
import type { Ahead } from './expected-posterior.ts';
import { aheadOf, decidedNow, type PlanTask } from './plan-task.ts';

/** From where a plan goes on: what is decided, and how likely each cooler is the coolest at a load. */
export interface Stand {
  isDecided(a: number, b: number, l: number): boolean;
  best(l: number): readonly number[];
}

/** A comparison that is not decided yet, and what it counts for. */
interface OpenPair {
  readonly a: number;
  readonly b: number;
  readonly l: number;
  /** Of its being decided, and of its difference being known e times better. */
  readonly weight: number;
  readonly known: number;
}

/**
 * What selections of visits are worth for the goal: for `prediction` the width of what is predicted, else the sum over the open comparisons of
 * weight × (chance of being decided), and a little for each being known better.
 *
 * Weights are one for every pair where the order is asked for, and for the pair alone where that is. For the winner a comparison counts by
 * the chance that one of its two is the coolest, and knowing it better by the chance that the two are the coolest and the next, by the
 * order of chances (Plackett 1975, Applied Statistics 24, 193), so that hours go where the first place is open.
 */
export class Worth {
  private readonly task: PlanTask;
  /** What counts, and what counts for next to nothing. */
  private readonly open: readonly OpenPair[];
  private readonly passedOver: readonly OpenPair[];
  /** Comparisons decided by the runs there are, mean over the loads. */
  private readonly settled: number;
  /** Chance of each open comparison and what it counted for when last looked at, and the marks of each cooler at each load then. */
  private readonly chances: Float64Array;
  private readonly terms: Float64Array;
  private readonly marks: Float64Array;

  constructor(task: PlanTask, stand: Stand = byTheRuns(task)) {
    this.task = task;
    const { coolers, question } = task;
    const { goal, pair } = question.decision;
    const loads = question.power_W.length;
    const open: OpenPair[] = [];
    let settled = 0;
    for (let l = 0; l < loads; l++) {
      const best = goal === 'winner' ? stand.best(l) : [];
      for (let a = 0; a < coolers.length; a++) {
        for (let b = a + 1; b < coolers.length; b++) {
          if (pair ? a !== pair[0] || b !== pair[1] : false) continue;
          if (task.isBarred(a, b)) continue;
          if (stand.isDecided(a, b, l)) {
            settled += 1 / loads;
            continue;
          }
          const both =
            goal === 'winner'
              ? best[a] * best[b] * (1 / Math.max(1 - best[a], 1e-6) + 1 / Math.max(1 - best[b], 1e-6))
              : 1;
          open.push({
            a,
            b,
            l,
            weight: (goal === 'winner' ? best[a] + best[b] : 1) / loads,
            known: (INFORMATION * both) / loads,
          });
        }
      }
    }
    this.open = open.filter(({ weight, known }) => weight + known >= LEAST_WEIGHT);
    this.passedOver = open.filter(({ weight, known }) => weight + known < LEAST_WEIGHT);
    this.settled = settled;
    this.chances = new Float64Array(this.open.length);
    this.terms = new Float64Array(this.open.length);
    this.marks = new Float64Array(coolers.length * loads).fill(Number.NaN);
  }

  /** Worth of some visits. */
  of(selection: readonly number[]): number {
    return this.ofAhead(this.after(selection));
  }

  /**
   * The same of what they would leave: comparisons decided, each with its weight, and a little for every
   * variance that shrinks.
   */
  ofAhead(ahead: Ahead): number {
    if (this.task.question.decision.goal === 'prediction') return -this.width(ahead);
    this.look(ahead);
    let sum = 0;
    for (const term of this.terms) sum += term;
    return sum;
  }

  /** Expected number of comparisons that are decided, mean over the loads. */
  decided(ahead: Ahead): number {
    this.look(ahead);
    const loads = this.task.question.power_W.length;
    const passedOver = this.passedOver.map(({ a, b, l }) => ahead.decidedChance(a, b, l));
    return [...this.chances, ...passedOver].reduce((sum, chance) => sum + chance / loads, this.settled);
  }

  /** Most evaluations change one cooler: only the comparisons that it is part of are looked at again. */
  private look(ahead: Ahead): void {
    const { marks, open } = this;
    const loads = this.task.question.power_W.length;
    const isNew = marks.map((mark, at) => {
      marks[at] = ahead.mark(Math.floor(at / loads), at % loads);
      return marks[at] === mark ? 0 : 1;
    });
    for (let k = 0; k < open.length; k++) {
      const { a, b, l, weight, known } = open[k];
      if (isNew[a * loads + l] === 0 && isNew[b * loads + l] === 0) continue;
      this.chances[k] = ahead.decidedChance(a, b, l);
      this.terms[k] = weight * this.chances[k] - 0.5 * known * Math.log(ahead.variance(a, b, l));
    }
  }

  /** What some visits would leave. */
  after(selection: readonly number[]): Ahead {
    return aheadOf(
      this.task,
      selection.map((k) => this.task.visits[k]),
    );
  }

  /** Half-widths of all predictions, K. */
  private width({ expectedRises }: Ahead): number {
    let sum = 0;
    for (const loads of expectedRises) {
      for (const { prospects } of loads) {
        for (const { weight, down_K, up_K } of prospects) sum += (weight * (down_K + up_K)) / 2;
      }
    }
    return sum;
  }
}

/** How things stand by the runs so far. */
function byTheRuns(task: PlanTask): Stand {
  return {
    isDecided: (a, b, l) => decidedNow(task, a, b, l) !== undefined,
    best: (l) => bestChances(task, l),
  };
}

/** Chance that each cooler is the coolest at a load, by the runs there are. */
export function bestChances({ coolers, question }: PlanTask, l: number): number[] {
  return bestProbabilities(
    ownAndApart(
      coolers.map((one) => one.limitsNow[l]),
      question,
    ),
  );
}

/**
 * Worth in comparisons decided of the difference of an open pair known e times better. The chances rest on what is believed now and a plan that trusts
 * them wholly is the worse for it; this keeps hours on all that is open.
 */
const INFORMATION = 0.3;
/** Comparisons that count for less are passed over. */
const LEAST_WEIGHT = 1e-4;
