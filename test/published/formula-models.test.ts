/**
 * The Jacobian of every shipped model against mathjs's symbolic derivative of its text, and against central
 * differences of mathjs's own evaluation, at random parameters within the bounds and random loads and speeds.
 */
import { derivative, parse } from 'mathjs';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { describe, expect, test } from 'vitest';
import { createEvaluator } from '../../src/formula/evaluate.ts';
import type { Model } from '../../src/formula/model.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';

const POINTS = 40;

function uniform(seed: number): () => number {
  const generator = xoroshiro128plus(seed);
  return () => (generator.next() >>> 0) / 2 ** 32;
}

function randomParameters(model: Model, random: () => number): number[] {
  return model.parameters.map(({ low, high, start }) => {
    const [a, b] = [Math.log(low ?? start / 3), Math.log(high ?? start * 3)];
    return Math.exp(a + (b - a) * random());
  });
}

describe.each(shippedModels)('$name', (model) => {
  const variables = [...model.inputs, ...model.parameters.map(({ name }) => name)];
  const random = uniform(21);
  const points = Array.from({ length: POINTS }, () => [
    ...model.inputs.map((input) => (input === 'P' ? 400 * random() : 0.2 + 0.8 * random())),
    ...randomParameters(model, random),
  ]);
  const found = points.map((point) => {
    const value = new Float64Array(1);
    const byInput = new Float64Array(model.inputs.length);
    const byParameter = new Float64Array(model.parameters.length);
    createEvaluator(model.program).withInputDerivatives(
      model.inputs.map((_, k) => Float64Array.of(point[k])),
      point.slice(model.inputs.length),
      value,
      byInput,
      byParameter,
    );
    return { value: value[0], slopes: [...byInput, ...byParameter] };
  });
  const scope = (point: readonly number[]) =>
    Object.fromEntries(variables.map((name, k) => [name, point[k]]));
  const compiled = parse(model.resistanceText).compile();
  const valueAt = (point: readonly number[]): number => compiled.evaluate(scope(point)) as number;

  test('value', () => {
    points.forEach((point, p) => {
      expect(found[p].value / valueAt(point)).toBeCloseTo(1, 12);
    });
  });

  test('symbolic derivative', () => {
    variables.forEach((name, k) => {
      const symbolic = derivative(model.resistanceText, name, { simplify: false }).compile();
      points.forEach((point, p) => {
        const wanted = symbolic.evaluate(scope(point)) as number;
        const error = Math.abs(found[p].slopes[k] - wanted);
        // The scale on which a slope counts: the value over the variable.
        const scale = Math.max(Math.abs(wanted), found[p].value / point[k]);
        expect(error / scale, `∂/∂${name} at ${point}`).toBeLessThan(1e-10);
      });
    });
  });

  test('central differences', () => {
    variables.forEach((name, k) => {
      points.forEach((point, p) => {
        const step = 1e-5 * point[k];
        const shifted = (by: number) => valueAt(point.map((v, j) => (j === k ? v + by : v)));
        const wanted = (shifted(step) - shifted(-step)) / (2 * step);
        const scale = Math.max(Math.abs(wanted), found[p].value / point[k]);
        expect(Math.abs(found[p].slopes[k] - wanted) / scale, `∂/∂${name} at ${point}`).toBeLessThan(1e-6);
      });
    });
  });
});
