/**
 * The far phase: Levenberg's damped steps until the sum of squares stops falling by much.
 *
 * Each step is one call of ml-levenberg-marquardt. Left to itself that package damps with an unscaled identity (so the
 * answer depends on the units), keeps steps that made the fit worse, and stops only at an absolute error. So it is
 * given one iteration at a time on a problem made dimensionless: parameters in units of their Jacobian column's norm
 * (its identity then is Marquardt's and Moré's scaling), residuals in units of their own norm. Whether to keep the
 * step and what the damping is next (Nielsen 1999) is decided here. Model values are remembered between the
 * calls, so a step costs one evaluation.
 *
 * Sources: Moré (1978), Lecture Notes in Mathematics 630, 105; Nielsen (1999), report IMM-REP-1999-05.
 */
import { levenbergMarquardt } from 'ml-levenberg-marquardt';
import type { FreeProblem } from './problem.ts';

/** A point with its residuals (rows), Jacobian (rows × size) and sum of squares. */
export interface Point {
  p: Float64Array;
  r: Float64Array;
  jacobian: Float64Array;
  ssr: number;
}

/** Storage for a point with its residuals and Jacobian. */
export function newPoint(problem: FreeProblem): Point {
  return {
    p: new Float64Array(problem.size),
    r: new Float64Array(problem.rows),
    jacobian: new Float64Array(problem.rows * problem.size),
    ssr: Number.NaN,
  };
}

/** Fills r, the Jacobian and the sum of squares; false where any of them is not finite. */
export function evaluatePoint(problem: FreeProblem, point: Point): boolean {
  point.ssr = problem.evaluate(point.p, point.r, point.jacobian);
  if (!Number.isFinite(point.ssr)) return false;
  const { jacobian } = point;
  for (let i = 0; i < jacobian.length; i++) {
    if (!Number.isFinite(jacobian[i])) {
      point.ssr = Number.NaN;
      return false;
    }
  }
  return true;
}

/** Exchanges what two points hold, so that nothing is copied. */
export function swapPoints(a: Point, b: Point): void {
  const { p, r, jacobian, ssr } = a;
  a.p = b.p;
  a.r = b.r;
  a.jacobian = b.jacobian;
  a.ssr = b.ssr;
  b.p = p;
  b.r = r;
  b.jacobian = jacobian;
  b.ssr = ssr;
}

/** Marks the parameters that sit on a bound which the gradient pushes them against; returns how many are free. */
export function freeParameters(problem: FreeProblem, point: Point, free: number[]): number {
  const { low, high, size, rows } = problem;
  const { p, r, jacobian } = point;
  free.length = 0;
  for (let j = 0; j < size; j++) {
    const atLow = p[j] <= low[j];
    if (atLow || p[j] >= high[j]) {
      let gradient = 0;
      for (let i = 0; i < rows; i++) gradient += jacobian[i * size + j] * r[i];
      if (low[j] === high[j] || (atLow ? gradient >= 0 : gradient <= 0)) continue;
    }
    free.push(j);
  }
  return free.length;
}

export type FarEnd = 'near' | 'stalled' | 'budget';

/** Storage of the stepping core, made once for a problem. */
export class LevenbergStepper {
  readonly trial: Point;
  private readonly problem: FreeProblem;
  private readonly scale: Float64Array;
  private readonly norms: Float64Array;
  private readonly running: Float64Array;
  private readonly index: Float64Array;
  private readonly zeros: Float64Array;
  private readonly free: number[] = [];
  private damping = 1e-3;

  constructor(problem: FreeProblem) {
    this.problem = problem;
    this.trial = newPoint(problem);
    this.scale = new Float64Array(problem.size);
    this.norms = new Float64Array(problem.size);
    this.running = new Float64Array(problem.size);
    const length = Math.max(problem.rows, 2);
    this.index = Float64Array.from({ length }, (_, i) => i);
    this.zeros = new Float64Array(length);
  }

  /** Forgets the damping and the scales of an earlier start. */
  reset(): void {
    this.damping = 1e-3;
    this.running.fill(0);
  }

