import { solveLeastSquares } from '../numerics/least-squares/least-squares.ts';
import { createEvaluator, type Evaluator } from './evaluate.ts';
import { linearParameters } from './linearity.ts';
import { parseFormula } from './parse.ts';
import { poleAmongRows } from './poles.ts';

export interface FitFormulaOptions {
  /** Expression for `y` over the other columns and the parameters named in `start`. */
  readonly formula: string;
  /** `y` and the input columns, all of one length. */
  readonly data: Readonly<Record<string, ArrayLike<number>>>;
  readonly start: Readonly<Record<string, number>>;
  /** `{name: [low, high]}`; ±Infinity for an open side. */
  readonly bounds?: Readonly<Record<string, readonly [number, number]>>;
  /** 1/σ² up to a factor, one a row; a row of weight 0 is left out. */
  readonly weights?: ArrayLike<number>;
  /** Parameters held at their start. */
  readonly fixed?: readonly string[];
  /** Further starts, each naming every parameter. */
  readonly moreStarts?: readonly Readonly<Record<string, number>>[];
  /** Model evaluations allowed over all starts (default 20,000). */
  readonly maxEvaluations?: number;
}

export interface FitFormulaResult {
  /** Value and standard error by name. The error is 0 on a bound or if fixed, Infinity where the data do not tell. */
  readonly parameters: Readonly<Record<string, { value: number; standardError: number }>>;
  /** √(Σ weight·residual² / degrees of freedom); NaN without a degree of freedom. */
  readonly residualStandardDeviation: number;
  readonly degreesOfFreedom: number;
  readonly converged: boolean;
  /** Empty when converged; else what was wrong, in plain language. */
  readonly reason: string;
  readonly warnings: readonly string[];
  readonly residualSumOfSquares: number;
  /** Names in the order of the rows of `covariance`. */
  readonly names: readonly string[];
  /** Covariance of the parameters, scaled by the residual variance. */
  readonly covariance: readonly (readonly number[])[];
  readonly fitted: Float64Array;
  readonly evaluations: number;
}

/**
 * Least-squares fit of a formula.
 *
 * Besides the given start the engine tries some of its own (`starts.ts`), many where the first fit is poor. Result
 * and speed do not depend on the units of the columns.
 *
 * @throws RangeError naming column and row for a value that is not a number, or what else is wrong with the data
 * @throws BenchError for a formula that cannot be read, with its place
 * @example
 * // heat per area of a filament against its temperature in 1000 K (NIST StRD, DanWood)
 * fitFormula({
 *   formula: 'b1*x^b2',
 *   data: { x: [1.309, 1.471, 1.49, 1.565, 1.611, 1.68], y: [2.138, 3.421, 3.597, 4.34, 4.882, 5.66] },
 *   start: { b1: 1, b2: 5 },
 * }).parameters.b2.value // 3.8604055871
 */
export function fitFormula(options: FitFormulaOptions): FitFormulaResult {
  const { formula, data, start } = options;
  const names = Object.keys(start);
  const inputs = Object.keys(data).filter((name) => name !== 'y');
  const rows = checkData(data);
  checkNames(options, names);
  const keep = keptRows(options.weights, rows);
  const count = keep.length;
  const evaluator = createEvaluator(parseFormula(formula, { inputs, parameters: names }));
  const take = (column: ArrayLike<number>) => Float64Array.from(keep, (i) => column[i]);
  const columns = inputs.map((name) => take(data[name]));
  const y = take(data.y);
  const roots = options.weights ? take(options.weights).map(Math.sqrt) : undefined;
  const bounds = names.map(
    (name) => options.bounds?.[name] ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY],
  );

  const { total, norm } = sizeOf(y, roots);
  const result = solveLeastSquares({
    residualCount: count,
    names,
    residual: weightedResidual(evaluator, columns, y, roots, names.length),
    start: names.map((name) => start[name]),
    moreStarts: options.moreStarts?.map((more) => names.map((name) => more[name] ?? start[name])),
    low: bounds.map(([low]) => low),
    high: bounds.map(([, high]) => high),
    fixed: names.map((name) => options.fixed?.includes(name) ?? false),
    linear: linearParameters(evaluator.program),
    search: true,
    totalSumOfSquares: total,
    dataNorm: norm,
    orders: ordersOf(columns),
    poleAmongRows: poleAmongRows(evaluator.program, columns),
    maxEvaluations: options.maxEvaluations,
    hint: hintOf(inputs, columns, evaluator.program.operations.length > 0),
  });

  const fitted = new Float64Array(rows);
  evaluator.values(
    inputs.map((name) => Float64Array.from(data[name])),
    result.parameters,
    fitted,
  );
  const variance = result.residualStandardDeviation ** 2;
  const estimate = (j: number) => ({ value: result.parameters[j], standardError: result.standardErrors[j] });
  return {
    parameters: Object.fromEntries(names.map((name, j) => [name, estimate(j)])),
    residualStandardDeviation: result.residualStandardDeviation,
    degreesOfFreedom: result.degreesOfFreedom,
    converged: result.converged,
    reason: result.reason,
    warnings: [...result.warnings, ...outlierWarning(y, fitted, keep, roots, result.degreesOfFreedom)],
    residualSumOfSquares: result.residualSumOfSquares,
    names,
    covariance: names.map((_, j) => names.map((_, k) => result.covariance[j * names.length + k] * variance)),
    fitted,
    evaluations: result.evaluations,
  };
}

