/**
 * The grammar of a formula is that of mathjs; this is the only module of the formula reader that loads it.
 *
 * mathjs sees none of the user's names and nothing but the accepted words and signs: each name is replaced by the
 * number of its token before, so that no keyword, unit or property of the library can be reached by a name. Its
 * tree knows no positions, but visited in writing order it meets the tokens in their order, which gives them back.
 */
import { create, type MathNode, parseDependencies } from 'mathjs/number';
import { lazily } from '../numerics/lazily.ts';
import type { OperationName } from './program.ts';
import { bareFunction, type FormulaSource, formulaError, type Token } from './scan.ts';
import type { FormulaTree } from './tree.ts';
import { ACCEPTED_FUNCTIONS, CONSTANTS, FUNCTIONS } from './words.ts';

const BINARY: ReadonlyMap<string, OperationName> = new Map([
  ['+', 'add'],
  ['-', 'subtract'],
  ['*', 'multiply'],
  ['/', 'divide'],
  ['^', 'power'],
  ['<', 'less'],
  ['<=', 'lessOrEqual'],
  ['>', 'greater'],
  ['>=', 'greaterOrEqual'],
]);
const COMPARISONS: ReadonlySet<string> = new Set(['<', '<=', '>', '>=']);

const parser = lazily(() => create({ parseDependencies }).parse as (text: string) => MathNode);

/**
 * The tree of a scanned formula.
 *
 * @throws BenchError where the words are in no order that means something
 */
export function treeOf(text: string, source: FormulaSource, tokens: readonly Token[]): FormulaTree {
  const last = tokens[tokens.length - 1];
  if (last.kind === 'name' && FUNCTIONS.has(last.text)) throw bareFunction(text, source, last);
  return new TreeReader(text, source, tokens).visit(parseTokens(text, source, tokens), false);
}

/** Visits the tree of mathjs in writing order, so that each node meets the token that it was made from. */
class TreeReader {
  private readonly text: string;
  private readonly source: FormulaSource;
  private readonly meaningful: readonly Token[];
  private next = 0;

  constructor(text: string, source: FormulaSource, tokens: readonly Token[]) {
    this.text = text;
    this.source = source;
    this.meaningful = tokens.filter(
      ({ kind }) => kind === 'number' || kind === 'name' || kind === 'operator',
    );
  }

  /** The tree below a node of mathjs. @param asCondition  a comparison is accepted here */
  visit(visited: MathNode, asCondition: boolean): FormulaTree {
    const shape = visited as Shape;
    switch (shape.type) {
      case 'ParenthesisNode':
        return this.visit(shape.content, asCondition);
      case 'ConstantNode': {
        const token = this.take();
        return { kind: 'number', value: Number(token.text), offset: token.offset };
      }
      case 'SymbolNode': {
        const token = this.take();
        const value = CONSTANTS.get(token.text);
        return value === undefined
          ? { kind: 'symbol', name: token.text, offset: token.offset }
          : { kind: 'number', value, offset: token.offset };
      }
      case 'OperatorNode':
        return shape.args.length === 1 ? this.sign(shape) : this.operator(shape, asCondition);
      case 'FunctionNode':
        return this.call(shape);
      default: {
        // mathjs chains comparisons: a < b < c.
        const rest = this.meaningful.slice(this.next);
        throw this.refuse(
          rest.find((each) => COMPARISONS.has(each.text)) ?? rest[0],
          'comparisons cannot be chained: one comparison as the condition of if(…) is accepted',
        );
      }
    }
  }

  private take(): Token {
    return this.meaningful[this.next++];
  }

  private refuse(token: Token, what: string) {
    return formulaError(this.text, this.source, token.offset, what);
  }

  /** A sign before an operand. */
  private sign(shape: OperatorShape): FormulaTree {
    const token = this.take();
    const operand = this.visit(shape.args[0], false);
    if (token.text === '+') return operand;
    return { kind: 'operation', name: 'negate', written: '-', operands: [operand], offset: token.offset };
  }

