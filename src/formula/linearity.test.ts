import { describe, expect, it } from 'vitest';
import { createEvaluator } from './evaluate.ts';
import { linearParameters } from './linearity.ts';
import { parseFormula } from './parse.ts';

describe('linearParameters', () => {
  it.each<[string, string[], string[]]>([
    ['a*(1 - exp(-b*x))', ['a', 'b'], ['a']],
    ['a + b*x + c*x^2', ['a', 'b', 'c'], ['a', 'b', 'c']],
    ['(a + b*x)/(1 + c*x)', ['a', 'b', 'c'], ['a', 'b']],
    ['a*(b + x)^(-1/c)', ['a', 'b', 'c'], ['a']],
    ['a*b*x', ['a', 'b'], ['a']],
    ['a*b*x', ['b', 'a'], ['b']],
    ['-a/2 + b^1', ['a', 'b'], ['a', 'b']],
    ['if(x < 1, a, b*x)', ['a', 'b'], ['a', 'b']],
    ['if(a < 1, a, b*x)', ['a', 'b'], ['b']],
    ['max(a, b*x)', ['a', 'b'], []],
    ['x/a', ['a'], []],
    ['a - a^2', ['a'], []],
    ['a', ['a', 'unused'], ['a', 'unused']],
  ])('%s in %j', (formula, parameters, expected) => {
    const program = parseFormula(formula, { inputs: ['x'], parameters });
    const set = linearParameters(program);
    expect(set.map((j) => parameters[j])).toEqual(expected);

    const evaluator = createEvaluator(program);
    const columns = [Float64Array.of(0.5, 1.5, 2.5)];
    const first = new Float64Array(3 * parameters.length);
    const second = new Float64Array(3 * parameters.length);
    const point = parameters.map((_, j) => 1.3 + j);
    evaluator.withJacobian(columns, point, new Float64Array(3), first);
    evaluator.withJacobian(
      columns,
      point.map((value, j) => (set.includes(j) ? value * 7 - 20 : value)),
      new Float64Array(3),
      second,
    );
    for (let i = 0; i < 3; i++) {
      for (const j of set) {
        expect(second[i * parameters.length + j]).toBeCloseTo(first[i * parameters.length + j], 12);
      }
    }
  });
});
