/** The words of a formula: its functions, with how many arguments each takes, and its one constant. */
import type { OperationName } from './program.ts';

interface FormulaFunction {
  readonly operation: OperationName;
  readonly least: number;
  readonly most: number;
}

const one = (operation: OperationName): FormulaFunction => ({ operation, least: 1, most: 1 });
const several = (operation: OperationName): FormulaFunction => ({
  operation,
  least: 2,
  most: Number.POSITIVE_INFINITY,
});

/** A Map and not an object, so that `constructor` and its like are words as unknown as any other. */
export const FUNCTIONS: ReadonlyMap<string, FormulaFunction> = new Map([
  ['exp', one('exp')],
  ['log', one('log')],
  ['log10', one('log10')],
  ['sqrt', one('sqrt')],
  ['tanh', one('tanh')],
  ['atan', one('atan')],
  ['sin', one('sin')],
  ['cos', one('cos')],
  ['abs', one('abs')],
  ['min', several('min')],
  ['max', several('max')],
  ['if', { operation: 'choose', least: 3, most: 3 }],
]);

export const CONSTANTS: ReadonlyMap<string, number> = new Map([['pi', Math.PI]]);

export const ACCEPTED_FUNCTIONS =
  'exp, log (natural), log10, sqrt, tanh, atan, sin, cos, abs, min, max and if(condition, a, b)';

/** Whether a name may stand for an input or a parameter; the reason where it may not. */
export function nameFault(name: string): string | undefined {
  if (!/^[\p{L}_][\p{L}\p{N}_]*$/u.test(name)) {
    return `“${name}” is not a name: letters, digits and underscores, not starting with a digit, are accepted`;
  }
  if (FUNCTIONS.has(name)) return `“${name}” is the name of a function`;
  if (CONSTANTS.has(name)) return `“${name}” is the name of a constant`;
  return undefined;
}
