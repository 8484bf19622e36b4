import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BenchError } from '../bench/bench-error.ts';
import { createEvaluator } from './evaluate.ts';
import { formulaSymbols, parseFormula } from './parse.ts';

const names = { inputs: ['P', 'n'], parameters: ['a', 'b'] };

function result(text: string, P = 2, n = 0.5, a = 3, b = 7): number {
  const out = new Float64Array(1);
  createEvaluator(parseFormula(text, names)).values([Float64Array.of(P), Float64Array.of(n)], [a, b], out);
  return out[0];
}

function faultOf(text: string): string {
  try {
    parseFormula(text, names);
  } catch (fault) {
    if (fault instanceof BenchError) return fault.message;
    throw fault;
  }
  return 'accepted';
}

describe('parseFormula', () => {
  test('a sign binds weaker than a power, and powers group from the right', () => {
    expect(result('-P^2')).toBe(-4);
    expect(result('(-P)^2')).toBe(4);
    expect(result('2^3^2')).toBe(512);
    expect(result('(2^3)^2')).toBe(64);
    expect(result('P^-n')).toBeCloseTo(Math.SQRT1_2, 15);
    expect(result('-P^-2^3')).toBe(-(2 ** -8));
    expect(result('a - b - P')).toBe(-6);
    expect(result('a/b/P')).toBe(3 / 7 / 2);
    expect(result('+a - -b')).toBe(10);
  });

  test('functions, conditions and the constant', () => {
    expect(result('log(exp(a))')).toBeCloseTo(3, 15);
    expect(result('log10(1000) + sqrt(16)')).toBeCloseTo(7, 15);
    expect(result('min(a, b, P) + max(a, b, P)')).toBe(9);
    expect(result('if(P < 2, a, b)')).toBe(7);
    expect(result('if(P <= 2, a, b)')).toBe(3);
    expect(result('if(P > 2, a, if(n >= 0.5, 1, 2))')).toBe(1);
    expect(result('if((P > 1), a, b)')).toBe(3);
    expect(result('cos(pi) + sin(pi/2) + atan(tanh(0)) + abs(-a)')).toBe(3);
    expect(result('.5 + 5. + 1e-3 + 2E2')).toBeCloseTo(205.501, 12);
  });

  test('numbers are folded and a repeated expression is laid out once', () => {
    expect(parseFormula('2*pi/4 - 1', names)).toMatchObject({ constants: [Math.PI / 2 - 1], operations: [] });
    expect(parseFormula('if(1 < 2, a, b)', names)).toMatchObject({ operations: [], result: 2 });
    expect(parseFormula('exp(-a*P) + exp(-a*P)/b', names).operations).toHaveLength(5);
  });

  test.each([
    ['2x', 'formula:1:2: an operator is missing: write a product as 2*x'],
    ['(a)(b)', 'formula:1:4: an operator is missing: write a product as (…)*(…)'],
    ['a b', 'formula:1:3: an operator is missing: write a product as a*b'],
    ['a(b)', 'formula:1:1: “a” is not a function'],
    ['a +\n 2*Q', 'formula:2:4: “Q” is not known; known are P, n, a, b, pi'],
    ['e', 'formula:1:1: “e” is not known'],
    ['a*i', 'formula:1:3: “i” is not known'],
    ['constructor', 'formula:1:1: “constructor” is not known'],
    ['__proto__', 'formula:1:1: “__proto__” is not known'],
    ['toString', 'formula:1:1: “toString” is not known'],
    ['toString(a)', 'formula:1:1: “toString” is not a function'],
    ['import(a)', 'formula:1:1: “import” is not a function'],
    ['sinh(a)', 'formula:1:1: “sinh” is not a function: exp, log (natural)'],
    ['pi(a)', 'formula:1:3: an operator is missing'],
    ['a + exp', 'formula:1:5: “exp” is a function'],
    ['exp*a', 'formula:1:1: “exp” is a function'],
    ['a.b', 'formula:1:2: “.” is not accepted'],
    ['a[1]', 'formula:1:2: “[” is not accepted'],
    ['a = b', 'formula:1:3: “=” is not accepted'],
    ['a; b', 'formula:1:2: “;” is not accepted'],
    ['a ? b : n', 'formula:1:3: “?” is not accepted'],
    ['a # b', 'formula:1:3: “#” is not accepted'],
    ['"a"', 'formula:1:1: “"” is not accepted'],
    ['a!', 'formula:1:2: “!” is not accepted'],
    ['😀 + a', 'formula:1:1: “😀” is not accepted'],
    ['a < b', 'formula:1:3: “<” is accepted only as the condition of if'],
    ['if(a < b < P, 1, 2)', 'formula:1:6: comparisons cannot be chained'],
    ['if(a, 1, 2)', 'formula:1:1: the first argument of if is a condition'],
    ['if((a < b) + 1, 1, 2)', 'formula:1:7: “<” is accepted only'],
    ['if(a < b, 1)', 'formula:1:1: if is given 2 arguments; it takes 3'],
    ['min(a)', 'formula:1:1: min is given 1 arguments; it takes 2 or more'],
    ['exp()', 'formula:1:1: exp is given 0 arguments; it takes 1'],
    ['exp(a, b)', 'formula:1:1: exp is given 2 arguments; it takes 1'],
    ['a +', 'formula:1:4: the formula ends too early: a number'],
    ['(a + b', 'formula:1:7: the formula ends too early: a closing bracket'],
    ['a)', 'formula:1:2: “)” cannot stand here: an operator'],
    ['a * * b', 'formula:1:5: “*” cannot stand here: a number'],
    ['(a, b)', 'formula:1:3: “,” cannot stand here'],
    ['()', 'formula:1:2: “)” cannot stand here'],
    ['', 'formula:1:1: the formula is empty'],
    [' \n ', 'formula:1:1: the formula is empty'],
    ['1e400', 'formula:1:1: 1e400 is too large'],
    ['0x10', 'formula:1:2: an operator is missing'],
  ])('%j is refused in its place', (text, message) => {
    expect(faultOf(text).slice(0, message.length)).toBe(message);
  });

  test('names that are keywords elsewhere are plain names here', () => {
    const odd = { inputs: ['end', 'true', '__proto__'], parameters: ['mod', 'constructor', 'NaN', 'λ'] };
    const program = parseFormula('end*true + __proto__ - mod*constructor + NaN^λ', odd);
    const out = new Float64Array(1);
    createEvaluator(program).values(
      [2, 3, 5].map((x) => Float64Array.of(x)),
      [7, 11, 2, 3],
      out,
    );
    expect(out[0]).toBe(6 + 5 - 77 + 8);
  });

  test('a name that clashes is refused', () => {
    for (const clash of ['exp', 'pi', 'if', '2a', 'a b', '']) {
      expect(() => parseFormula('1', { inputs: [], parameters: [clash] })).toThrow(BenchError);
    }
    expect(() => parseFormula('1', { inputs: ['a'], parameters: ['a'] })).toThrow(BenchError);
  });

  test('the size of a formula is limited, and a long sum is no deep one', () => {
    expect(result(`a${'+1'.repeat(999)}`)).toBe(3 + 999);
    expect(result(`${'('.repeat(100)}a${')'.repeat(100)}`)).toBe(3);
    expect(faultOf(`${'('.repeat(101)}a${')'.repeat(101)}`)).toMatch(/^formula:1:101: .*deeper than 100/);
    expect(faultOf(`a${'^a'.repeat(101)}`)).toMatch(/deeper than 100/);
    expect(faultOf(`${'-'.repeat(101)}a`)).toMatch(/deeper than 100/);
    expect(faultOf(`a + ${'exp('.repeat(101)}`)).toMatch(/deeper than 100/);
    expect(faultOf(`${'(-'.repeat(51)}a`)).toMatch(/deeper than 100/);
    expect(faultOf('('.repeat(10_000))).toMatch(/10000 characters; at most 2000/);
    expect(faultOf('a+'.repeat(50_000))).toMatch(/100000 characters; at most 2000/);
  });

  test('whatever the text, a program or one message', () => {
    const hostile = fc.oneof(
      fc.string({ maxLength: 60, unit: 'binary' }),
      fc
        .array(
          fc.constantFrom(
            ...[
              'a',
              'P',
              'exp',
              'if',
              'min',
              '(',
              ')',
              ',',
              '+',
              '-',
              '*',
              '/',
              '^',
              '<',
              '>=',
              '1',
              '.5',
              ' ',
              '__proto__',
              'pi',
            ],
          ),
          { maxLength: 40 },
        )
        .map((words) => words.join('')),
    );
    let accepted = 0;
    fc.assert(
      fc.property(hostile, (text) => {
        try {
          parseFormula(text, names);
          accepted++;
        } catch (fault) {
          expect(fault).toBeInstanceOf(BenchError);
        }
      }),
      { numRuns: 3000, seed: 7 },
    );
    expect(accepted).toBeGreaterThan(0);
  });
});

describe('formulaSymbols', () => {
  test('the example of the comment', () => {
    expect(formulaSymbols('a + b*exp(-x/a)')).toEqual(['a', 'b', 'x']);
    expect(formulaSymbols('pi*min(u, v)')).toEqual(['u', 'v']);
  });
});
