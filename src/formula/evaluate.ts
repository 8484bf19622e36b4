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
import type { Operation, OperationName, Program } from './program.ts';

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

/** A register or a derivative: `mask` is 0 where one number stands for all rows, −1 where there is one a row. */
interface Track {
  readonly data: Float64Array;
  readonly mask: number;
}

/** One derivative of one operation's result; an operand that does not depend on the variable is `undefined`. */
interface Term {
  readonly out: Float64Array;
  readonly a: Track | undefined;
  readonly b: Track | undefined;
  readonly c: Track | undefined;
}

interface Step {
  readonly name: OperationName;
  readonly power: PowerKind;
  readonly out: Float64Array;
  readonly a: Track;
  readonly b: Track;
  readonly c: Track;
  readonly parameterTerms: readonly Term[];
  readonly inputTerms: readonly Term[];
}

const NOTHING: Track = { data: new Float64Array(1), mask: 0 };
const ONE: Track = { data: Float64Array.of(1), mask: 0 };
const MINUS_ONE: Track = { data: Float64Array.of(-1), mask: 0 };
const ROWWISE = -1;

/**
 * Prepares a program for running. An evaluator owns scratch storage: it may be used again and again, but not from
 * two places at once.
 *
 * @example
 * // R = R_c + R_a·n^(−m) at full and at half speed
 * const out = new Float64Array(2);
 * createEvaluator(program).values([Float64Array.of(1, 0.5)], [0.05, 0.1, 1], out); // [0.15, 0.25]
 */
