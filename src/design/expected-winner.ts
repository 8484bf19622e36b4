import { makeRandom } from '../lab/random.ts';
import { addDiagonal, cholesky } from '../numerics/matrix.ts';
import { decided, type Region } from './decision.ts';
import type { Ahead } from './expected-posterior.ts';
import { decidedNow, type PlanTask } from './plan-task.ts';
import type { Prospect } from './prospects.ts';

/** Draws by which the chance of an answer about the first place is found: a standard error of at most 1.1 points. */
const DRAWS = 2000;

/** What a plan is expected to answer: chance of being decided, and of being right, were the answer given at best estimate. */
export interface ExpectedAnswer {
  readonly answered: number;
  readonly right: number;
}

/**
 * The chance that the winner is decided after some planned runs, and that the cooler then named is the coolest, or within the margin of it; of a pair
 * the same of its two.
 *
 * Where each estimate will come to lie, and where the truth lies about it, is drawn; both follow from the posterior as it is now. The draws are the same
 * for every set of runs, so that sets are compared on common random numbers.
 */
export class ExpectedWinner {
  private readonly task: PlanTask;
  /** Places of the coolers among which the first place is. */
  private readonly members: readonly number[];
  private readonly draws: readonly (readonly { share: number; found: number; truth: number }[])[];

  constructor(task: PlanTask) {
    this.task = task;
    this.members = task.question.decision.pair ?? task.coolers.map((_, c) => c);
    const random = makeRandom(1).split('foreseen');
    this.draws = Array.from({ length: DRAWS }, () =>
      this.members.map(() => ({ share: random.uniform(), found: random.normal(), truth: random.normal() })),
    );
  }

  /** Mean over the loads. */
  after(ahead: Ahead): ExpectedAnswer {
    const loads = this.task.question.power_W.map((_, l) => this.at(ahead, l));
    const mean = (of: (one: ExpectedAnswer) => number) =>
      loads.reduce((sum, one) => sum + of(one), 0) / loads.length;
    return { answered: mean(({ answered }) => answered), right: mean(({ right }) => right) };
  }

  /**
   * Chances at one load that the question is answered and that the answer is right, by drawing estimates and
   * truths together.
   */
  private at(ahead: Ahead, l: number): ExpectedAnswer {
    const { members, task } = this;
    const { question } = task;
    const expectedRise = members.map((c) => ahead.expectedRises[c][l]);
    const moves = this.correlated(
      (a, b) => ahead.covariance(a, b, l).moves,
      expectedRise.map((o) => o.moves_K2),
    );
    const left = this.correlated(
      (a, b) => ahead.covariance(a, b, l).left,
      expectedRise.map((o) => o.left_K ** 2),
    );
    // A skew prospect is wider than what is left of the Gaussian: its own widths count, each on its side (a two-piece normal).
    const width = members.map((c, k) => {
      const multiple = question.critical(task.coolers[c].limitsNow[l].distribution.meanFreedom);
      const unit = multiple * Math.max(expectedRise[k].left_K, 1e-9);
      return expectedRise[k].prospects.map(({ down_K, up_K }) => ({ down: down_K / unit, up: up_K / unit }));
    });
    const regions = new Map<string, Region>();
    let answered = 0;
    let right = 0;
    for (const draw of this.draws) {
      const which = expectedRise.map(({ prospects }, k) => pick(prospects, draw[k].share));
      const offFound = moves(draw.map(({ found }) => found));
      const offTruth = left(draw.map(({ truth }) => truth));
      const found = expectedRise.map(({ prospects }, k) => prospects[which[k]].middle_K + offFound[k]);
      const truth = found.map((value, k) => {
        const { down, up } = width[k][which[k]];
        return value + (offTruth[k] < 0 ? down : up) * offTruth[k];
      });
      const first = least(found);
      if (truth[first] <= truth[least(truth)] + question.decision.margin_K) right++;
      const isDecided = members.every((c, other) => {
        if (other === first) return true;
        if (task.isBarred(members[first], c)) return false;
        const key = `${first} ${which[first]} ${other} ${which[other]}`;
        let region = regions.get(key);
        if (!region) {
          const two = [first, other].map((k) => expectedRise[k].prospects[which[k]]);
          region = ahead.region(members[first], c, l, two, 0);
          regions.set(key, region);
        }
        return decided(region, found[first] - found[other]) === 'a';
      });
      if (isDecided) answered++;
    }
    return { answered: this.isDecidedNow(l) ? 1 : answered / DRAWS, right: right / DRAWS };
  }

  /** Whether the runs there are decide it already: what is decided stays so. */
  private isDecidedNow(l: number): boolean {
    const { members, task } = this;
    const middle = (c: number): number => task.coolers[c].limitsNow[l].middle_K;
    const first = members.reduce((best, c) => (middle(c) < middle(best) ? c : best));
    return members.every(
      (c) => c === first || decidedNow(task, Math.min(first, c), Math.max(first, c), l) !== undefined,
    );
  }

  /** Turns independent draws into ones with these covariances; on the heater the coolers are independent. */
  private correlated(
    covariance: (a: number, b: number) => number,
    variance: readonly number[],
  ): (z: readonly number[]) => number[] {
    const size = variance.length;
    const deviation = variance.map(Math.sqrt);
    if (!this.task.question.posterior.term) return (z) => z.map((value, k) => value * deviation[k]);
    const factor = Float64Array.from({ length: size * size }, (_, k) => {
      const [a, b] = [Math.floor(k / size), k % size];
      return a === b ? variance[a] : covariance(this.members[a], this.members[b]);
    });
    // Where no run is planned nothing moves: a jitter far below any printed digit keeps the factor real.
    addDiagonal(factor, size, 1e-9);
    if (!cholesky(factor, size))
      throw new RangeError('expected winner: estimates have no covariance of their own');
    return (z) =>
      z.map((_, i) => {
        let sum = 0;
        for (let k = 0; k <= i; k++) sum += factor[i * size + k] * z[k];
        return sum;
      });
  }
}

/** Place of the least value. */
function least(values: readonly number[]): number {
  let first = 0;
  for (let k = 1; k < values.length; k++) if (values[k] < values[first]) first = k;
  return first;
}

/** Place at a share of the weights, which add to 1. */
function pick(prospects: readonly Prospect[], share: number): number {
  let sum = 0;
  for (let k = 0; k < prospects.length; k++) {
    sum += prospects[k].weight;
    if (share < sum) return k;
  }
  return prospects.length - 1;
}
