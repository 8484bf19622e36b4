import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BenchError } from '../bench/bench-error.ts';
import { readModel } from './read-model.ts';

const good = `name: demo
title: A demo
source: common practice, no source
inputs: {P: W, n: "1"}
parameters:
  R_c: {unit: K/W, start: 0.1, low: 0.01, high: 1}
  P_s: {unit: W, start: 80, prior: {mean: 80, standard_deviation: 40}}
resistance: R_c*exp(-P/P_s) + R_c*n^(-0.5)
`;

function faultOf(text: string): string {
  try {
    readModel(text, 'm.yaml');
  } catch (fault) {
    if (fault instanceof BenchError) return fault.message;
    throw fault;
  }
  return 'accepted';
}

describe('readModel', () => {
  test('a model file', () => {
    const model = readModel(good, 'm.yaml');
    expect(model).toMatchObject({
      name: 'demo',
      inputs: ['P', 'n'],
      parameters: [
        { name: 'R_c', unit: 'K/W', start: 0.1, low: 0.01, high: 1 },
        { name: 'P_s', unit: 'W', start: 80, prior: { mean: 80, standardDeviation: 40 } },
      ],
    });
    expect(model.program.inputs).toEqual(['P', 'n']);
    expect(model.program.parameters).toEqual(['R_c', 'P_s']);
    expect(model.range).toBeUndefined();
  });

  test('a range is carried, a dimensionless unit needs no quotes, a constant formula is a formula', () => {
    const text = good.replace('inputs: {P: W, n: "1"}', 'inputs: {P: W, n: 1, q: 1}\nrange: any load');
    expect(readModel(text, 'm.yaml')).toMatchObject({ range: 'any load', inputs: ['P', 'n', 'q'] });
  });

  test.each<[string, string, string, string]>([
    [
      'unknown key',
      'title:',
      'titel:',
      'm.yaml:2:1: "titel" is not a key of a model file; accepted are name',
    ],
    ['missing key', 'title: A demo\n', '', 'm.yaml:1:1: a model file needs the key title'],
    ['twice a key', 'title: A demo', 'title: A demo\ntitle: B', 'm.yaml:3:1: this key is there already'],
    ['twice a parameter', '  P_s: {unit: W', '  R_c: {unit: W', 'm.yaml:7:3: this key is there already'],
    ['start outside', 'start: 0.1', 'start: 2', 'm.yaml:6:27: start of R_c is 2; a number from 0.01 to 1 is'],
    ['low above high', 'low: 0.01', 'low: 3', 'm.yaml:6:37: low of R_c is 3; less than its high, 1'],
    ['text for a number', 'start: 80', 'start: many', 'm.yaml:7:25: start of P_s needs a finite number'],
    ['no finite number', 'start: 80', 'start: .inf', 'm.yaml:7:25: start of P_s needs a finite number'],
    ['unknown unit', 'unit: W,', 'unit: foo,', 'm.yaml:7:15: “foo” is not a unit; coherent SI units'],
    ['unit not coherent', 'unit: W,', 'unit: kW,', 'm.yaml:7:15: “kW” is 1000 times the coherent unit'],
    ['a temperature', 'unit: K/W', 'unit: degC/W', 'm.yaml:6:15: “degC/W” names a temperature'],
    ['unit of an input', 'P: W', 'P: kW', 'm.yaml:4:13: the unit of P is “W”'],
    ['unknown input', 'P: W', 'x: W', 'm.yaml:4:10: "x" is not a key of inputs; accepted are P, n, q'],
    ['unused parameter', '-P/P_s', '-P/(80*P)', 'm.yaml:7:3: the parameter P_s does not occur in resistance'],
    ['name of an input', '  P_s:', '  P:', 'm.yaml:7:3: “P” is the name of an input'],
    ['name of a function', '  P_s:', '  exp:', 'm.yaml:7:3: “exp” is the name of a function'],
    ['no name', '  P_s:', '  P-s:', 'm.yaml:7:3: “P-s” is not a name: letters, digits'],
    [
      'parameter key',
      'start: 80',
      'begin: 80',
      'm.yaml:7:18: "begin" is not a key of P_s; accepted are unit, start',
    ],
    ['prior key', 'standard_deviation: 40', 'sd: 40', 'm.yaml:7:47: "sd" is not a key of prior of P_s'],
    [
      'prior width',
      'deviation: 40',
      'deviation: 0',
      'm.yaml:7:67: standard_deviation of the prior of P_s is 0',
    ],
    ['name of the model', 'name: demo', 'name: a b', 'm.yaml:1:7: name is “a b”; letters'],
    ['unknown symbol', '*n^', '*m^', 'm.yaml:8:35: “m” is not known; known are P, n, R_c, P_s, pi'],
    ['refused function', 'exp(', 'sinh(', 'm.yaml:8:17: “sinh” is not a function'],
    [
      'not a resistance',
      'R_c*exp',
      'P*R_c*exp',
      'm.yaml:8:31: “+” joins K (a temperature difference) and K/W',
    ],
    ['not a number', '-0.5)', '-0.5) + R_c*log(0*n)', 'm.yaml:8:13: at the start values'],
    ['anchor', 'R_c: {', 'R_c: &a {', 'm.yaml:6:11: anchors (&) and aliases (*) are not read'],
    ['alias', '{unit: W, start: 80,', '*a', 'm.yaml:7:'],
    ['unknown tag', 'title: A', 'title: !!js/function A', 'm.yaml:2:8: a tag (!) that is not read'],
    ['no mapping', 'inputs: {P: W, n: "1"}', 'inputs: 3', 'm.yaml:4:9: inputs needs keys and values'],
    ['no value', 'title: A demo', 'title:', 'm.yaml:2:'],
  ])('%s', (_, from, to, message) => {
    expect(good).toContain(from);
    expect(faultOf(good.replace(from, to)).slice(0, message.length)).toBe(message);
  });

  test('a fault in a folded, literal or quoted formula has its own place in the file', () => {
    const formula = good.split('\n').find((line) => line.startsWith('resistance')) as string;
    const folded = good.replace(formula, 'resistance: >-\n  R_c*exp(-P/P_s)\n  + R_c*m^(-0.5)');
    expect(faultOf(folded)).toMatch(/^m\.yaml:10:9: “m” is not known/);
    expect(faultOf(folded.replace('>-', '|'))).toMatch(/^m\.yaml:10:9: “m” is not known/);
    expect(faultOf(folded.replace('resistance: >-\n ', 'resistance:'))).toMatch(/^m\.yaml:9:9: “m” is not/);
    const quoted = good.replace(formula, 'resistance: "R_c*exp(-P/P_s) + R_c*m"');
    expect(faultOf(quoted)).toMatch(/^m\.yaml:8:36: “m” is not known/);
    expect(faultOf(good.replace('-0.5)', '-0.5'))).toMatch(/^m\.yaml:8:42: the formula ends too early/);
  });

  test('the number of parameters is limited', () => {
    const many = Array.from({ length: 41 }, (_, k) => `  R${k}: {unit: K/W, start: 0.1}`).join('\n');
    const text = good.replace(/parameters:[\s\S]*/, `parameters:\n${many}\nresistance: R0\n`);
    expect(faultOf(text)).toMatch(/^m\.yaml:6:3: there are 41 parameters; 1 to 40/);
    expect(faultOf(good.replace(/parameters:[\s\S]*/, 'parameters: {}\nresistance: 1'))).toMatch(
      /0 parameters/,
    );
  });

  test('bombs and nonsense are refused', () => {
    const bomb = [
      'a: &a [x,x,x,x]',
      ...'bcdefgh'.split('').map((k, i) => `${k}: &${k} [${`*${'abcdefg'[i]},`.repeat(9)}]`),
    ];
    expect(faultOf(bomb.join('\n'))).toMatch(/^m\.yaml:\d+:\d+: /);
    expect(faultOf('')).toMatch(/^m\.yaml:1:1: a model file needs the keys/);
    expect(faultOf('- 1')).toMatch(/^m\.yaml:1:1: /);
    expect(faultOf('['.repeat(19_000))).toMatch(/^m\.yaml:1:/);
    expect(faultOf('x'.repeat(100_000))).toMatch(/100000 characters; at most 20000/);
    expect(faultOf('{__proto__: 1}')).toMatch(/^m\.yaml:1:2: "__proto__" is not a key/);
    expect(faultOf('a: 1\n--- \nb: 2')).toMatch(/^m\.yaml:/);
  });

  test('whatever is done to a file, a model or one message', () => {
    let refused = 0;
    fc.assert(
      fc.property(fc.nat(good.length), fc.nat(6), fc.string({ maxLength: 4 }), (at, cut, put) => {
        try {
          readModel(good.slice(0, at) + put + good.slice(at + cut), 'm.yaml');
        } catch (fault) {
          expect(fault).toBeInstanceOf(BenchError);
          refused++;
        }
      }),
      { numRuns: 400, seed: 3 },
    );
    expect(refused).toBeGreaterThan(100);
  });
});