export function createEvaluator(program: Program): Evaluator {
  const inputCount = program.inputs.length;
  const parameterCount = program.parameters.length;
  const firstParameter = inputCount;
  const firstConstant = firstParameter + parameterCount;
  const firstOperation = firstConstant + program.constants.length;

  const registers: Track[] = [];
  /** Derivatives by register, then by variable (inputs first, then parameters). */
  const derivatives: (Track | undefined)[][] = [];
  for (let i = 0; i < inputCount; i++) {
    registers.push({ data: new Float64Array(BLOCK), mask: ROWWISE });
    derivatives.push(unitVector(inputCount + parameterCount, i));
  }
  for (let j = 0; j < parameterCount; j++) {
    registers.push({ data: new Float64Array(1), mask: 0 });
    derivatives.push(unitVector(inputCount + parameterCount, firstParameter + j));
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
    for (let v = 0; v < inputCount + parameterCount; v++) {
      const term = termOf(operation, derivatives, v, length);
      if (term === undefined) continue;
      own[v] = { data: term.out, mask };
      (v < inputCount ? inputTerms : parameterTerms).push(term);
    }
    const step: Step = {
      name: operation.name,
      power: exponentKind(program, operation, firstConstant, firstOperation),
      out: new Float64Array(length),
      a,
      b,
      c,
      parameterTerms,
      inputTerms,
    };
    (mask === 0 ? onceSteps : rowSteps).push(step);
    registers.push({ data: step.out, mask });
    derivatives.push(own);
  }

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

function unitVector(length: number, at: number): (Track | undefined)[] {
  const vector = new Array<Track | undefined>(length).fill(undefined);
  vector[at] = ONE;
  return vector;
}

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

function runStep(
  step: Step,
  count: number,
  byParameter: boolean,
  byInput: boolean,
  partialA: Track,
  partialB: Track,
): void {
  const derive = (byParameter && step.parameterTerms.length > 0) || (byInput && step.inputTerms.length > 0);
  const { out } = step;
  const x = step.a.data;
  const y = step.b.data;
  const xm = step.a.mask;
  const ym = step.b.mask;
  const pa = partialA.data;
  const pb = partialB.data;
  let slopeA = partialA;
  let slopeB = partialB;
  let selects = false;
  switch (step.name) {
    case 'add':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] + y[r & ym];
      slopeA = ONE;
      slopeB = ONE;
      break;
    case 'subtract':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] - y[r & ym];
      slopeA = ONE;
      slopeB = MINUS_ONE;
      break;
    case 'multiply':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] * y[r & ym];
      slopeA = step.b;
      slopeB = step.a;
      break;
    case 'divide':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] / y[r & ym];
      if (derive) {
        for (let r = 0; r < count; r++) {
          const inverse = 1 / y[r & ym];
          pa[r] = inverse;
          pb[r] = -out[r] * inverse;
        }
      }
      break;
    case 'power':
      raise(step, count, derive, pa, pb);
      break;
    case 'negate':
      for (let r = 0; r < count; r++) out[r] = -x[r & xm];
      slopeA = MINUS_ONE;
      break;
    case 'exp':
      for (let r = 0; r < count; r++) out[r] = Math.exp(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = out[r];
      break;
    case 'log':
      for (let r = 0; r < count; r++) out[r] = Math.log(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = 1 / x[r & xm];
      break;
    case 'log10':
      for (let r = 0; r < count; r++) out[r] = Math.log10(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = Math.LOG10E / x[r & xm];
      break;
    case 'sqrt':
      for (let r = 0; r < count; r++) out[r] = Math.sqrt(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = 0.5 / out[r];
      break;
    case 'tanh':
      for (let r = 0; r < count; r++) out[r] = Math.tanh(x[r & xm]);
      if (derive) {
        // 1 − tanh² loses its digits far from zero; this form keeps them.
        for (let r = 0; r < count; r++) {
          const e = Math.exp(-2 * Math.abs(x[r & xm]));
          pa[r] = (4 * e) / ((1 + e) * (1 + e));
        }
      }
      break;
    case 'atan':
      for (let r = 0; r < count; r++) out[r] = Math.atan(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = 1 / (1 + x[r & xm] * x[r & xm]);
      break;
    case 'sin':
      for (let r = 0; r < count; r++) out[r] = Math.sin(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = Math.cos(x[r & xm]);
      break;
    case 'cos':
      for (let r = 0; r < count; r++) out[r] = Math.cos(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = -Math.sin(x[r & xm]);
      break;
    case 'abs':
      for (let r = 0; r < count; r++) out[r] = Math.abs(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = Math.sign(x[r & xm]);
      break;
    case 'min':
      for (let r = 0; r < count; r++) out[r] = Math.min(x[r & xm], y[r & ym]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = x[r & xm] <= y[r & ym] ? 1 : 0;
      selects = true;
      break;
    case 'max':
      for (let r = 0; r < count; r++) out[r] = Math.max(x[r & xm], y[r & ym]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = x[r & xm] >= y[r & ym] ? 1 : 0;
      selects = true;
      break;
    case 'less':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] < y[r & ym] ? 1 : 0;
      break;
    case 'lessOrEqual':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] <= y[r & ym] ? 1 : 0;
      break;
    case 'greater':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] > y[r & ym] ? 1 : 0;
      break;
    case 'greaterOrEqual':
      for (let r = 0; r < count; r++) out[r] = x[r & xm] >= y[r & ym] ? 1 : 0;
      break;
    case 'choose': {
      const z = step.c.data;
      const zm = step.c.mask;
      for (let r = 0; r < count; r++) {
        const condition = x[r & xm];
        out[r] = condition !== 0 ? y[r & ym] : z[r & zm];
        pa[r] = condition;
      }
      selects = true;
      break;
    }
  }
  if (!derive) return;
  if (byParameter) carry(step, step.parameterTerms, count, selects, slopeA, slopeB, pa);
  if (byInput) carry(step, step.inputTerms, count, selects, slopeA, slopeB, pa);
}

function carry(
  step: Step,
  terms: readonly Term[],
  count: number,
  selects: boolean,
  slopeA: Track,
  slopeB: Track,
  chosen: Float64Array,
): void {
  for (let t = 0; t < terms.length; t++) {
    const term = terms[t];
    if (selects && step.name === 'choose') select(term.out, count, chosen, term.b, term.c);
    else if (selects) select(term.out, count, chosen, term.a, term.b);
    else chain(term.out, count, slopeA, term.a, slopeB, term.b);
  }
}

/** The chain rule: out = slopeA·a + slopeB·b, leaving out what is not there. */
function chain(
  out: Float64Array,
  count: number,
  slopeA: Track,
  a: Track | undefined,
  slopeB: Track,
  b: Track | undefined,
): void {
  const p = slopeA.data;
  const pm = slopeA.mask;
  const q = slopeB.data;
  const qm = slopeB.mask;
  if (a !== undefined && b !== undefined) {
    const { data: da, mask: am } = a;
    const { data: db, mask: bm } = b;
    for (let r = 0; r < count; r++) out[r] = p[r & pm] * da[r & am] + q[r & qm] * db[r & bm];
  } else if (a !== undefined) {
    const { data: da, mask: am } = a;
    for (let r = 0; r < count; r++) out[r] = p[r & pm] * da[r & am];
  } else if (b !== undefined) {
    const { data: db, mask: bm } = b;
    for (let r = 0; r < count; r++) out[r] = q[r & qm] * db[r & bm];
  }
}

/** The derivative of the branch taken, row by row. */
function select(
  out: Float64Array,
  count: number,
  chosen: Float64Array,
  whenTrue: Track | undefined,
  whenFalse: Track | undefined,
): void {
  const { data: a, mask: am } = whenTrue ?? NOTHING;
  const { data: b, mask: bm } = whenFalse ?? NOTHING;
  for (let r = 0; r < count; r++) out[r] = chosen[r] !== 0 ? a[r & am] : b[r & bm];
}

/** base^exponent with both slopes; the common constant exponents without a call of `Math.pow`. */
function raise(step: Step, count: number, derive: boolean, pa: Float64Array, pb: Float64Array): void {
  const { out, power } = step;
  const { data: x, mask: xm } = step.a;
  const { data: y, mask: ym } = step.b;
  switch (power) {
    case POWER.square:
      for (let r = 0; r < count; r++) out[r] = x[r & xm] * x[r & xm];
      if (derive) for (let r = 0; r < count; r++) pa[r] = 2 * x[r & xm];
      return;
    case POWER.cube:
      for (let r = 0; r < count; r++) out[r] = x[r & xm] * x[r & xm] * x[r & xm];
      if (derive) for (let r = 0; r < count; r++) pa[r] = 3 * x[r & xm] * x[r & xm];
      return;
    case POWER.inverse:
      for (let r = 0; r < count; r++) out[r] = 1 / x[r & xm];
      if (derive) for (let r = 0; r < count; r++) pa[r] = -out[r] * out[r];
      return;
    case POWER.root:
      for (let r = 0; r < count; r++) out[r] = Math.sqrt(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = 0.5 / out[r];
      return;
    case POWER.inverseRoot:
      for (let r = 0; r < count; r++) out[r] = 1 / Math.sqrt(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = (-0.5 * out[r]) / x[r & xm];
      return;
    case POWER.threeHalves:
      for (let r = 0; r < count; r++) out[r] = x[r & xm] * Math.sqrt(x[r & xm]);
      if (derive) for (let r = 0; r < count; r++) pa[r] = 1.5 * Math.sqrt(x[r & xm]);
      return;
    case POWER.general:
      for (let r = 0; r < count; r++) out[r] = x[r & xm] ** y[r & ym];
      if (!derive) return;
      for (let r = 0; r < count; r++) {
        const base = x[r & xm];
        const exponent = y[r & ym];
        const value = out[r];
        const quotient = value / base;
        const sound = quotient !== 0 && Number.isFinite(quotient);
        pa[r] = exponent === 0 ? 0 : exponent * (sound ? quotient : base ** (exponent - 1));
        pb[r] = base === 0 && exponent > 0 ? 0 : value * Math.log(base);
      }
  }
}
