/**
 * Running a formula: values and exact derivatives of a program over columns of rows.
 *
 * Derivatives are carried forward with the values (the chain rule at every operation, no step size), so a
 * Jacobian is exact to rounding. Three things make it fast enough to sit inside every fit: an operation that
 * reads no input is done once a call instead of once a row; a derivative is carried only for the variables that
 * the register really depends on; and rows pass through in blocks, so that all storage is made once, in advance,
 * whatever the number of rows.
 *
 * At a kink (`min`, `max`, `if`, `abs`) the derivative is that of the branch taken; a branch not taken never
 * contributes, even where it is infinite. On a tie `min` and `max` follow their first argument and `abs` gives 0.
 * Outside its domain an operation gives NaN or ±Infinity, which flow out: whoever fits decides what to do with them.
 */
import { POWER, type PowerKind, powerKind } from './constant-power.ts';
import { NOTHING, ONE, ROWWISE, runStep, type Step, type Term, type Track } from './evaluation-step.ts';
import type { Operation, Program } from './program.ts';

/** Rows done at a time: long enough to spread the dispatch, short enough to stay in the first-level cache. */
const BLOCK = 128;

export interface Evaluator {
  readonly program: Program;
  /**
   * The formula at each of the `out.length` rows.
   *
   * @param columns  one column for each input of the program, in its order, each at least `out.length` long
   * @param parameters  one number for each parameter, in the program's order
   * @param out  filled with the values
   */
  values(columns: readonly Float64Array[], parameters: ArrayLike<number>, out: Float64Array): void;
  /** As `values`, and fills `jacobian` (rows × parameters, row-major) with ∂value/∂parameter. */
  withJacobian(
    columns: readonly Float64Array[],
    parameters: ArrayLike<number>,
    out: Float64Array,
    jacobian: Float64Array,
  ): void;
  /**
   * As `values`, and fills `inputJacobian` (rows × inputs, row-major) with ∂value/∂input and, where given,
   * `jacobian` as `withJacobian` does.
   */
  withInputDerivatives(
    columns: readonly Float64Array[],
    parameters: ArrayLike<number>,
    out: Float64Array,
    inputJacobian: Float64Array,
    jacobian?: Float64Array,
  ): void;
}

/**
 * Prepares a program for running. An evaluator owns scratch storage: it may be used again and again, but not from
 * two places at once.
 *
 * @example
 * // R = R_c + R_a·n^(−m) at full and at half speed
 * const program = parseFormula('R_c + R_a*n^(-m)', { inputs: ['n'], parameters: ['R_c', 'R_a', 'm'] });
 * const out = new Float64Array(2);
 * createEvaluator(program).values([Float64Array.of(1, 0.5)], [0.05, 0.1, 1], out);
 * out // [0.15, 0.25]
 */
export function createEvaluator(program: Program): Evaluator {
  const inputCount = program.inputs.length;
  const parameterCount = program.parameters.length;
  const firstParameter = inputCount;
  const { registers, derivatives, onceSteps, rowSteps } = layOutSteps(program);
  const result = registers[program.result];
  const resultDerivatives = derivatives[program.result];
  const partialA: Track = { data: new Float64Array(BLOCK), mask: ROWWISE };
  const partialB: Track = { data: new Float64Array(BLOCK), mask: ROWWISE };

  function run(
    columns: readonly Float64Array[],
    parameters: ArrayLike<number>,
    out: Float64Array,
    jacobian: Float64Array | undefined,
    inputJacobian: Float64Array | undefined,
  ): void {
    const rows = out.length;
    checkShapes(program, columns, parameters, rows, jacobian, inputJacobian);
    const byParameter = jacobian !== undefined;
    const byInput = inputJacobian !== undefined;
    for (let j = 0; j < parameterCount; j++) registers[firstParameter + j].data[0] = parameters[j];
    for (let k = 0; k < onceSteps.length; k++) {
      runStep(onceSteps[k], 1, byParameter, byInput, partialA, partialB);
    }
    for (let start = 0; start < rows; start += BLOCK) {
      const count = Math.min(BLOCK, rows - start);
      for (let i = 0; i < inputCount; i++) {
        const column = columns[i];
        const register = registers[i].data;
        for (let r = 0; r < count; r++) register[r] = column[start + r];
      }
      for (let k = 0; k < rowSteps.length; k++) {
        runStep(rowSteps[k], count, byParameter, byInput, partialA, partialB);
      }
      const { data, mask } = result;
      for (let r = 0; r < count; r++) out[start + r] = data[r & mask];
      if (jacobian !== undefined) {
        scatter(resultDerivatives, firstParameter, parameterCount, jacobian, start, count);
      }
      if (inputJacobian !== undefined) {
        scatter(resultDerivatives, 0, inputCount, inputJacobian, start, count);
      }
    }
  }

  return {
    program,
    values: (columns, parameters, out) => run(columns, parameters, out, undefined, undefined),
    withJacobian: (columns, parameters, out, jacobian) => run(columns, parameters, out, jacobian, undefined),
    withInputDerivatives: (columns, parameters, out, inputJacobian, jacobian) =>
      run(columns, parameters, out, jacobian, inputJacobian),
  };
}