  /** Two operands and the sign between them; a comparison only as a condition. */
  private operator(shape: OperatorShape, asCondition: boolean): FormulaTree {
    const left = this.visit(shape.args[0], false);
    const token = this.take();
    if (COMPARISONS.has(token.text) && !asCondition) {
      throw this.refuse(token, `“${token.text}” is accepted only as the condition of if(condition, a, b)`);
    }
    const right = this.visit(shape.args[1], false);
    return {
      kind: 'operation',
      name: BINARY.get(token.text) as OperationName,
      written: token.text,
      operands: [left, right],
      offset: token.offset,
    };
  }

  /** A function with its arguments, their number checked. */
  private call(shape: FunctionShape): FormulaTree {
    const token = this.take();
    const known = FUNCTIONS.get(token.text);
    if (known === undefined)
      throw this.refuse(token, `“${token.text}” is not a function: ${ACCEPTED_FUNCTIONS} are`);
    const { length } = shape.args;
    if (length < known.least || length > known.most) {
      const accepted = known.most === known.least ? `${known.least}` : `${known.least} or more`;
      throw this.refuse(token, `${token.text} is given ${length} arguments; it takes ${accepted}`);
    }
    const isIf = known.operation === 'choose';
    const operands = shape.args.map((argument, k) => this.visit(argument, isIf && k === 0));
    if (isIf && !isComparison(operands[0])) {
      throw this.refuse(
        token,
        'the first argument of if is a condition: one comparison by < <= > or >= is accepted',
      );
    }
    return { kind: 'operation', name: known.operation, written: token.text, operands, offset: token.offset };
  }
}

interface OperatorShape {
  readonly type: 'OperatorNode';
  readonly args: readonly MathNode[];
}

interface FunctionShape {
  readonly type: 'FunctionNode';
  readonly args: readonly MathNode[];
}

type Shape =
  | OperatorShape
  | FunctionShape
  | { readonly type: 'ParenthesisNode'; readonly content: MathNode }
  | { readonly type: 'ConstantNode' | 'SymbolNode' | 'RelationalNode' };

function isComparison(tree: FormulaTree): boolean {
  return tree.kind === 'operation' && COMPARISONS.has(tree.written);
}

/**
 * The tokens parsed by mathjs with every name replaced by a number of its own, and its faults at the user's
 * place.
 */
function parseTokens(text: string, source: FormulaSource, tokens: readonly Token[]): MathNode {
  const words = tokens.map((token, k) => {
    if (token.kind === 'number') return '1';
    return token.kind === 'name' && !FUNCTIONS.has(token.text) ? `s${k}` : token.text;
  });
  try {
    return parser()(words.join(' '));
  } catch (fault) {
    const at = fault instanceof SyntaxError && 'char' in fault ? Number(fault.char) - 1 : 0;
    let end = 0;
    const token = tokens.find((_, k) => {
      end += words[k].length + 1;
      return at < end;
    });
    if (token === undefined || at >= end - 1) {
      throw formulaError(text, source, text.trimEnd().length, unfinished(tokens));
    }
    throw formulaError(text, source, token.offset, misplaced(tokens, token));
  }
}

/** What is missing at the end. */
function unfinished(tokens: readonly Token[]): string {
  const open = tokens.filter(({ kind }) => kind === 'open').length;
  const closed = tokens.filter(({ kind }) => kind === 'close').length;
  const needed = open > closed ? 'a closing bracket is missing' : 'a number, a name or a bracket is needed';
  return `the formula ends too early: ${needed}`;
}

/** What could stand where a token stands. */
function misplaced(tokens: readonly Token[], token: Token): string {
  const before = tokens[tokens.indexOf(token) - 1];
  const afterOperand = before !== undefined && ['number', 'name', 'close'].includes(before.kind);
  const needed = afterOperand
    ? 'an operator, the end or the matching bracket'
    : 'a number, a name, a function or an opening bracket';
  return `“${token.text}” cannot stand here: ${needed} is accepted`;
}
