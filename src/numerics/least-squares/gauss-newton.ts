/**
 * The near phase: Gauss–Newton steps by QR, and the test that ends every fit.
 *
 * Near a minimum the sum of squares is flat: a parameter wrong by 10⁻⁸ of its standard error changes it by 10⁻¹⁶, which
 * rounding hides. So neither a small step nor a small fall says that a fit has converged. Bates and Watts ask instead how
 * much of the residual the parameters could still remove: with A = Q·R of the Jacobian, the residual splits into a part
 * in the tangent plane (Q₁ᵀr) and one normal to it (Q₂ᵀr). Their ratio, each per degree of freedom,
 * is the distance to the minimum in units of the confidence region. It has no units and does not care how the
 * parameters are scaled. Steps go on until it falls no further, which takes it to rounding.
 *
 * Where the data are fitted exactly the normal part is rounding error itself, and the ratio says nothing; there the
 * tangent part is held against what rounding makes of residuals of this size.
 *
 * Source: Bates and Watts (1988), Nonlinear Regression Analysis and Its Applications, 2.2.3.
 */
import { qrPivoted, solveUpperPivoted } from '../orthogonal.ts';
import { evaluatePoint, freeParameters, newPoint, type Point, swapPoints } from './levenberg.ts';
import type { FreeProblem } from './problem.ts';

/** Columns of a Jacobian scaled to unit length whose QR diagonal falls below this are not told apart by the data. */
export const RANK_TOLERANCE = 1e-12;
/** The relative offset below which a fit has converged, if rounding does not end it sooner. */
const OFFSET_TOLERANCE = 1e-7;
/**
 * The same where no step lowers the sum of squares any more: 1e-5 of the confidence region, a hundredth of what Bates
 * and Watts ask. Whitening by an ill-conditioned covariance and a bound close by can end the steps that soon.
 */
const OFFSET_AT_STANDSTILL = 1e-5;

export type NearEnd = 'settled' | 'away' | 'budget';

/** Where the near phase ended. */
export interface Tangent {
  /** Relative offset of Bates and Watts. */
  offset: number;
  /** ‖Q₁ᵀr‖ and what rounding makes of it. */
  tangent: number;
  floor: number;
  /** ‖Q₂ᵀr‖. */
  normal: number;
  rank: number;
  /** Parameters not held by a bound. */
  free: number[];
  /** The Gauss–Newton step from here, by parameter. */
  step: Float64Array;
}

/** Storage of the near phase, made once for a problem. */
export class GaussNewton {
  readonly tangent: Tangent;
  private readonly problem: FreeProblem;
  private readonly trial: Point;
  private readonly before: Point;
  private readonly a: Float64Array;
  private readonly b: Float64Array;
  private readonly norms: Float64Array;
  private readonly scaled: Float64Array;
  private readonly pivots: Int32Array;

  constructor(problem: FreeProblem, trial: Point) {
    this.problem = problem;
    this.trial = trial;
    this.before = newPoint(problem);
    this.a = new Float64Array(problem.rows * problem.size);
    this.b = new Float64Array(problem.rows);
    this.norms = new Float64Array(problem.size);
    this.scaled = new Float64Array(problem.size);
    this.pivots = new Int32Array(problem.size);
    this.tangent = {
      offset: Number.POSITIVE_INFINITY,
      tangent: Number.POSITIVE_INFINITY,
      floor: 0,
      normal: 0,
      rank: 0,
      free: [],
      step: new Float64Array(problem.size),
    };
  }

  /** Steps from `point` (moved) until the offset is at its floor, or the steps prove to be no good from here. */
  polish(point: Point, steps: number): NearEnd {
    const { problem, tangent, trial, before } = this;
    let lastTangent = Number.POSITIVE_INFINITY;
    let lastOffset = Number.POSITIVE_INFINITY;
    let blind = false;
    for (let k = 0; k <= steps; k++) {
      this.look(point);
      if (blind && !(tangent.tangent < lastTangent)) {
        swapPoints(point, before);
        this.look(point);
        return this.standsStill() ? 'settled' : 'away';
      }
      if (tangent.free.length === 0 || tangent.tangent === 0) return 'settled';
      if (tangent.offset <= (problem.enough ?? 0)) return 'settled';
      if (tangent.offset < 1e-13 && tangent.offset > lastOffset * 0.3) return 'settled';
      if (k === steps) break;
      if (problem.budget.used >= problem.budget.limit) return this.ended() ? 'settled' : 'budget';
      lastTangent = tangent.tangent;
      lastOffset = tangent.offset;
      const share = this.tryStep(point);
      if (share === 0) return this.standsStill() ? 'settled' : 'away';
      const known = trial.ssr < point.ssr * (1 - 1e-10);
      if (share < 0.3 && !this.ended() && k > 3) return 'away';
      blind = !known;
      swapPoints(point, before);
      swapPoints(point, trial);
    }
    return this.ended() ? 'settled' : 'away';
  }

