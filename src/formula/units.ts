/**
 * Proof that a formula gives a thermal resistance: its tree is worked through with dimensions in place of numbers.
 *
 * Sums, comparisons, min, max and the two branches of `if` need one dimension; exponents and the arguments of exp,
 * log, log10, tanh, atan, sin and cos need none; a base with a dimension needs an exponent that is a plain number.
 * A literal 0 has whatever dimension is needed. mathjs's units give the dimensions of the symbols.
 *
 * Units must be coherent SI: a parameter in kW beside a load in W would pass any proof of dimensions and still be
 * wrong a thousandfold. A temperature in a resistance is a difference, so K and not °C.
 */

import type { Unit } from 'mathjs';
import { unitOf } from '../bench/unit-of.ts';
import { layOut } from './lay-out.ts';
import type { FormulaTree } from './tree.ts';

/** Exponents of the base quantities in mathjs's order (mass, length, time, current, temperature, …). */
export type Dimension = readonly number[];

/** What stands in the way of the proof, and where in the formula's text. */
export interface UnitFault {
  readonly offset: number;
  readonly what: string;
}

interface UnitParts {
  readonly dimensions: number[];
  readonly units: readonly {
    readonly unit: { readonly name: string; readonly base: { readonly key: string } };
  }[];
}

const PLAIN: Dimension = [0, 0, 0, 0, 0, 0, 0, 0, 0];
const TEMPERATURE = 4;

/**
 * The dimension of a unit's text, or in words why it is not accepted.
 *
 * @example dimensionOf('K/W') // { dimension: [-1, -2, 3, 0, 1, 0, 0, 0, 0] }
 */
