/**
 * Values and derivatives of formulas against mathjs, which parses, evaluates and differentiates symbolically by its
 * own code; and against central differences where its symbolic derivative has no rule (min, max, if).
 */
import fc from 'fast-check';
import { derivative, evaluate } from 'mathjs';
import { describe, expect, test } from 'vitest';
import { createEvaluator } from '../../src/formula/evaluate.ts';
import { parseFormula } from '../../src/formula/parse.ts';

const names = { inputs: ['x', 'y'], parameters: ['a', 'b', 'c'] };
const variables = [...names.inputs, ...names.parameters];

const smooth = fc.letrec<{ node: string; leaf: string }>((tie) => ({
  node: fc.oneof(
    { maxDepth: 4, depthSize: 'small' },
    tie('leaf'),
    fc
      .tuple(tie('node'), fc.constantFrom('+', '-', '*', '/'), tie('node'))
      .map(([l, o, r]) => `(${l} ${o} ${r})`),
    fc
      .tuple(tie('leaf'), fc.constantFrom('-1', '0.5', '2', '3', '(-0.5)', '1.5', '0.6'))
      .map(([l, e]) => `${l}^${e}`),
    fc.tuple(tie('leaf'), tie('leaf')).map(([l, r]) => `${l}^(-${r})`),
    fc.tuple(fc.constantFrom('exp', 'tanh', 'atan', 'sin', 'cos'), tie('node')).map(([f, n]) => `${f}(${n})`),
    fc.tuple(fc.constantFrom('log', 'log10', 'sqrt'), tie('node')).map(([f, n]) => `${f}(1.5 + (${n})^2)`),
    tie('node').map((n) => `(-${n})`),
  ),
  leaf: fc.constantFrom(...variables, '2', '0.7', 'pi'),
})).node;

const kinked = fc
  .tuple(smooth, smooth, smooth, fc.constantFrom('<', '<=', '>', '>='), fc.nat(3))
  .map(
    ([f, g, h, sign, which]) =>
      [`if(${f} ${sign} ${g}, ${g}, ${h})`, `min(${f}, ${g}, ${h})`, `max(${f}, ${g})`, `abs(${f} - ${g})`][
        which
      ],
  );

const point = fc.array(fc.double({ min: 0.3, max: 2.5, noNaN: true }), { minLength: 5, maxLength: 5 });

function run(text: string, at: readonly number[]) {
  const program = parseFormula(text, names);
  const out = new Float64Array(1);
  const byParameter = new Float64Array(3);
  const byInput = new Float64Array(2);
  const columns = [Float64Array.of(at[0]), Float64Array.of(at[1])];
  createEvaluator(program).withInputDerivatives(columns, at.slice(2), out, byInput, byParameter);
  return { program, value: out[0], slopes: [...byInput, ...byParameter] };
}

/** The same words in the grammar of the reference. */
function reference(text: string, at: readonly number[]): unknown {
  const scope = Object.fromEntries(variables.map((name, k) => [name, at[k]]));
  return evaluate(text.replaceAll('if(', 'choose('), {
    ...scope,
    choose: (condition: boolean, a: number, b: number) => (condition ? a : b),
  });
}

const usable = (value: unknown): value is number =>
  typeof value === 'number' && Number.isFinite(value) && Math.abs(value) < 1e6;

function expectClose(found: number, wanted: number, tolerance: number, what: string): void {
  const error = Math.abs(found - wanted) / Math.max(1, Math.abs(wanted));
  expect(error, `${what}: ${found} where the reference has ${wanted}`).toBeLessThan(tolerance);
}

describe('formulas against mathjs', () => {
  test('values', () => {
    let compared = 0;
    fc.assert(
      fc.property(fc.oneof(smooth, kinked), point, (text, at) => {
        const wanted = reference(text, at);
        if (!usable(wanted)) return;
        const { value } = run(text, at);
        expectClose(value, wanted, 1e-9, text);
        compared++;
      }),
      { numRuns: 400, seed: 11 },
    );
    expect(compared).toBeGreaterThan(300);
  });

  test('derivatives by every variable, where the symbolic derivative has rules', () => {
    let compared = 0;
    fc.assert(
      fc.property(smooth, point, (text, at) => {
        const scope = Object.fromEntries(variables.map((name, k) => [name, at[k]]));
        const { value, slopes } = run(text, at);
        if (!usable(value)) return;
        variables.forEach((name, k) => {
          const wanted: unknown = derivative(text, name, { simplify: false }).evaluate(scope);
          if (!usable(wanted)) return;
          expectClose(slopes[k], wanted, 1e-7, `∂(${text})/∂${name}`);
          compared++;
        });
      }),
      { numRuns: 150, seed: 12 },
    );
    expect(compared).toBeGreaterThan(400);
  });

  test('derivatives of kinked formulas against central differences of the reference', () => {
    let compared = 0;
    fc.assert(
      fc.property(kinked, point, (text, at) => {
        const { slopes } = run(text, at);
        variables.forEach((name, k) => {
          const difference = (step: number): number => {
            const [up, down] = [step, -step].map((s) =>
              reference(
                text,
                at.map((v, j) => (j === k ? v + s : v)),
              ),
            );
            return usable(up) && usable(down) ? (up - down) / (2 * step) : Number.NaN;
          };
          const [coarse, fine] = [difference(2e-5), difference(1e-5)];
          // Two steps that disagree straddle a kink or a pole: no derivative to compare with.
          const known = usable(fine) && Math.abs(coarse - fine) < 1e-5 * Math.max(1, Math.abs(fine));
          if (!known) return;
          expectClose(slopes[k], fine, 1e-4, `∂(${text})/∂${name}`);
          compared++;
        });
      }),
      { numRuns: 150, seed: 13 },
    );
    expect(compared).toBeGreaterThan(400);
  });
});