/** The formula less y at the rows kept, times the roots of their weights, with its derivatives by the parameters. */
function weightedResidual(
  evaluator: Evaluator,
  columns: readonly Float64Array[],
  y: Float64Array,
  roots: Float64Array | undefined,
  width: number,
) {
  const count = y.length;
  return (p: Float64Array, r: Float64Array, jacobian: Float64Array | undefined): void => {
    const out = r.length === count ? r : r.subarray(0, count);
    if (jacobian) evaluator.withJacobian(columns, p, out, jacobian);
    else evaluator.values(columns, p, out);
    for (let i = 0; i < count; i++) r[i] -= y[i];
    if (!roots) return;
    for (let i = 0; i < count; i++) {
      r[i] *= roots[i];
      if (jacobian) for (let j = 0; j < width; j++) jacobian[i * width + j] *= roots[i];
    }
  };
}

/** Columns of one length with finite numbers; how many rows. */
function checkData(data: FitFormulaOptions['data']): number {
  if (!data.y) throw new RangeError('the data have no column y: it is what the formula is fitted to');
  const rows = data.y.length;
  if (rows === 0) throw new RangeError('column y has no rows: at least one is needed');
  for (const [name, column] of Object.entries(data)) {
    if (column.length !== rows) {
      throw new RangeError(`column ${name} has ${column.length} rows and y has ${rows}: they must be equal`);
    }
    for (let i = 0; i < rows; i++) {
      if (!Number.isFinite(column[i])) {
        throw new RangeError(`column ${name}, row ${i + 1}: ${column[i]} is not a finite number`);
      }
    }
  }
  return rows;
}

/** A finite start for every parameter, at least one. */
function checkNames(options: FitFormulaOptions, names: readonly string[]): void {
  if (names.length === 0) throw new RangeError('the start names no parameter: at least one is needed');
  for (const name of names) {
    if (!Number.isFinite(options.start[name])) {
      throw new RangeError(`the start of ${name} is ${options.start[name]}: a finite number is needed`);
    }
  }
  for (const name of [...Object.keys(options.bounds ?? {}), ...(options.fixed ?? [])]) {
    if (!names.includes(name)) {
      throw new RangeError(`${name} is bounded or fixed but not among the parameters ${names.join(', ')}`);
    }
  }
  for (const [name, [low, high]] of Object.entries(options.bounds ?? {})) {
    if (!(low <= high)) throw new RangeError(`the bounds of ${name} are not in order: ${low} to ${high}`);
  }
}

/** Rows that count. */
function keptRows(weights: ArrayLike<number> | undefined, rows: number): number[] {
  const all = Array.from({ length: rows }, (_, i) => i);
  if (!weights) return all;
  if (weights.length !== rows) {
    throw new RangeError(`there are ${weights.length} weights for ${rows} rows: they must be equal`);
  }
  for (let i = 0; i < rows; i++) {
    if (!(weights[i] >= 0 && weights[i] < Number.POSITIVE_INFINITY)) {
      throw new RangeError(`weights, row ${i + 1}: ${weights[i]} is not a finite number of at least 0`);
    }
  }
  return all.filter((i) => weights[i] > 0);
}

/** Whitened sum of squares about the weighted mean, and norm. */
function sizeOf(y: Float64Array, roots: Float64Array | undefined): { total: number; norm: number } {
  let weight = 0;
  let mean = 0;
  for (let i = 0; i < y.length; i++) {
    const w = roots ? roots[i] * roots[i] : 1;
    weight += w;
    mean += w * y[i];
  }
  mean /= weight;
  let total = 0;
  let norm = 0;
  for (let i = 0; i < y.length; i++) {
    const w = roots ? roots[i] * roots[i] : 1;
    total += w * (y[i] - mean) ** 2;
    norm += w * y[i] ** 2;
  }
  return { total, norm: Math.sqrt(norm) };
}

/** What in the data may be why parameters cannot be told apart: columns of one value. */
function hintOf(inputs: readonly string[], columns: readonly Float64Array[], uses: boolean): string {
  if (!uses) return '';
  const constant = inputs.filter((_, k) => columns[k].every((value) => value === columns[k][0]));
  return constant.map((name) => `every row has ${name} = ${columns[inputs.indexOf(name)][0]}`).join(', ');
}

/** The rows sorted by each column that varies. */
function ordersOf(columns: readonly Float64Array[]): Int32Array[] {
  return columns
    .filter((column) => column.some((value) => value !== column[0]))
    .map((column) => Int32Array.from(column, (_, i) => i).sort((a, b) => column[a] - column[b]));
}

/** One row that makes nearly all of the sum of squares is worth a word. */
function outlierWarning(
  y: Float64Array,
  fitted: Float64Array,
  keep: readonly number[],
  roots: Float64Array | undefined,
  degreesOfFreedom: number,
): string[] {
  if (degreesOfFreedom < 3) return [];
  let sum = 0;
  let largest = 0;
  let at = 0;
  for (let i = 0; i < y.length; i++) {
    const square = ((fitted[keep[i]] - y[i]) * (roots ? roots[i] : 1)) ** 2;
    sum += square;
    if (square > largest) {
      largest = square;
      at = keep[i];
    }
  }
  if (!(largest > 0.7 * sum)) return [];
  const share = Math.round((100 * largest) / sum);
  return [
    `row ${at + 1} alone makes ${share} % of the sum of squares: it may be a mistake, and it bends the fit`,
  ];
}
