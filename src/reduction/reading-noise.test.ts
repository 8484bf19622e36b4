import { describe, expect, it } from 'vitest';
import { normalFrom, seeded } from '../../test/reduction/make-logs.ts';
import { estimateNoise, type ReadingNoise } from './reading-noise.ts';

const rows = 480;
const phi = 0.95;
const longRunOf = (noise: ReadingNoise) => noise.white + 2 * noise.slow * noise.correlation_s;

/** An autoregression less its best cubic. */
function residuals(seed: number): Float64Array {
  const normal = normalFrom(seeded(seed));
  const values = new Float64Array(rows);
  let state = normal();
  for (let i = 0; i < rows; i++) {
    values[i] = state;
    state = phi * state + Math.sqrt(1 - phi * phi) * normal();
  }
  const taken: Float64Array[] = [];
  for (let power = 0; power < 4; power++) {
    const column = Float64Array.from(values, (_, i) => (i / rows - 0.5) ** power);
    const strike = (from: Float64Array, by: Float64Array) => {
      let share = 0;
      for (let i = 0; i < rows; i++) share += from[i] * by[i];
      for (let i = 0; i < rows; i++) from[i] -= share * by[i];
    };
    for (const earlier of taken) strike(column, earlier);
    const length = Math.hypot(...column);
    taken.push(column.map((value) => value / length));
    strike(values, taken[power]);
  }
  return values;
}

describe('noise by what a smooth curve leaves', () => {
  const truth = -2 / Math.log(phi);
  const median = (fitted: number) => {
    const ratios = Array.from(
      { length: 400 },
      (_, i) => longRunOf(estimateNoise(residuals(100 + i), rows, 1, fitted)) / truth,
    );
    return ratios.sort((a, b) => a - b)[200];
  };

  it('has its long-run variance back once what the curve took is put back', () => {
    expect(median(0)).toBeLessThan(0.65);
    expect(median(4)).toBeGreaterThan(0.75);
    expect(median(4)).toBeLessThan(1.2);
  });

  it('stays white where it is white', () => {
    const normal = normalFrom(seeded(7));
    const noise = estimateNoise(
      Float64Array.from({ length: rows }, () => normal()),
      rows,
      1,
      4,
    );
    expect(noise.slow).toBe(0);
    expect(noise.white).toBeGreaterThan(0.85);
    expect(noise.white).toBeLessThan(1.15);
  });
});
