import { createEvaluator } from './evaluate.ts';
import type { Program } from './program.ts';

/**
 * Whether a formula has a pole among the rows: a divisor, or what is raised to a negative power, that is positive at some rows and
 * negative at others. A ratio of polynomials can run through every row and off to infinity between two of them, where no residual shows it.
 *
 * @param columns  of the inputs, in the program's order
 * @returns the test at given parameters
 * @example
 * const among = poleAmongRows(parseFormula('1/(x - b)', { inputs: ['x'], parameters: ['b'] }), [Float64Array.of(0, 1)]);
 * among([0.5]) // true
 */
export function poleAmongRows(
  program: Program,
  columns: readonly Float64Array[],
): (parameters: ArrayLike<number>) => boolean {
  const firstConstant = program.inputs.length + program.parameters.length;
  const divisors = new Set<number>();
  for (const { name, a, b } of program.operations) {
    if (name === 'divide') divisors.add(b);
    if (name === 'power' && program.constants[b - firstConstant] < 0) divisors.add(a);
  }
  const evaluators = [...divisors].map((result) => createEvaluator({ ...program, result }));
  const out = new Float64Array(columns[0]?.length ?? 0);
  return (parameters) =>
    evaluators.some((evaluator) => {
      evaluator.values(columns, parameters, out);
      return out.some((value) => value > 0) && out.some((value) => value < 0);
    });
}
