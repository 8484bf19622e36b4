import { expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { shapeOf } from '../bench/source.ts';
import { termPrior } from './chip-term-prior.ts';

const runs = 'cooler,power_W,fan_rpm,source_C,ambient_C\nA,100,1000,40,22\n';
const bench = (heater: string) =>
  readBench(
    new Map(
      Object.entries({
        'bench.yaml': `${heater}\nchips: [{chip: K, geometry: one-die}]`,
        'runs.csv': runs,
      }).map(([name, text]) => [name, new TextEncoder().encode(text)]),
    ),
  );

it("the heater's face is the one that bench.yaml states, in any unit of length", () => {
  expect(shapeOf(bench('heater: {face_mm: [40, 35]}'), 'heater')?.face).toEqual({
    width_mm: 40,
    depth_mm: 35,
  });
  expect(shapeOf(bench('heater: {face_cm: [4, 3.5]}'), 'heater')?.face).toEqual({
    width_mm: 40,
    depth_mm: 35,
  });
  expect(() => bench('heater: {face_mm: 40}')).toThrow('bench.yaml:1:19: face_mm needs two numbers');
  expect(() => bench('heater: {face_mm: [40, 0]}')).toThrow('at least 2 mm');
});

it('without it, what it may be is in the uncertainty of a chip of known shape', () => {
  const prior = (heater: string) => termPrior(bench(heater), 'K');
  const [open, small, large] = ['', 'heater: {face_mm: [25, 25]}', 'heater: {face_mm: [50, 50]}'].map(prior);
  const stated = prior('heater: {face_mm: [37.4, 37.4]}');
  expect(open.usual_K_per_W).toBe(stated.usual_K_per_W);
  // A rectangular distribution between the two ends (JCGM 100:2008, 4.3.7): u² = (b − a)²/12.
  const face = (large.usual_K_per_W - small.usual_K_per_W) / Math.sqrt(12);
  expect(open.asStated_K_per_W ** 2).toBeCloseTo(stated.asStated_K_per_W ** 2 + face ** 2, 12);
  expect(face).toBeGreaterThan(0.005);
});
