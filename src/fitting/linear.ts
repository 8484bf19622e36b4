/**
 * Weighted linear regression: the straight-line case of the engine, with all that its covariance is good for.
 */
import { solveLeastSquares } from '../numerics/least-squares/least-squares.ts';

export interface LinearRegressionOptions {
  /** One column per coefficient; a column of ones makes an intercept. */
  readonly columns: readonly ArrayLike<number>[];
  /** Names of the coefficients, for messages (default c1, c2, …). */
  readonly names?: readonly string[];
  readonly y: ArrayLike<number>;
  /** 1/σ² up to a factor; a row of weight 0 says nothing and does not count as a row. */
  readonly weights?: ArrayLike<number>;
}

export interface LinearRegression {
  readonly coefficients: Float64Array;
  readonly standardErrors: Float64Array;
  /** Scaled by the residual variance, row-major. */
  readonly covariance: Float64Array;
  readonly residualStandardDeviation: number;
  readonly degreesOfFreedom: number;
  /** False where the columns cannot be told apart or the rows are too few; `reason` then says so. */
  readonly determined: boolean;
  readonly reason: string;
  /** Correlation of two coefficients. */
  correlation(j: number, k: number): number;
  /** Value of the line at a row of the columns and the standard error of that value. */
  at(row: ArrayLike<number>): { value: number; standardError: number };
}

/**
 * Coefficients c that minimise Σ w·(y − Σ columnⱼ·cⱼ)², by QR of columns scaled to one length.
 *
 * @throws RangeError for columns of different lengths, a value that is not finite or a weight below zero
 * @example
 * // y = 1 + 2·x through three points
 * linearRegression({ columns: [[1, 1, 1], [0, 1, 2]], y: [1, 3, 5] }).coefficients // [1, 2]
 */
export function linearRegression(options: LinearRegressionOptions): LinearRegression {
  const { columns, y, weights } = options;
  const size = columns.length;
  const names = options.names ?? columns.map((_, j) => `c${j + 1}`);
  checkColumns(options, names);
  const rows: number[] = [];
  for (let i = 0; i < y.length; i++) if (!weights || weights[i] > 0) rows.push(i);
  const roots = rows.map((i) => (weights ? Math.sqrt(weights[i]) : 1));
  let norm = 0;
  rows.forEach((i, k) => {
    norm += (roots[k] * y[i]) ** 2;
  });
  const fit = solveLeastSquares({
    residualCount: rows.length,
    names,
    start: new Array<number>(size).fill(0),
    linear: columns.map((_, j) => j),
    dataNorm: Math.sqrt(norm),
    residual(p, r, jacobian) {
      for (let k = 0; k < rows.length; k++) {
        let sum = -y[rows[k]];
        for (let j = 0; j < size; j++) {
          sum += columns[j][rows[k]] * p[j];
          if (jacobian) jacobian[k * size + j] = columns[j][rows[k]] * roots[k];
        }
        r[k] = sum * roots[k];
      }
    },
  });
  const variance = fit.residualStandardDeviation ** 2;
  const covariance = fit.covariance.map((value) => value * variance);
  return {
    coefficients: fit.parameters,
    standardErrors: fit.standardErrors,
    covariance,
    residualStandardDeviation: fit.residualStandardDeviation,
    degreesOfFreedom: fit.degreesOfFreedom,
    determined: fit.converged,
    reason: fit.reason,
    correlation: (j, k) =>
      fit.covariance[j * size + k] / Math.sqrt(fit.covariance[j * size + j] * fit.covariance[k * size + k]),
    at(row) {
      let value = 0;
      let square = 0;
      for (let j = 0; j < size; j++) {
        value += row[j] * fit.parameters[j];
        for (let k = 0; k < size; k++) square += row[j] * row[k] * covariance[j * size + k];
      }
      return { value, standardError: Math.sqrt(square) };
    },
  };
}

function checkColumns({ columns, y, weights }: LinearRegressionOptions, names: readonly string[]): void {
  const check = (name: string, column: ArrayLike<number>) => {
    if (column.length !== y.length) {
      throw new RangeError(`${name} has ${column.length} rows and y has ${y.length}: they must be equal`);
    }
    for (let i = 0; i < column.length; i++) {
      if (!Number.isFinite(column[i])) {
        throw new RangeError(`${name}, row ${i + 1}: ${column[i]} is not a finite number`);
      }
    }
  };
  columns.forEach((column, j) => {
    check(`column ${names[j]}`, column);
  });
  check('y', y);
  if (!weights) return;
  check('weights', weights);
  for (let i = 0; i < weights.length; i++) {
    if (weights[i] < 0) throw new RangeError(`weights, row ${i + 1}: ${weights[i]} is below zero`);
  }
}
