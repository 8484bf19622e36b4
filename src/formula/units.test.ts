import { expect, describe as group, test } from 'vitest';
import { parseFormulaTree } from './parse.ts';
import { type Dimension, describe, dimensionOf, proveResistance } from './units.ts';

function dimension(unit: string): Dimension {
  const found = dimensionOf(unit);
  if ('fault' in found) throw new Error(found.fault);
  return found.dimension;
}

const units = { P: 'W', P_s: 'W', n: '1', m: '1', R: 'K/W', S: 'K/W', T: 'K', C: 'W/K', u: '1/W' };
const dimensions = new Map(Object.entries(units).map(([name, unit]) => [name, dimension(unit)]));

function prove(text: string) {
  const { tree } = parseFormulaTree(text, {
    inputs: ['P', 'n'],
    parameters: Object.keys(units)
      .slice(1)
      .filter((k) => k !== 'n'),
  });
  const fault = proveResistance(tree, dimensions);
  return fault === undefined ? 'proved' : `${fault.offset}: ${fault.what}`;
}

group('dimensionOf', () => {
  test('the example of the comment, and a description back', () => {
    expect(dimensionOf('K/W')).toEqual({ dimension: [-1, -2, 3, 0, 1, 0, 0, 0, 0] });
    expect(describe([-1, -2, 3, 0, 1, 0, 0, 0, 0])).toBe('K/W (a thermal resistance)');
    expect(describe(dimension('1'))).toBe('1 (a plain number)');
    expect(describe(dimension('W^2 K'))).toBe('K·W^2');
    expect(describe(dimension('W/m^2/K'))).toBe('kg/s^3/K');
  });

  test('the same dimension in other words', () => {
    expect(dimensionOf('1/(W/K)')).toEqual(dimensionOf('K/W'));
    expect(dimensionOf('J/s')).toEqual(dimensionOf('W'));
  });

  test.each([
    'degC',
    'degF/W',
    'celsius',
    'kW',
    'mK/W',
    'g',
    'furlongs',
    '',
    '%',
    'W +',
    '[1]',
    'W'.repeat(50),
  ])('%j is refused', (unit) => {
    expect(dimensionOf(unit)).toHaveProperty('fault');
  });
});

group('proveResistance', () => {
  test.each([
    'R',
    'R + S*n^(-m)',
    'R*exp(-P/P_s)',
    '1/(C*n*(1 - exp(-m*n^(-0.5))))',
    'T/P',
    'R*(P*u)^m',
    'sqrt(R^2 + S^2)',
    'R^(3/2)/S^0.5',
    'max(R, 0)',
    'if(P < P_s, R, S*P/P_s)',
    'if(P > 0, R, S)',
    'abs(-R) + min(R, S, 1/C)',
    'R + 0',
  ])('%s is one', (text) => {
    expect(prove(text)).toBe('proved');
  });

  test.each([
    ['R + P', '2: “+” joins K/W (a thermal resistance) and W (a power)'],
    ['R*P', '1: the formula gives K (a temperature difference); K/W'],
    ['C', '0: the formula gives W/K (a thermal conductance)'],
    ['R*exp(-P)', '2: the argument of “exp” is W (a power); 1 (a plain number)'],
    ['R*n^(-P)', '3: the exponent of “^” is W (a power)'],
    ['R*(P/100)^m', '9: the base of “^” is W (a power) and its exponent is not a constant'],
    ['if(P < T, R, S)', '5: “<” joins W (a power) and K (a temperature difference)'],
    ['if(P < P_s, R, n)', '0: “if” joins K/W (a thermal resistance) and 1'],
    ['min(R, S, P)', '0: “min” joins'],
    ['R + 1', '2: “+” joins K/W (a thermal resistance) and 1 (a plain number)'],
    ['sqrt(R)', '0: the formula gives'],
    ['log(R)*R', '0: the argument of “log”'],
  ])('%s is none', (text, message) => {
    expect(prove(text).slice(0, message.length)).toBe(message);
  });
});
