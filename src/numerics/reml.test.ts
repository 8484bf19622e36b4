import { describe, expect, it } from 'vitest';
import { makeRandom } from '../lab/random.ts';
import { cholesky, submatrix } from './matrix.ts';
import { type Block, remlFit, type SharedEffects } from './reml.ts';
import type { Columns } from './split-covariance.ts';

/** Columns of some groups, row r holding `weight[r]` in the column of its group. */
function grouping(group: readonly number[], weight: readonly number[]): Columns {
  const columns = Math.max(...group) + 1;
  const z = new Float64Array(group.length * columns);
  group.forEach((g, i) => {
    z[i * columns + g] = weight[i];
  });
  return { z, columns };
}

describe('effects that blocks share', () => {
  // Four coolers in three sessions, two mounts of each in each, two loads; the sessions differ by an offset and a resistance.
  const random = makeRandom(11);
  const sessions = 3;
  const q = 2 * sessions;
  const [offset_K, paste, mount, reading] = [0.3, 0.006, 0.004, 0.12];
  const known = new Float64Array(q * q);
  // The last two sessions have part of their offset in common, as runs carried over a bridge do.
  for (let a = 0; a < sessions; a++) {
    for (let b = 0; b < sessions; b++) {
      known[a * q + b] = (a === b ? offset_K ** 2 : 0) + (a > 0 && b > 0 ? 0.5 : 0);
    }
  }
  const offsets = Array.from({ length: sessions }, () => random.normal(0, offset_K));
  const pastes = Array.from({ length: sessions }, () => random.normal(0, paste));
  const blocks: Block[] = [];
  const designs: Float64Array[] = [];
  for (let c = 0; c < 4; c++) {
    const heat: number[] = [];
    const mounts: number[] = [];
    const own: number[] = [];
    const y: number[] = [];
    for (let s = 0; s < sessions; s++) {
      for (let m = 0; m < 2; m++) {
        const fitted = random.normal(0, mount);
        for (const load of [60, 180]) {
          heat.push(load);
          mounts.push(2 * s + m);
          own.push(s);
          y.push(offsets[s] + load * (pastes[s] + fitted) + random.normal(0, reading));
        }
      }
    }
    const n = y.length;
    const ones = heat.map(() => 1);
    blocks.push({
      y: Float64Array.from(y),
      design: Float64Array.from(heat.flatMap((load) => [1, load])),
      columns: 2,
      priorPrecision: Float64Array.of(0.01, 0, 0, 100),
      components: [
        grouping(mounts, heat),
        grouping(
          ones.map((_, i) => i),
          ones,
        ),
        undefined,
      ],
    });
    const design = new Float64Array(n * q);
    own.forEach((s, i) => {
      design[i * q + s] = 1;
      design[i * q + sessions + s] = heat[i];
    });
    designs.push(design);
  }
  const start = [0.005, 0.15, 0.003];
  const priors = start.map((value) => ({ mean: Math.log(value), standardDeviation: 0.6 }));

  /** The same as one block of all runs, no structure used. */
  function asOne(): Block {
    const lengths = blocks.map((block) => block.y.length);
    const before = lengths.map((_, c) => lengths.slice(0, c).reduce((a, b) => a + b, 0));
    const n = lengths.reduce((a, b) => a + b, 0);
    const p = blocks.reduce((sum, block) => sum + block.columns, 0);
    const design = new Float64Array(n * p);
    const priorPrecision = new Float64Array(p * p);
    const all = new Float64Array(n * q);
    blocks.forEach((block, c) => {
      for (let i = 0; i < lengths[c]; i++) {
        for (let j = 0; j < 2; j++) design[(before[c] + i) * p + 2 * c + j] = block.design[i * 2 + j];
        for (let j = 0; j < q; j++) all[(before[c] + i) * q + j] = designs[c][i * q + j];
      }
      for (let j = 0; j < 4; j++) {
        priorPrecision[(2 * c + Math.floor(j / 2)) * p + 2 * c + (j % 2)] = block.priorPrecision?.[j] ?? 0;
      }
    });
    const stacked = (k: number): Columns => {
      const factors = blocks.map((block) => block.components[k] as Columns);
      const columns = factors.reduce((sum, factor) => sum + factor.columns, 0);
      const z = new Float64Array(n * columns);
      let first = 0;
      factors.forEach((factor, c) => {
        for (let i = 0; i < lengths[c]; i++) {
          for (let j = 0; j < factor.columns; j++) {
            z[(before[c] + i) * columns + first + j] = factor.z[i * factor.columns + j];
          }
        }
        first += factor.columns;
      });
      return { z, columns };
    };
    const states = new Float64Array(n * sessions);
    const common = new Float64Array(n * sessions);
    const root = submatrix(known, q, [0, 1, 2]);
    cholesky(root, sessions);
    for (let i = 0; i < n; i++) {
      for (let s = 0; s < sessions; s++) {
        common[i * sessions + s] = all[i * q + sessions + s];
        for (let a = 0; a < sessions; a++)
          states[i * sessions + s] += all[i * q + a] * root[a * sessions + s];
      }
    }
    return {
      y: Float64Array.from(blocks.flatMap((block) => [...block.y])),
      design,
      columns: p,
      priorPrecision,
      components: [stacked(0), stacked(1), { z: common, columns: sessions }],
      known: { z: states, columns: sessions },
    };
  }

  it('are integrated out as if all blocks were one', () => {
    const shared: SharedEffects = { columns: q, designs, known, component: 2, scaled: [3, 4, 5] };
    const apart = remlFit(blocks, { start, priors, shared });
    const one = remlFit([asOne()], { start, priors });
    expect(one.converged).toBe(true);
    expect(apart.converged).toBe(true);
    apart.sigma.forEach((value, k) => {
      expect(value / one.sigma[k]).toBeCloseTo(1, 7);
      expect(apart.dataShare[k]).toBeCloseTo(one.dataShare[k], 6);
    });
    expect(apart.logLikelihood).toBeCloseTo(one.logLikelihood, 7);
    apart.logVarianceCovariance.forEach((value, i) => {
      expect(value).toBeCloseTo(one.logVarianceCovariance[i], 7);
    });
  });

  it('leave blocks that have no part in them alone', () => {
    const shared: SharedEffects = {
      columns: q,
      designs: blocks.map(() => undefined),
      known,
      component: 2,
      scaled: [3, 4, 5],
    };
    const alone = remlFit(blocks, { start, priors });
    const apart = remlFit(blocks, { start, priors, shared });
    apart.sigma.forEach((value, k) => {
      expect(value / alone.sigma[k]).toBeCloseTo(1, 9);
    });
  });
});
