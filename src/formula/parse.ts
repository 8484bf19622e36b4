/**
 * Reading a formula: text in, program out.
 *
 * A formula may hold numbers, the names it is given, `pi`, brackets, `+ - * / ^`, the functions exp, log (natural),
 * log10, sqrt, tanh, atan, sin, cos, abs, min, max, and `if(condition, a, b)` whose condition is one comparison.
 * `^` binds tighter than a sign before it and groups from the right: −x^2 is −(x^2), 2^3^2 is 2^9. There are no
 * other constants: `e` and `i` are names like any other. Everything else is refused with its place.
 *
 * This module loads the grammar of mathjs; import it only where a formula is really read.
 */
import { treeOf } from './grammar.ts';
import { layOut } from './lay-out.ts';
import type { Program } from './program.ts';
import { type FormulaSource, formulaError, scan, type Token } from './scan.ts';
import type { FormulaTree } from './tree.ts';
import { CONSTANTS, FUNCTIONS, nameFault } from './words.ts';

export interface FormulaNames {
  readonly inputs: readonly string[];
  readonly parameters: readonly string[];
}

export interface ParsedFormula {
  readonly tree: FormulaTree;
  readonly program: Program;
}

const UNNAMED: FormulaSource = { file: 'formula' };

/**
 * The program of a formula over named inputs and parameters.
 *
 * @throws BenchError naming the first fault, its line and column, and what would be accepted
 * @example parseFormula('R_c + R_a*n^(-m)', { inputs: ['n'], parameters: ['R_c', 'R_a', 'm'] }).operations.length // 4
 */
export function parseFormula(text: string, names: FormulaNames, source: FormulaSource = UNNAMED): Program {
  return parseFormulaTree(text, names, source).program;
}

/** As `parseFormula`, with the tree that the program was laid out from. */
export function parseFormulaTree(
  text: string,
  names: FormulaNames,
  source: FormulaSource = UNNAMED,
): ParsedFormula {
  checkNames(text, names, source);
  const tokens = scan(text, source);
  const known = new Set([...names.inputs, ...names.parameters]);
  for (const token of tokens) {
    if (!isSymbol(token) || known.has(token.text)) continue;
    const list = [...known, ...CONSTANTS.keys()].join(', ');
    throw formulaError(text, source, token.offset, `“${token.text}” is not known; known are ${list}`);
  }
  const tree = treeOf(text, source, tokens);
  return { tree, program: layOut(tree, names.inputs, names.parameters) };
}

/**
 * The names that a formula uses, in order of first use; functions and `pi` are not among them.
 *
 * @throws BenchError where the text holds what no formula may
 * @example formulaSymbols('a + b*exp(-x/a)') // ['a', 'b', 'x']
 */
export function formulaSymbols(text: string, source: FormulaSource = UNNAMED): string[] {
  return [
    ...new Set(
      scan(text, source)
        .filter(isSymbol)
        .map((token) => token.text),
    ),
  ];
}

function isSymbol(token: Token): boolean {
  return token.kind === 'name' && !FUNCTIONS.has(token.text) && !CONSTANTS.has(token.text);
}

/** Refuses names that are no names or are given twice. */
function checkNames(text: string, { inputs, parameters }: FormulaNames, source: FormulaSource): void {
  const seen = new Set<string>();
  for (const name of [...inputs, ...parameters]) {
    const fault = nameFault(name);
    if (fault !== undefined) throw formulaError(text, source, 0, fault);
    if (seen.has(name)) {
      throw formulaError(text, source, 0, `“${name}” is named twice among the inputs and the parameters`);
    }
    seen.add(name);
  }
}