  /** True where the parameters could remove no more of the residual than the tolerance, or than rounding. */
  ended(): boolean {
    const { tangent, floor, offset, free } = this.tangent;
    return free.length === 0 || offset <= OFFSET_TOLERANCE || tangent <= floor;
  }

  /** As `ended`, where no step leads on. */
  private standsStill(): boolean {
    return this.ended() || this.tangent.offset <= OFFSET_AT_STANDSTILL;
  }

  /** Splits the residual at a point into its tangent and normal parts and finds the Gauss–Newton step. */
  look(point: Point): void {
    const { problem, a, b, norms, scaled, pivots, tangent } = this;
    const { rows, size } = problem;
    const { free } = tangent;
    const count = freeParameters(problem, point, free);
    let reach = problem.dataNorm + Math.sqrt(point.ssr);
    for (let k = 0; k < count; k++) {
      const j = free[k];
      let norm = 0;
      for (let i = 0; i < rows; i++) norm += point.jacobian[i * size + j] * point.jacobian[i * size + j];
      norm = Math.sqrt(norm);
      reach += norm * Math.max(Math.abs(point.p[j]), problem.scale[j] * 1e-6);
      norms[k] = norm > 0 ? norm : 1;
    }
    for (let i = 0; i < rows; i++) {
      for (let k = 0; k < count; k++) a[i * count + k] = point.jacobian[i * size + free[k]] / norms[k];
      b[i] = -point.r[i];
    }
    tangent.floor = 4 * Number.EPSILON * reach;
    tangent.step.fill(0);
    tangent.rank = count === 0 ? 0 : qrPivoted(a, rows, count, pivots, b, 1, RANK_TOLERANCE);
    let inside = 0;
    let outside = 0;
    for (let i = 0; i < rows; i++) {
      if (i < tangent.rank) inside += b[i] * b[i];
      else outside += b[i] * b[i];
    }
    tangent.tangent = Math.sqrt(inside);
    tangent.normal = Math.sqrt(outside);
    const freedom = rows - tangent.rank;
    tangent.offset =
      freedom > 0 && outside > 0
        ? Math.sqrt(inside / Math.max(tangent.rank, 1) / (outside / freedom))
        : inside > 0
          ? Number.POSITIVE_INFINITY
          : 0;
    if (tangent.rank > 0) {
      const step = scaled.subarray(0, count);
      solveUpperPivoted(a, count, tangent.rank, pivots, b, step);
      for (let k = 0; k < count; k++) tangent.step[free[k]] = step[k] / norms[k];
    }
  }

  /** Tries the step, shortened until it does no harm; returns the share of it taken, 0 for none. */
  private tryStep(point: Point): number {
    const { problem, trial, tangent } = this;
    const slack = point.ssr * 1e-11 + tangent.floor * tangent.floor;
    for (let share = 1; share > 0.01; share *= share === 1 ? 0.5 : 0.25) {
      const hit = share === 1 ? 1 : Math.min(1, this.firstBound(point));
      let moved = false;
      for (let j = 0; j < problem.size; j++) {
        const next = point.p[j] + share * hit * tangent.step[j];
        trial.p[j] = Math.min(Math.max(next, problem.low[j]), problem.high[j]);
        if (trial.p[j] !== point.p[j]) moved = true;
      }
      if (!moved) return 0;
      if (evaluatePoint(problem, trial) && trial.ssr <= point.ssr + slack) return share;
    }
    return 0;
  }

  /** Share of the step at which the first bound is met. */
  private firstBound(point: Point): number {
    const { low, high, size } = this.problem;
    let share = 1;
    for (let j = 0; j < size; j++) {
      const h = this.tangent.step[j];
      const room = h > 0 ? high[j] - point.p[j] : point.p[j] - low[j];
      if (Math.abs(h) > room && room > 0) share = Math.min(share, room / Math.abs(h));
    }
    return share;
  }
}