  /**
   * Steps until a step lowers the sum of squares by less than `nearness` of itself ('near'), no step lowers it
   * ('stalled') or the steps are used up ('budget').
   */
  descend(point: Point, steps: number, nearness: number): FarEnd {
    const { problem, trial } = this;
    let growth = 2;
    let quiet = 0;
    for (let k = 0; k < steps; k++) {
      if (problem.budget.used >= problem.budget.limit) return 'budget';
      if (point.ssr === 0) return 'near';
      if (freeParameters(problem, point, this.free) === 0) return 'near';
      this.updateScale(point);
      const predicted = this.step(point);
      const gain = (point.ssr - trial.ssr) / (point.ssr * predicted);
      if (trial.ssr < point.ssr) {
        const fall = (point.ssr - trial.ssr) / point.ssr;
        swapPoints(point, trial);
        this.damping *= Math.max(1 / 5, 1 - (2 * Math.min(gain, 1) - 1) ** 3);
        this.damping = Math.max(this.damping, 1e-11);
        growth = 2;
        quiet = fall < nearness ? quiet + 1 : 0;
        if (quiet > 0 && (gain > 0.5 || quiet > 2)) return 'near';
      } else {
        this.damping *= growth;
        growth *= 2;
        if (!(this.damping < 1e16) || predicted < Number.EPSILON) return 'stalled';
      }
    }
    return 'budget';
  }

  /**
   * Scales of the parameters: the norms of the Jacobian's columns, each falling by no more than half a step
   * (Moré 1978).
   */
  private updateScale(point: Point): void {
    const { rows, size } = this.problem;
    const { norms, scale, running } = this;
    norms.fill(0);
    for (let i = 0, at = 0; i < rows; i++) {
      for (let j = 0; j < size; j++, at++) norms[j] += point.jacobian[at] * point.jacobian[at];
    }
    for (let j = 0; j < size; j++) {
      running[j] = Math.max(Math.sqrt(norms[j]), running[j] / 2);
      scale[j] = running[j] > 0 ? running[j] : 1;
    }
  }

  /** One call of the package. Leaves the trial evaluated; returns the predicted fall as a fraction. */
  private step(point: Point): number {
    const { problem, trial, free, scale, index, zeros } = this;
    const { size, rows, low, high } = problem;
    const norm = Math.sqrt(point.ssr);
    const unit = (k: number) => norm / scale[free[k]];
    const start = free.map((j, k) => point.p[j] / unit(k));
    const partials = new Array<number>(free.length);
    trial.ssr = Number.NaN;
    trial.p.set(point.p);

    const residualsAt = (u: number[]): Float64Array => {
      if (u.every((value, k) => value === start[k])) return point.r;
      for (let k = 0; k < free.length; k++) {
        const j = free[k];
        trial.p[j] = Math.min(Math.max(u[k] * unit(k), low[j]), high[j]);
      }
      evaluatePoint(problem, trial);
      return trial.r;
    };
    const jacobianAt = (i: number): number[] => {
      for (let k = 0; k < free.length; k++) {
        const j = free[k];
        partials[k] = i < rows ? point.jacobian[i * size + j] / scale[j] : 0;
      }
      return partials;
    };
    levenbergMarquardt(
      { x: index, y: zeros },
      (u) => {
        const r = residualsAt(u);
        return (i) => (i < rows ? r[i] / norm : 0);
      },
      {
        initialValues: start,
        damping: this.damping,
        maxIterations: 1,
        errorTolerance: 0,
        jacobianFunction: () => jacobianAt,
        minValues: free.map((j, k) => low[j] / unit(k)),
        maxValues: free.map((j, k) => high[j] / unit(k)),
      },
    );
    return this.predictedFall(point, norm);
  }

  /** hᵀ(λh − g) in scaled terms: by how much of itself the linear model expected the sum of squares to fall. */
  private predictedFall(point: Point, norm: number): number {
    const { problem, trial, free, scale } = this;
    const { size, rows } = problem;
    let sum = 0;
    for (const j of free) {
      const h = ((trial.p[j] - point.p[j]) * scale[j]) / norm;
      let gradient = 0;
      for (let i = 0; i < rows; i++) gradient += point.jacobian[i * size + j] * point.r[i];
      sum += h * (this.damping * h - gradient / (scale[j] * norm));
    }
    return Math.max(sum, 0);
  }
}
