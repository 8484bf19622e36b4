/**
 * Which parameters a formula is linear in, read from its operations.
 *
 * A set of parameters is linear together if the result is of first degree in them whatever the others are: sums keep
 * the degree, a product adds degrees, a quotient keeps that of its numerator if the denominator has none of them, and
 * every function must have none inside. The test is exact, so the fit may rely on it.
 */
import type { Operation, Program } from './program.ts';

const NONLINEAR = 2;

/**
 * Indices of a set of parameters in which the program is linear together: as many as are found by adding them in
 * their order while the result stays linear.
 *
 * @param allowed  parameters that may be in the set (default all)
 * @example linearParameters(parseFormula('a*(1 - exp(-b*x))', { inputs: ['x'], parameters: ['a', 'b'] })) // [0]
 */
export function linearParameters(program: Program, allowed?: readonly boolean[]): number[] {
  const set: number[] = [];
  program.parameters.forEach((_, j) => {
    if (allowed && !allowed[j]) return;
    set.push(j);
    if (degree(program, set) !== 1) set.pop();
  });
  return set;
}

/** Degree of the result in a set of parameters: 0, 1 or more (2). */
function degree(program: Program, set: readonly number[]): number {
  const { inputs, parameters, constants, operations, result } = program;
  const degrees = new Array<number>(inputs.length + parameters.length + constants.length).fill(0);
  for (const j of set) degrees[inputs.length + j] = 1;
  for (const operation of operations) degrees.push(degreeOf(operation, degrees, program));
  return degrees[result];
}

/** Degree of an operation in the parameters taken together; infinite where it is no polynomial. */
function degreeOf({ name, a, b, c }: Operation, degrees: readonly number[], program: Program): number {
  const da = degrees[a];
  const db = b < 0 ? 0 : degrees[b];
  const dc = c < 0 ? 0 : degrees[c];
  switch (name) {
    case 'add':
    case 'subtract':
      return Math.max(da, db);
    case 'negate':
      return da;
    case 'multiply':
      return Math.min(da + db, NONLINEAR);
    case 'divide':
      return db === 0 ? da : NONLINEAR;
    case 'power': {
      if (da === 0 && db === 0) return 0;
      const first = program.inputs.length + program.parameters.length;
      return db === 0 && program.constants[b - first] === 1 ? da : NONLINEAR;
    }
    case 'choose':
      return da === 0 ? Math.max(db, dc) : NONLINEAR;
    default:
      return da === 0 && db === 0 && dc === 0 ? 0 : NONLINEAR;
  }
}
