/**
 * From one start to the minimum it leads to: the far phase and the near phase in turn, first in the nonlinear
 * parameters alone where the problem is separable, then in all.
 */
import { type Diagnosis, diagnose } from './diagnosis.ts';
import { GaussNewton } from './gauss-newton.ts';
import { evaluatePoint, LevenbergStepper, newPoint, type Point } from './levenberg.ts';
import type { FreeProblem } from './problem.ts';
import { type SeparableProblem, separate } from './separable.ts';

export type LocalEnd = 'settled' | 'stalled' | 'budget' | 'undefined';

/** Where a start led. */
export interface Candidate {
  readonly p: Float64Array;
  readonly ssr: number;
  readonly end: LocalEnd;
  readonly offset: number;
  /** Sum of squares that is rounding error only. */
  readonly floor: number;
  readonly free: readonly number[];
  readonly diagnosis: Diagnosis;
  readonly point: Point;
  /**
   * Nonlinear parameters (indices) that were still moving by more than a thousandth of themselves, or that rounding
   * alone moves by as much, or that have shrunk to nothing and taken the difference between the columns of the Jacobian
   * with them: they have run to where the model no longer depends on them.
   */
  readonly running: readonly number[];
  /** A minimum at which every free parameter is told by the data. */
  readonly healthy: boolean;
}

/** Damped steps allowed from one start. */
export const STEPS = 200;
const POLISH_STEPS = 120;

/** Descends within one problem. Owns its storage: one descent at a time. */
class Descender {
  readonly problem: FreeProblem;
  readonly stepper: LevenbergStepper;
  readonly near: GaussNewton;

  constructor(problem: FreeProblem) {
    this.problem = problem;
    this.stepper = new LevenbergStepper(problem);
    this.near = new GaussNewton(problem, this.stepper.trial);
  }

  /** Moves an evaluated point to where it leads. */
  settle(point: Point, steps: number, polish: number): LocalEnd {
    if (this.problem.isNear && this.near.polish(point, polish) === 'settled') return 'settled';
    this.stepper.reset();
    let nearness = 1e-2;
    for (let round = 0; round < 6; round++) {
      const far = this.stepper.descend(point, steps, nearness);
      if (polish === 0) return far === 'near' ? 'settled' : far;
      const near = this.near.polish(point, polish);
      if (near === 'settled') return 'settled';
      if (near === 'budget' || far === 'budget') return 'budget';
      if (far === 'stalled') return 'stalled';
      nearness *= 1e-2;
    }
    return 'stalled';
  }
}

/** Fits one problem from as many starts as wanted. */
export class LocalFitter {
  readonly separable: SeparableProblem | undefined;
  /** Parameters (indices) that have to be searched for. */
  readonly nonlinear: readonly number[];
  private readonly problem: FreeProblem;
  private readonly linear: readonly number[];
  private readonly full: Descender;
  private readonly reduced: Descender | undefined;
  private readonly scratch: Float64Array;

  constructor(problem: FreeProblem, linear: readonly number[]) {
    this.problem = problem;
    this.linear = linear;
    this.nonlinear = Array.from({ length: problem.size }, (_, j) => j).filter((j) => !linear.includes(j));
    this.full = new Descender(problem);
    this.scratch = new Float64Array(problem.rows);
    if (linear.length > 0) {
      this.separable = separate(problem, linear);
      if (linear.length < problem.size) this.reduced = new Descender(this.separable.reduced);
    }
  }

  /** Sum of squares at a start, with the best linear parameters where the problem is separable; NaN: not defined. */
  sumOfSquaresAt(start: Float64Array): number {
    if (!this.separable) return this.problem.evaluate(start, this.scratch, undefined);
    return this.separable.reduced.evaluate(this.separable.restrict(start), this.scratch, undefined);
  }

  /** The minimum that a start leads to. */
  fit(start: Float64Array, steps: number): Candidate {
    const projected = this.projectedStart(start, steps);
    const first = projected && this.descend(projected, steps);
    if (first?.healthy) return first;
    const second = this.descend(start, steps);
    if (!first || second.healthy) return second;
    return first.ssr <= second.ssr ? first : second;
  }

  /**
   * A start improved in the nonlinear parameters alone, with the best linear ones put in; `undefined` where
   * the problem has no linear part or the way fails.
   */
  private projectedStart(start: Float64Array, steps: number): Float64Array | undefined {
    if (!this.separable) return undefined;
    const { reduced, restrict, lift } = this.separable;
    let at = restrict(start);
    if (this.reduced) {
      const point = newPoint(reduced);
      point.p.set(at);
      if (!evaluatePoint(reduced, point)) return undefined;
      this.reduced.settle(point, steps, 0);
      at = point.p;
    }
    const lifted = lift(at);
    if (!lifted) return undefined;
    const { low, high } = this.problem;
    return lifted.map((value, j) => Math.min(Math.max(value, low[j]), high[j]));
  }

  /**
   * Steps downhill from a start, then the local diagnosis there: which parameters are free, their covariance,
   * what the data do not tell.
   */
  private descend(start: Float64Array, steps: number): Candidate {
    const { problem, full } = this;
    const point = newPoint(problem);
    point.p.set(start);
    const sound = evaluatePoint(problem, point);
    const end = sound ? full.settle(point, steps, POLISH_STEPS) : 'undefined';
    if (sound) full.near.look(point);
    const { tangent } = full.near;
    const free = sound ? tangent.free.slice() : [];
    const diagnosis = sound
      ? diagnose(problem, point, free)
      : { covariance: new Float64Array(problem.size ** 2), untold: [], condition: Number.NaN };
    const noise = end === 'settled' ? this.roundingNoise(point) : 0;
    const running = free.filter((j) => {
      if (this.linear.includes(j)) return false;
      const size = Math.max(Math.abs(point.p[j]), 1e-3 * problem.scale[j]);
      if (Math.abs(tangent.step[j]) > 1e-3 * size && tangent.tangent > 0) return true;
      const shrunk = Math.abs(point.p[j]) < 1e-6 * problem.scale[j];
      if (shrunk && diagnosis.condition > 1e7) return true;
      return noise * Math.sqrt(diagnosis.covariance[j * (problem.size + 1)]) > 1e-3 * size;
    });
    return {
      p: point.p,
      ssr: sound ? point.ssr : Number.POSITIVE_INFINITY,
      end,
      offset: tangent.offset,
      floor: tangent.floor ** 2,
      free,
      diagnosis,
      point,
      running,
      healthy: end === 'settled' && diagnosis.untold.length === 0 && running.length === 0,
    };
  }

  /**
   * Norm of the rounding error in the residuals: what is left of their change, under a move too small to bend the
   * model, when the change by the Jacobian is taken off. Where large terms cancel it is far above that of the data.
   */
  private roundingNoise(point: Point): number {
    const { problem, scratch } = this;
    const { rows, size } = problem;
    const moved = point.p.map((value) => value * (1 + 2 ** -40));
    if (!Number.isFinite(problem.evaluate(moved, scratch, undefined))) return 0;
    let sum = 0;
    for (let i = 0; i < rows; i++) {
      let change = scratch[i] - point.r[i];
      for (let j = 0; j < size; j++) change -= point.jacobian[i * size + j] * (moved[j] - point.p[j]);
      sum += change * change;
    }
    return Math.sqrt(sum);
  }
}
