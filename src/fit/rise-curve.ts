import { createEvaluator, type Evaluator } from '../formula/evaluate.ts';
import type { Model } from '../formula/model.ts';
import { type ParameterScale, parameterScales, toNatural } from './parameter-scale.ts';

/** Which parameter of a formula is a limit of the pipes on a logarithmic scale; -1 if none is. */
export function limitParameter({ model, scales }: RiseCurve): number {
  const j = model.parameters.findIndex(({ name }) => name === model.limit);
  return j >= 0 && scales[j].logarithmic ? j : -1;
}

/** Conditions at which a curve is evaluated, one entry a row. */
export interface Operating {
  /** Metered load, W. */
  readonly power_W: Float64Array;
  /** Fan speed over the cooler's greatest. */
  readonly speed: Float64Array;
  /** Any further model input by name, such as pump speed over its greatest; absent inputs are 1. */
  readonly more?: ReadonlyMap<string, Float64Array>;
}

/** What a curve gives at each row. */
export interface CurveValues {
  /** Rise of the source above ambient, K. */
  readonly rise_K: Float64Array;
  /** Heat into the base: load less what leaks from the heater, W. */
  readonly base_W: Float64Array;
  /** ∂rise/∂(a resistance in series), W: how a mount's or a sample's K/W shows in the rise. */
  readonly loading_W: Float64Array;
  /** ∂rise/∂load, K/W. */
  readonly slope_K_per_W: Float64Array;
  /** ∂rise/∂leak, K per W/K. */
  readonly leakSlope: Float64Array;
  /** ∂rise/∂η, rows × parameters, on the fitting scale. */
  readonly jacobian: Float64Array;
}

/** Storage for the values at `rows` operating points of a model with `parameters` parameters. */
export function curveValues(rows: number, parameters: number): CurveValues {
  return {
    rise_K: new Float64Array(rows),
    base_W: new Float64Array(rows),
    loading_W: new Float64Array(rows),
    slope_K_per_W: new Float64Array(rows),
    leakSlope: new Float64Array(rows),
    jacobian: new Float64Array(rows * parameters),
  };
}

/** Puts the values at one operating point into others of the same model. */
export function copyPoint(from: CurveValues, to: CurveValues, row: number): void {
  const rows = from.rise_K.length;
  for (const name of Object.keys(from) as (keyof CurveValues)[]) {
    const width = from[name].length / rows;
    to[name].set(from[name].subarray(row * width, (row + 1) * width), row * width);
  }
}

/**
 * A formula model as a curve of rise against metered load, the heater's leak solved for.
 *
 * Of the load P the share G·rise is lost through the insulation, so the base gets Q with Q + G·Q·R(Q, n) = P and the
 * rise is Q·R(Q, n). Newton's method on Q converges in two or three steps because the leak is small. With
 * A = d(Q·R)/dQ, differentiating the balance gives ∂rise/∂θ = Q·R_θ/(1 + G·A), and likewise for the load and the leak.
 */
export class RiseCurve {
  readonly model: Model;
  readonly scales: readonly ParameterScale[];
  readonly #evaluator: Evaluator;
  readonly #loadInput: number;
  readonly #natural: Float64Array;
  #resistance = new Float64Array(0);
  #inputSlopes = new Float64Array(0);
  #ones = new Float64Array(0);

  constructor(model: Model) {
    this.model = model;
    this.scales = parameterScales(model);
    this.#evaluator = createEvaluator(model.program);
    this.#loadInput = model.program.inputs.indexOf('P');
    this.#natural = new Float64Array(this.scales.length);
  }

  get parameterCount(): number {
    return this.scales.length;
  }

  /**
   * @param eta   parameters on the fitting scale
   * @param at    operating points
   * @param leak_W_per_K  conductance from heater to room
   * @param out   filled
   * @param series_K_per_W  resistance in series with the cooler, of a source that has more than the one fitted
   */
  evaluate(
    eta: ArrayLike<number>,
    at: Operating,
    leak_W_per_K: number,
    out: CurveValues,
    series_K_per_W = 0,
  ): void {
    const rows = at.power_W.length;
    const p = this.scales.length;
    this.#reserve(rows);
    toNatural(this.scales, eta, this.#natural);
    const base = out.base_W;
    base.set(at.power_W);
    const columns = this.model.program.inputs.map((name) =>
      name === 'P' ? base : name === 'n' ? at.speed : (at.more?.get(name) ?? this.#ones),
    );
    if (leak_W_per_K !== 0) this.#solveBase(columns, at.power_W, leak_W_per_K, base, series_K_per_W);
    const resistance = this.#resistance.subarray(0, rows);
    const slopes = this.#inputSlopes;
    this.#evaluator.withInputDerivatives(columns, this.#natural, resistance, slopes, out.jacobian);
    const inputs = columns.length;
    for (let i = 0; i < rows; i++) {
      const q = base[i];
      const r = resistance[i] + series_K_per_W;
      const a = r + (this.#loadInput < 0 ? 0 : q * slopes[i * inputs + this.#loadInput]);
      const damping = 1 / (1 + leak_W_per_K * a);
      out.rise_K[i] = q * r;
      out.loading_W[i] = q * damping;
      out.slope_K_per_W[i] = a * damping;
      out.leakSlope[i] = -a * q * r * damping;
      for (let j = 0; j < p; j++) {
        const chain = this.scales[j].logarithmic ? this.#natural[j] : 1;
        out.jacobian[i * p + j] *= q * damping * chain;
      }
    }
  }

  /**
   * Heat into the base, W, by Newton's rule: power less leak times the rise that this heat makes, since the
   * resistance depends on it.
   */
  #solveBase(
    columns: readonly Float64Array[],
    power_W: Float64Array,
    leak: number,
    base: Float64Array,
    series_K_per_W: number,
  ): void {
    const rows = power_W.length;
    const inputs = columns.length;
    const resistance = this.#resistance.subarray(0, rows);
    for (let iteration = 0; iteration < 30; iteration++) {
      this.#evaluator.withInputDerivatives(columns, this.#natural, resistance, this.#inputSlopes);
      let worst = 0;
      for (let i = 0; i < rows; i++) {
        const q = base[i];
        const r = resistance[i] + series_K_per_W;
        const a = r + (this.#loadInput < 0 ? 0 : q * this.#inputSlopes[i * inputs + this.#loadInput]);
        const step = (q + leak * q * r - power_W[i]) / Math.max(1 + leak * a, 0.2);
        base[i] = Math.max(0, q - step);
        worst = Math.max(worst, Math.abs(step) / (power_W[i] + 1));
      }
      if (!(worst > 1e-12)) return;
    }
  }

  /** Makes the scratch arrays long enough. */
  #reserve(rows: number): void {
    if (this.#resistance.length >= rows) return;
    this.#resistance = new Float64Array(rows);
    this.#inputSlopes = new Float64Array(rows * this.model.program.inputs.length);
    this.#ones = new Float64Array(rows).fill(1);
  }
}
