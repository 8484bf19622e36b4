/**
 * A formula as a flat list of operations, the only form in which a formula is ever run.
 *
 * No text becomes code: the parser's tree is checked against a list of allowed operators and functions and then
 * laid out as the operations below, each of which reads earlier results by their index. Registers 0 … inputs−1 hold
 * the input columns, the next `parameters.length` the parameters, then the constants, then one per operation; the
 * value of the formula is the last register.
 */
export interface Program {
  readonly inputs: readonly string[];
  readonly parameters: readonly string[];
  readonly constants: readonly number[];
  /** Operation k writes register inputs + parameters + constants + k. Unused operands are −1. */
  readonly operations: readonly Operation[];
  /** Register holding the result (a formula may be a bare parameter). */
  readonly result: number;
}

export type OperationName =
  | 'add'
  | 'subtract'
  | 'multiply'
  | 'divide'
  | 'power'
  | 'negate'
  | 'exp'
  | 'log'
  | 'log10'
  | 'sqrt'
  | 'tanh'
  | 'atan'
  | 'sin'
  | 'cos'
  | 'abs'
  | 'min'
  | 'max'
  | 'less'
  | 'lessOrEqual'
  | 'greater'
  | 'greaterOrEqual'
  | 'choose';

/** `choose` reads (condition, whenTrue, whenFalse) from a, b, c. */
export interface Operation {
  readonly name: OperationName;
  readonly a: number;
  readonly b: number;
  readonly c: number;
}
