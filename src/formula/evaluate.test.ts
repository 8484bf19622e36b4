import { describe, expect, test } from 'vitest';
import { createEvaluator } from './evaluate.ts';
import type { Operation, OperationName, Program } from './program.ts';

function operation(name: OperationName, a: number, b = -1, c = -1): Operation {
  return { name, a, b, c };
}

// R_c + R_a·n^(−m): registers n, R_c, R_a, m, −m, n^−m, R_a·…, sum
const fanLaw: Program = {
  inputs: ['n'],
  parameters: ['R_c', 'R_a', 'm'],
  constants: [],
  operations: [
    operation('negate', 3),
    operation('power', 0, 4),
    operation('multiply', 2, 5),
    operation('add', 1, 6),
  ],
  result: 7,
};

function slopes(program: Program, input: number, parameters: number[]) {
  const out = new Float64Array(1);
  const jacobian = new Float64Array(program.parameters.length);
  const inputJacobian = new Float64Array(program.inputs.length);
  createEvaluator(program).withInputDerivatives(
    program.inputs.map(() => Float64Array.of(input)),
    parameters,
    out,
    inputJacobian,
    jacobian,
  );
  return { value: out[0], byParameter: [...jacobian], byInput: [...inputJacobian] };
}

describe('createEvaluator', () => {
  test('the example of the comment', () => {
    const out = new Float64Array(2);
    createEvaluator(fanLaw).values([Float64Array.of(1, 0.5)], [0.05, 0.1, 1], out);
    expect([...out]).toEqual([0.05 + 0.1, 0.25]);
  });

  test('derivatives of a power law by hand', () => {
    const { value, byParameter, byInput } = slopes(fanLaw, 0.5, [0.05, 0.1, 2]);
    expect(value).toBeCloseTo(0.45, 14);
    expect(byParameter[0]).toBe(1);
    expect(byParameter[1]).toBeCloseTo(4, 14);
    expect(byParameter[2]).toBeCloseTo(-0.1 * 4 * Math.log(0.5), 14);
    expect(byInput[0]).toBeCloseTo(-2 * 0.1 * 0.5 ** -3, 14);
  });

  test('many rows agree with one row at a time, and an evaluator may be used again', () => {
    const rows = 300;
    const n = Float64Array.from({ length: rows }, (_, r) => 0.2 + r / rows);
    const evaluator = createEvaluator(fanLaw);
    const out = new Float64Array(rows);
    const jacobian = new Float64Array(rows * 3);
    evaluator.withJacobian([n], [0.05, 0.1, 0.6], out, jacobian);
    for (const r of [0, 127, 128, 255, 256, 299]) {
      const one = slopes(fanLaw, n[r], [0.05, 0.1, 0.6]);
      expect(out[r]).toBe(one.value);
      expect([...jacobian.subarray(3 * r, 3 * r + 3)]).toEqual(one.byParameter);
    }
    const again = new Float64Array(2);
    evaluator.values([Float64Array.of(1, 1)], [1, 2, 3], again);
    expect([...again]).toEqual([3, 3]);
  });

  test('a bare parameter and a bare input', () => {
    const bare: Program = { inputs: ['P'], parameters: ['R'], constants: [], operations: [], result: 1 };
    expect(slopes(bare, 100, [0.2])).toEqual({ value: 0.2, byParameter: [1], byInput: [0] });
    expect(slopes({ ...bare, result: 0 }, 100, [0.2])).toEqual({
      value: 100,
      byParameter: [0],
      byInput: [1],
    });
  });

  test('a power at zero and of a negative base', () => {
    const power: Program = {
      inputs: ['x'],
      parameters: ['k'],
      constants: [],
      operations: [operation('power', 0, 1)],
      result: 2,
    };
    expect(slopes(power, 0, [2])).toEqual({ value: 0, byParameter: [0], byInput: [0] });
    expect(slopes(power, 0, [1])).toEqual({ value: 0, byParameter: [0], byInput: [1] });
    expect(slopes(power, 3, [0]).byInput).toEqual([0]);
    expect(slopes(power, -2, [4])).toMatchObject({ value: 16, byInput: [-32] });
    expect(slopes(power, 1e-200, [2]).byInput[0]).toBeCloseTo(2e-200, 210);
  });

  test('the branch not taken never contributes', () => {
    // if (x < 1, k, k·log(0·x)): the second branch is −∞ with an infinite slope
    const branch: Program = {
      inputs: ['x'],
      parameters: ['k'],
      constants: [1, 0],
      operations: [
        operation('less', 0, 2),
        operation('multiply', 0, 3),
        operation('log', 5),
        operation('multiply', 1, 6),
        operation('choose', 4, 1, 7),
      ],
      result: 8,
    };
    expect(slopes(branch, 0.5, [7])).toEqual({ value: 7, byParameter: [1], byInput: [0] });
    expect(slopes(branch, 2, [7])).toMatchObject({ value: -Infinity, byParameter: [-Infinity] });
  });

  test('min, max and abs follow the branch taken', () => {
    const pair = (name: OperationName): Program => ({
      inputs: ['x'],
      parameters: ['k'],
      constants: [],
      operations: [operation(name, 0, 1)],
      result: 2,
    });
    expect(slopes(pair('min'), 1, [2])).toEqual({ value: 1, byParameter: [0], byInput: [1] });
    expect(slopes(pair('min'), 3, [2])).toEqual({ value: 2, byParameter: [1], byInput: [0] });
    expect(slopes(pair('max'), 3, [2])).toEqual({ value: 3, byParameter: [0], byInput: [1] });
    expect(slopes(pair('max'), 2, [2])).toEqual({ value: 2, byParameter: [0], byInput: [1] });
    const absolute: Program = { ...pair('abs'), operations: [operation('abs', 0)] };
    expect(slopes(absolute, -3, [2])).toEqual({ value: 3, byParameter: [0], byInput: [-1] });
    expect(slopes(absolute, 0, [2]).byInput).toEqual([0]);
  });

  test('the slope of tanh keeps its digits far from zero', () => {
    const program: Program = {
      inputs: ['x'],
      parameters: [],
      constants: [],
      operations: [operation('tanh', 0)],
      result: 1,
    };
    expect(slopes(program, 20, []).byInput[0] / (4 * Math.exp(-40))).toBeCloseTo(1, 12);
  });

  test('wrong shapes are refused', () => {
    const evaluator = createEvaluator(fanLaw);
    const out = new Float64Array(2);
    const n = Float64Array.of(1, 1);
    expect(() => evaluator.values([], [1, 2, 3], out)).toThrow(RangeError);
    expect(() => evaluator.values([Float64Array.of(1)], [1, 2, 3], out)).toThrow(RangeError);
    expect(() => evaluator.values([n], [1, 2], out)).toThrow(RangeError);
    expect(() => evaluator.withJacobian([n], [1, 2, 3], out, new Float64Array(5))).toThrow(RangeError);
    expect(() => evaluator.withInputDerivatives([n], [1, 2, 3], out, new Float64Array(1))).toThrow(
      RangeError,
    );
  });
});
