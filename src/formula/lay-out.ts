/**
 * A formula's tree laid out as the flat list of operations that is run.
 *
 * Operations on numbers alone are done here, a condition on numbers alone is decided here, and an expression that occurs twice is laid out once, so that a
 * formula may be written for its reader without costing the fit anything.
 */
import { createEvaluator } from './evaluate.ts';
import type { Operation, OperationName, Program } from './program.ts';
import type { FormulaTree } from './tree.ts';

type Place =
  | { readonly kind: 'input' | 'parameter' | 'operation'; readonly index: number }
  | { readonly kind: 'constant'; readonly value: number };

interface Draft {
  readonly name: OperationName;
  readonly operands: readonly Place[];
}

/** @param tree  a tree all of whose symbols are among the inputs and the parameters */
export function layOut(tree: FormulaTree, inputs: readonly string[], parameters: readonly string[]): Program {
  const places = new Map<string, Place>();
  inputs.forEach((name, index) => {
    places.set(name, { kind: 'input', index });
  });
  parameters.forEach((name, index) => {
    places.set(name, { kind: 'parameter', index });
  });
  const drafts: Draft[] = [];
  const known = new Map<string, Place>();

  function add(name: OperationName, operands: readonly Place[]): Place {
    if (operands.every((operand) => operand.kind === 'constant')) {
      return {
        kind: 'constant',
        value: fold(
          name,
          operands.map((operand) => operand.value),
        ),
      };
    }
    const key = `${name} ${operands.map(keyOf).join(' ')}`;
    const same = known.get(key);
    if (same !== undefined) return same;
    const place: Place = { kind: 'operation', index: drafts.length };
    drafts.push({ name, operands });
    known.set(key, place);
    return place;
  }

  function place(node: FormulaTree): Place {
    if (node.kind === 'number') return { kind: 'constant', value: node.value };
    if (node.kind === 'symbol') return places.get(node.name) as Place;
    const operands = node.operands.map(place);
    const [condition] = operands;
    if (node.name === 'choose' && condition.kind === 'constant') return operands[condition.value ? 1 : 2];
    if (node.name === 'min' || node.name === 'max') {
      return operands.slice(1).reduce((left, right) => add(node.name, [left, right]), operands[0]);
    }
    return add(node.name, operands);
  }

  return number(place(tree), drafts, inputs, parameters);
}

/** Key by which equal places are one; −0 is not 0. */
function keyOf(place: Place): string {
  if (place.kind !== 'constant') return `${place.kind}${place.index}`;
  return Object.is(place.value, -0) ? '-0' : String(place.value);
}

/** Value of an operation on constants, computed as at a run. */
function fold(name: OperationName, values: readonly number[]): number {
  const [a, b = -1, c = -1] = values.map((_, k) => k);
  const program: Program = {
    inputs: [],
    parameters: [],
    constants: values,
    operations: [{ name, a, b, c }],
    result: values.length,
  };
  const out = new Float64Array(1);
  createEvaluator(program).values([], [], out);
  return out[0];
}

/** Registers numbered in order: inputs, parameters, constants that are used, operations. */
function number(
  result: Place,
  drafts: readonly Draft[],
  inputs: readonly string[],
  parameters: readonly string[],
): Program {
  const constants: number[] = [];
  const constantAt = new Map<string, number>();
  for (const operand of [...drafts.flatMap(({ operands }) => operands), result]) {
    if (operand.kind !== 'constant' || constantAt.has(keyOf(operand))) continue;
    constantAt.set(keyOf(operand), constants.length);
    constants.push(operand.value);
  }
  const firstConstant = inputs.length + parameters.length;
  const register = (place: Place | undefined): number => {
    switch (place?.kind) {
      case undefined:
        return -1;
      case 'input':
        return place.index;
      case 'parameter':
        return inputs.length + place.index;
      case 'constant':
        return firstConstant + (constantAt.get(keyOf(place)) as number);
      case 'operation':
        return firstConstant + constants.length + place.index;
    }
  };
  const operations: Operation[] = drafts.map(({ name, operands: [a, b, c] }) => ({
    name,
    a: register(a),
    b: register(b),
    c: register(c),
  }));
  return {
    inputs: [...inputs],
    parameters: [...parameters],
    constants,
    operations,
    result: register(result),
  };
}
