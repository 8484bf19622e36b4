/** A program written out again as a formula, with no more brackets than it needs. */
import type { OperationName, Program } from './program.ts';

interface Written {
  readonly text: string;
  /** How tightly its outermost operator binds; a number or a name binds tightest. */
  readonly binding: number;
}

const SUM = 1;
const PRODUCT = 2;
const SIGN = 3;
const POWER = 4;
const ATOM = 5;

const OPERATORS: Partial<
  Record<OperationName, { sign: string; binding: number; left: number; right: number }>
> = {
  add: { sign: ' + ', binding: SUM, left: SUM, right: SUM },
  subtract: { sign: ' - ', binding: SUM, left: SUM, right: PRODUCT },
  multiply: { sign: '*', binding: PRODUCT, left: PRODUCT, right: SIGN },
  divide: { sign: '/', binding: PRODUCT, left: PRODUCT, right: SIGN },
  power: { sign: '^', binding: POWER, left: ATOM, right: POWER },
  less: { sign: ' < ', binding: 0, left: SUM, right: SUM },
  lessOrEqual: { sign: ' <= ', binding: 0, left: SUM, right: SUM },
  greater: { sign: ' > ', binding: 0, left: SUM, right: SUM },
  greaterOrEqual: { sign: ' >= ', binding: 0, left: SUM, right: SUM },
};

/**
 * @example formatProgram(parseFormula('(-x)^2 + (a*b)', { inputs: ['x'], parameters: ['a', 'b'] })) // '(-x)^2 + a*b'
 */
export function formatProgram(program: Program): string {
  const written: Written[] = [...program.inputs, ...program.parameters].map((text) => ({
    text,
    binding: ATOM,
  }));
  for (const value of program.constants) {
    const text = formatNumber(value);
    written.push({ text, binding: text.startsWith('-') ? SIGN : text.includes('/') ? PRODUCT : ATOM });
  }
  for (const { name, a, b, c } of program.operations) {
    const operator = OPERATORS[name];
    if (operator !== undefined) {
      const text = `${bracket(written[a], operator.left)}${operator.sign}${bracket(written[b], operator.right)}`;
      written.push({ text, binding: operator.binding });
    } else if (name === 'negate') {
      written.push({ text: `-${bracket(written[a], SIGN)}`, binding: SIGN });
    } else {
      const operands = [a, b, c]
        .filter((register) => register >= 0)
        .map((register) => written[register].text);
      written.push({ text: `${name === 'choose' ? 'if' : name}(${operands.join(', ')})`, binding: ATOM });
    }
  }
  return written[program.result].text;
}

function bracket({ text, binding }: Written, least: number): string {
  return binding < least ? `(${text})` : text;
}

/** A formula has no word for the values that only folding makes. */
function formatNumber(value: number): string {
  if (Number.isNaN(value)) return '0/0';
  if (!Number.isFinite(value)) return value > 0 ? '1/0' : '-1/0';
  return Object.is(value, -0) ? '-0' : String(value);
}