export function dimensionOf(text: string): { dimension: Dimension } | { fault: string } {
  const accepted = 'coherent SI units such as K/W, W, W/K, 1/W, K, m, s, kg and 1 are accepted';
  if (text === '1') return { dimension: PLAIN };
  let unit: Unit;
  let factor: number;
  try {
    if (text.length > 40 || !/^[\w\s./*^()-]+$/.test(text)) throw new SyntaxError(text);
    unit = unitOf(text);
    const scaled = unit as unknown as { value: number | null };
    factor = scaled.value ?? (unitOf(`1 ${text}`) as unknown as { value: number }).value;
  } catch {
    return { fault: `“${text}” is not a unit; ${accepted}` };
  }
  const { dimensions, units } = unit as unknown as UnitParts;
  if (
    units.some((each) => each.unit.base.key === 'TEMPERATURE' && !['K', 'kelvin'].includes(each.unit.name))
  ) {
    return { fault: `“${text}” names a temperature; a resistance needs temperature differences, in K` };
  }
  if (Math.abs(factor - 1) > 1e-12) {
    return { fault: `“${text}” is ${factor} times the coherent unit; ${accepted}` };
  }
  return { dimension: dimensions };
}

/**
 * A dimension in words.
 *
 * @example describe([-1, -2, 3, 0, 1, 0, 0, 0, 0]) // 'K/W (a thermal resistance)'
 */
export function describe(dimension: Dimension): string {
  const power = dimension[0];
  const watts = PLAIN.map((_, k) => [power, 2 * power, -3 * power][k] ?? 0);
  const isWattsAndKelvins = dimension.every((exponent, k) => k === TEMPERATURE || near(exponent, watts[k]));
  const factors: [string, number][] = isWattsAndKelvins
    ? [
        ['K', dimension[TEMPERATURE]],
        ['W', power],
      ]
    : ['kg', 'm', 's', 'A', 'K', 'cd', 'mol', 'rad', 'bit'].map((name, k) => [name, dimension[k]]);
  const over = factors.filter(([, exponent]) => exponent > 1e-9).map(written);
  const under = factors.filter(([, exponent]) => exponent < -1e-9).map(([name, e]) => written([name, -e]));
  const text = [over.length > 0 ? over.join('·') : '1', ...under].join('/');
  const words = WORDS.get(text);
  return words === undefined ? text : `${text} (${words})`;
}

const WORDS: ReadonlyMap<string, string> = new Map([
  ['1', 'a plain number'],
  ['K', 'a temperature difference'],
  ['W', 'a power'],
  ['K/W', 'a thermal resistance'],
  ['W/K', 'a thermal conductance'],
]);

function written([name, exponent]: readonly [string, number]): string {
  return near(exponent, 1) ? name : `${name}^${Number(exponent.toPrecision(6))}`;
}

/**
 * Proves that a formula has the dimension K/W.
 *
 * @param tree  the formula
 * @param dimensions  of every symbol in it
 * @returns `undefined` when proved, else the first fault
 */
export function proveResistance(
  tree: FormulaTree,
  dimensions: ReadonlyMap<string, Dimension>,
): UnitFault | undefined {
  const wanted = (dimensionOf('K/W') as { dimension: Dimension }).dimension;
  try {
    const found = dimensionOfTree(tree, dimensions);
    if (found === undefined || same(found, wanted)) return undefined;
    return {
      offset: tree.offset,
      what: `the formula gives ${describe(found)}; ${describe(wanted)} is needed`,
    };
  } catch (fault) {
    if (fault instanceof Mismatch) return { offset: fault.offset, what: fault.message };
    throw fault;
  }
}

class Mismatch extends Error {
  readonly offset: number;

  constructor(offset: number, message: string) {
    super(message);
    this.offset = offset;
  }
}

type Operation = Extract<FormulaTree, { kind: 'operation' }>;

/** `undefined` is the dimension of a literal 0: any. */
function dimensionOfTree(tree: FormulaTree, symbols: ReadonlyMap<string, Dimension>): Dimension | undefined {
  if (tree.kind === 'number') return tree.value === 0 ? undefined : PLAIN;
  if (tree.kind === 'symbol') return symbols.get(tree.name) as Dimension;
  const operands = tree.operands.map((operand) => dimensionOfTree(operand, symbols));
  const [a, b, c] = operands;
  switch (tree.name) {
    case 'add':
    case 'subtract':
    case 'min':
    case 'max':
    case 'less':
    case 'lessOrEqual':
    case 'greater':
    case 'greaterOrEqual':
      return operands.reduce((left, right) => equal(tree, left, right));
    case 'choose':
      return equal(tree, b, c);
    case 'negate':
    case 'abs':
      return a;
    case 'multiply':
      return a && b && a.map((exponent, k) => exponent + b[k]);
    case 'divide':
      return a && (b === undefined ? a : a.map((exponent, k) => exponent - b[k]));
    case 'sqrt':
      return a?.map((exponent) => exponent / 2);
    case 'power':
      return powerDimension(tree, a, b);
    default:
      plain(tree, a, 'the argument of');
      return PLAIN;
  }
}

/** The dimension of both sides, which have to be one. */
function equal(tree: Operation, a: Dimension | undefined, b: Dimension | undefined): Dimension | undefined {
  if (a !== undefined && b !== undefined && !same(a, b)) {
    throw new Mismatch(
      tree.offset,
      `“${tree.written}” joins ${describe(a)} and ${describe(b)}; both sides need one dimension`,
    );
  }
  return a ?? b;
}

/** Refuses a dimension where a plain number is needed. */
function plain(tree: Operation, dimension: Dimension | undefined, what: string): void {
  if (dimension !== undefined && !same(dimension, PLAIN)) {
    throw new Mismatch(
      tree.offset,
      `${what} “${tree.written}” is ${describe(dimension)}; ${describe(PLAIN)} is needed`,
    );
  }
}

/** Dimension of a power: the exponent is a plain number, and a constant where the base has a dimension. */
function powerDimension(
  tree: Operation,
  base: Dimension | undefined,
  exponent: Dimension | undefined,
): Dimension | undefined {
  plain(tree, exponent, 'the exponent of');
  if (base === undefined || same(base, PLAIN)) return PLAIN;
  const [, power] = tree.operands;
  if (hasSymbol(power)) {
    throw new Mismatch(
      tree.offset,
      `the base of “^” is ${describe(base)} and its exponent is not a constant; divide the base by a parameter of its unit first`,
    );
  }
  const [value] = layOut(power, [], []).constants;
  return base.map((each) => each * value);
}

function hasSymbol(tree: FormulaTree): boolean {
  return tree.kind === 'symbol' || (tree.kind === 'operation' && tree.operands.some(hasSymbol));
}

function near(a: number, b: number): boolean {
  return Math.abs(a - b) < 1e-9;
}

function same(a: Dimension, b: Dimension): boolean {
  return a.every((exponent, k) => near(exponent, b[k]));
}
