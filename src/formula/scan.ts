/**
 * The words and signs of a formula, each with where it stands, and the limits on a formula's size.
 *
 * Everything that is not a number, a name, a bracket, a comma or an accepted operator is refused here, as are
 * two operands side by side: `2x` reads as a product to one person and as a slip to the next.
 */
import { BenchError } from '../bench/bench-error.ts';
import { ACCEPTED_FUNCTIONS, CONSTANTS, FUNCTIONS } from './words.ts';

const LONGEST_FORMULA = 2000;
const DEEPEST_FORMULA = 100;

/** Where a formula stands, for messages. */
export interface FormulaSource {
  readonly file: string;
  /** Line and column of the character at an offset of the text; without it, counted within the text. */
  readonly place?: (offset: number) => { line: number; column: number };
}

export type TokenKind = 'number' | 'name' | 'operator' | 'open' | 'close' | 'comma';

export interface Token {
  readonly kind: TokenKind;
  readonly text: string;
  /** Offset of its first character in the formula's text. */
  readonly offset: number;
}

const PATTERNS: readonly (readonly [TokenKind, RegExp])[] = [
  ['number', /(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?/y],
  ['name', /[\p{L}_][\p{L}\p{N}_]*/uy],
  ['operator', /<=|>=|[-+*/^<>]/y],
  ['open', /\(/y],
  ['close', /\)/y],
  ['comma', /,/y],
];

/** A fault at an offset of a formula's text. */
export function formulaError(text: string, source: FormulaSource, offset: number, what: string): BenchError {
  const { line, column } = (source.place ?? ((at) => placeInText(text, at)))(offset);
  return new BenchError(source.file, line, column, what);
}

/** Line and column of an offset, from 1, columns in characters. */
function placeInText(text: string, offset: number): { line: number; column: number } {
  const lines = text.slice(0, offset).split('\n');
  return { line: lines.length, column: [...lines[lines.length - 1]].length + 1 };
}

/**
 * Cuts a formula into words and signs.
 *
 * @throws BenchError at the first character or pair of words that no formula may hold, or where the formula is
 * longer than 2,000 characters or nested deeper than 100 levels
 * @example scan('2*x', { file: 'formula' }).map((token) => token.text) // ['2', '*', 'x']
 */
export function scan(text: string, source: FormulaSource): Token[] {
  if (text.length > LONGEST_FORMULA) {
    throw formulaError(
      text,
      source,
      0,
      `the formula has ${text.length} characters; at most ${LONGEST_FORMULA} are accepted`,
    );
  }
  const tokens: Token[] = [];
  const space = /\s*/y;
  let offset = 0;
  for (;;) {
    space.lastIndex = offset;
    space.test(text);
    offset = space.lastIndex;
    if (offset >= text.length) break;
    const token = tokenAt(text, offset);
    if (token === undefined) {
      const character = String.fromCodePoint(text.codePointAt(offset) as number);
      throw formulaError(
        text,
        source,
        offset,
        `“${character}” is not accepted in a formula: numbers, names, ( ) , and the operators + - * / ^ < <= > >= are`,
      );
    }
    checkNeighbours(text, source, tokens.at(-1), token);
    tokens.push(token);
    offset += token.text.length;
  }
  if (tokens.length === 0)
    throw formulaError(text, source, 0, 'the formula is empty; an expression is needed');
  checkDepth(text, source, tokens);
  return tokens;
}

/** The token that begins at an offset. */
function tokenAt(text: string, offset: number): Token | undefined {
  for (const [kind, pattern] of PATTERNS) {
    pattern.lastIndex = offset;
    const match = pattern.exec(text);
    if (match !== null) return { kind, text: match[0], offset };
  }
  return undefined;
}

/** Refuses two operands in a row and numbers that are too large. */
function checkNeighbours(text: string, source: FormulaSource, left: Token | undefined, right: Token): void {
  if (right.kind === 'number' && !Number.isFinite(Number(right.text))) {
    throw formulaError(text, source, right.offset, `${right.text} is too large for a number`);
  }
  if (left === undefined) return;
  const leftEnds = left.kind === 'number' || left.kind === 'name' || left.kind === 'close';
  const rightBegins = right.kind === 'number' || right.kind === 'name' || right.kind === 'open';
  if (left.kind === 'name' && FUNCTIONS.has(left.text)) {
    if (right.kind === 'open') return;
    throw bareFunction(text, source, left);
  }
  if (!leftEnds || !rightBegins) return;
  if (left.kind === 'name' && right.kind === 'open' && !CONSTANTS.has(left.text)) {
    throw formulaError(
      text,
      source,
      left.offset,
      `“${left.text}” is not a function: ${ACCEPTED_FUNCTIONS} are; write a product as ${left.text}*(…)`,
    );
  }
  const a = left.kind === 'close' ? '(…)' : left.text;
  const b = right.kind === 'open' ? '(…)' : right.text;
  throw formulaError(text, source, right.offset, `an operator is missing: write a product as ${a}*${b}`);
}

/** The fault of a function without its arguments. */
export function bareFunction(text: string, source: FormulaSource, token: Token): BenchError {
  return formulaError(
    text,
    source,
    token.offset,
    `“${token.text}” is a function and needs its arguments in brackets: ${token.text}(…)`,
  );
}

/** Levels are open brackets, and signs and powers that wait for their right-hand side: −−x, a^b^c. */
function checkDepth(text: string, source: FormulaSource, tokens: readonly Token[]): void {
  const waiting = [0];
  let depth = 0;
  let previous: Token | undefined;
  for (const token of tokens) {
    const top = waiting.length - 1;
    const prefix =
      previous === undefined ||
      previous.kind === 'operator' ||
      previous.kind === 'open' ||
      previous.kind === 'comma';
    if (token.kind === 'open') {
      waiting.push(0);
      depth++;
    } else if (token.kind === 'close' && top > 0) {
      depth -= 1 + (waiting.pop() as number);
    } else if (token.kind === 'operator' && (prefix || token.text === '^')) {
      waiting[top]++;
      depth++;
    } else if (token.kind === 'operator' || token.kind === 'comma') {
      depth -= waiting[top];
      waiting[top] = 0;
    }
    if (depth > DEEPEST_FORMULA) {
      throw formulaError(
        text,
        source,
        token.offset,
        `the formula is nested deeper than ${DEEPEST_FORMULA} levels; at most ${DEEPEST_FORMULA} are accepted`,
      );
    }
    previous = token;
  }
}