/** The registers of a program, one an input, parameter, constant and operation, with their derivatives, and its steps in order. */
function layOutSteps(program: Program) {
  const inputCount = program.inputs.length;
  const variables = inputCount + program.parameters.length;
  const firstOperation = variables + program.constants.length;
  const registers: Track[] = [];
  /** Derivatives by register, then by variable (inputs first, then parameters). */
  const derivatives: (Track | undefined)[][] = [];
  for (let v = 0; v < variables; v++) {
    const isInput = v < inputCount;
    registers.push({ data: new Float64Array(isInput ? BLOCK : 1), mask: isInput ? ROWWISE : 0 });
    derivatives.push(unitVector(variables, v));
  }
  for (const value of program.constants) {
    registers.push({ data: Float64Array.of(value), mask: 0 });
    derivatives.push([]);
  }
  const onceSteps: Step[] = [];
  const rowSteps: Step[] = [];
  for (const operation of program.operations) {
    const a = registers[operation.a];
    const b = operation.b < 0 ? NOTHING : registers[operation.b];
    const c = operation.c < 0 ? NOTHING : registers[operation.c];
    const mask = a.mask | b.mask | c.mask;
    const length = mask === 0 ? 1 : BLOCK;
    const own: (Track | undefined)[] = [];
    const parameterTerms: Term[] = [];
    const inputTerms: Term[] = [];
    for (let v = 0; v < variables; v++) {
      const term = termOf(operation, derivatives, v, length);
      if (term === undefined) continue;
      own[v] = { data: term.out, mask };
      (v < inputCount ? inputTerms : parameterTerms).push(term);
    }
    const power = exponentKind(program, operation, variables, firstOperation);
    const out = new Float64Array(length);
    const step: Step = { name: operation.name, power, out, a, b, c, parameterTerms, inputTerms };
    (mask === 0 ? onceSteps : rowSteps).push(step);
    registers.push({ data: out, mask });
    derivatives.push(own);
  }
  return { registers, derivatives, onceSteps, rowSteps };
}

/** Derivatives of a variable by all variables: 1 by itself. */
function unitVector(length: number, at: number): (Track | undefined)[] {
  const vector = new Array<Track | undefined>(length).fill(undefined);
  vector[at] = ONE;
  return vector;
}

/** Which quicker way a power has where its exponent is a constant. */
function exponentKind(
  program: Program,
  operation: Operation,
  firstConstant: number,
  firstOperation: number,
): PowerKind {
  if (operation.name !== 'power' || operation.b < firstConstant || operation.b >= firstOperation) {
    return POWER.general;
  }
  return powerKind(program.constants[operation.b - firstConstant]);
}

/** What it takes to carry variable `v` through an operation, or nothing where the result does not depend on it. */
function termOf(
  operation: Operation,
  derivatives: readonly (readonly (Track | undefined)[])[],
  v: number,
  length: number,
): Term | undefined {
  const { name } = operation;
  if (name === 'less' || name === 'lessOrEqual' || name === 'greater' || name === 'greaterOrEqual') {
    return undefined;
  }
  const a = name === 'choose' ? undefined : derivatives[operation.a][v];
  const b = operation.b < 0 ? undefined : derivatives[operation.b][v];
  const c = operation.c < 0 ? undefined : derivatives[operation.c][v];
  if (a === undefined && b === undefined && c === undefined) return undefined;
  return { out: new Float64Array(length), a, b, c };
}

/** Refuses columns, parameters and arrays of the wrong length. */
function checkShapes(
  program: Program,
  columns: readonly Float64Array[],
  parameters: ArrayLike<number>,
  rows: number,
  jacobian: Float64Array | undefined,
  inputJacobian: Float64Array | undefined,
): void {
  const { inputs, parameters: names } = program;
  if (columns.length !== inputs.length) {
    throw new RangeError(`${columns.length} columns for the inputs ${inputs.join(', ')}`);
  }
  for (let i = 0; i < columns.length; i++) {
    if (columns[i].length < rows) {
      throw new RangeError(`column ${inputs[i]} has ${columns[i].length} rows where ${rows} are asked for`);
    }
  }
  if (parameters.length !== names.length) {
    throw new RangeError(`${parameters.length} values for the parameters ${names.join(', ')}`);
  }
  if (jacobian !== undefined && jacobian.length < rows * names.length) {
    throw new RangeError(`the Jacobian holds ${jacobian.length} numbers, not ${rows} × ${names.length}`);
  }
  if (inputJacobian !== undefined && inputJacobian.length < rows * inputs.length) {
    throw new RangeError(
      `the input derivatives hold ${inputJacobian.length} numbers, not ${rows} × ${inputs.length}`,
    );
  }
}

/**
 * Copies derivatives by some variables into rows of a row-major Jacobian; 0 where the result does not depend
 * on one.
 */
function scatter(
  derivatives: readonly (Track | undefined)[],
  firstVariable: number,
  width: number,
  into: Float64Array,
  start: number,
  count: number,
): void {
  for (let j = 0; j < width; j++) {
    const track = derivatives[firstVariable + j];
    let at = start * width + j;
    if (track === undefined) {
      for (let r = 0; r < count; r++, at += width) into[at] = 0;
    } else {
      const { data, mask } = track;
      for (let r = 0; r < count; r++, at += width) into[at] = data[r & mask];
    }
  }
}
