import { describe, expect, test } from 'vitest';
import { createEvaluator } from './evaluate.ts';
import { shippedModel, shippedModels } from './shipped-models.ts';

function resistance(
  name: string,
  inputs: Record<string, number>,
  parameters: Record<string, number>,
): number {
  const model = shippedModel(name);
  if (model === undefined) throw new Error(name);
  const out = new Float64Array(1);
  createEvaluator(model.program).values(
    model.inputs.map((input) => Float64Array.of(inputs[input] ?? 1)),
    model.parameters.map((parameter) => parameters[parameter.name]),
    out,
  );
  return out[0];
}

test('every shipped model has a range, and positive scales a logarithm can be taken of', () => {
  expect(shippedModels.length).toBeGreaterThan(4);
  for (const { range, parameters } of shippedModels) {
    expect(range).toBeTruthy();
    for (const { low, high } of parameters) {
      expect(low).toBeGreaterThan(0);
      expect(high).toBeLessThan(10_000);
    }
  }
});

describe('limit values, by hand', () => {
  test('constant', () => {
    expect(resistance('constant', { P: 300, n: 0.4 }, { R_0: 0.2 })).toBe(0.2);
  });

  test('fan_power_law: a quarter of the speed at m = 1/2 doubles the air side', () => {
    expect(resistance('fan_power_law', { n: 0.25 }, { R_c: 0.05, R_a: 0.1, m: 0.5 })).toBeCloseTo(0.25, 14);
  });

  test('fan_ntu: 1/C at many transfer units, 1/(hA) + 1/(2C) at few', () => {
    const at = (N: number, C: number) => resistance('fan_ntu', { n: 1 }, { R_c: 0, C, N, k: 0.4 });
    expect(at(40, 20)).toBeCloseTo(1 / 20, 14);
    // 1/(C(1 − e^−N)) = 1/(CN) + 1/(2C) + N/(12C) − …
    expect(at(0.05, 20)).toBeCloseTo(1 / (20 * 0.05) + 1 / 40 + 0.05 / 240, 7);
    expect(at(1, 20)).toBeCloseTo(1 / (20 * (1 - 1 / Math.E)), 14);
  });

  test('pipe_start: R_s at no load, R_s/e at P_s, nothing at a great load', () => {
    const at = (P: number) =>
      resistance('pipe_start', { P, n: 1 }, { R_c: 0.05, R_a: 0.1, m: 0.6, R_s: 0.02, P_s: 80 }) - 0.15;
    expect(at(0)).toBeCloseTo(0.02, 14);
    expect(at(80)).toBeCloseTo(0.02 / Math.E, 14);
    expect(at(1e6)).toBeCloseTo(0, 14);
  });

  test('pipe_limit: nothing added well below the limit, R_k·(P − P_k) and S_k of rise above it', () => {
    const pipes = { R_c: 0.05, R_a: 0.1, m: 0.6, R_s: 0, P_s: 80, R_k: 0.3, S_k: 0, P_k: 240 };
    const addedRise = (P: number) => P * (resistance('pipe_limit', { P, n: 1 }, pipes) - 0.15);
    expect(Math.abs(addedRise(100))).toBeLessThan(0.01);
    // Twice the limit: 0.3·240 = 72 K, less 72·(1 − 1/√(1 + (1/24)²)) = 0.0625 K for the form that is finite at 0.
    expect(addedRise(480)).toBeCloseTo(0.3 * 240 * (1 / Math.sqrt(1 + 1 / 576)), 3);
    // At the limit: softplus(0)/60 = ln 2/60 of P_k; and half of the step.
    expect(addedRise(240)).toBeCloseTo((0.3 * 240 * Math.LN2) / 60 / Math.sqrt(1 + 1 / 144), 9);
    const stepped = { ...pipes, R_k: 0, S_k: 3 };
    const step = (P: number) => P * (resistance('pipe_limit', { P, n: 1 }, stepped) - 0.15);
    expect(step(200)).toBeLessThan(0.001);
    expect(step(240)).toBeCloseTo(1.5 / Math.sqrt(1 + 1 / 144), 9);
    expect(step(480)).toBeCloseTo(3 / Math.sqrt(1 + 1 / 576), 9);
    expect(resistance('pipe_limit', { P: 0, n: 1 }, pipes)).toBeCloseTo(0.15, 4);
    expect(resistance('pipe_limit', { P: 1e9, n: 1 }, pipes)).toBeCloseTo(0.45, 5);
    expect(resistance('pipe_limit', { P: 0, n: 1 }, { ...pipes, P_k: 20 })).toBeLessThan(0.151);
  });

  test('boiling_ntu: R_s at no load, half of it at P_s', () => {
    const film = { R_c: 0.05, C: 20, N: 50, k: 0.4, R_s: 0.03, P_s: 80 };
    const at = (P: number) => resistance('boiling_ntu', { P, n: 1 }, film) - 0.05 - 1 / 20;
    expect(at(0)).toBeCloseTo(0.03, 14);
    expect(at(80)).toBeCloseTo(0.015, 14);
  });

  test('liquid_loop: the pump moves the plate, the fan the radiator', () => {
    const loop = { R_c: 0.04, R_p: 0.03, b: 0.5, C: 40, N: 50, k: 0.4 };
    expect(resistance('liquid_loop', { n: 1, q: 1 }, loop)).toBeCloseTo(0.07 + 1 / 40, 14);
    expect(resistance('liquid_loop', { n: 0.5, q: 0.25 }, loop)).toBeCloseTo(0.04 + 0.06 + 1 / 20, 14);
  });
});
