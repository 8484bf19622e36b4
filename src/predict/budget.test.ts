import { describe, expect, it } from 'vitest';
import { compare, compareTables } from '../answers/compare.ts';
import { predict, predictTables } from '../answers/predict.ts';
import type { Bench } from '../bench/bench.ts';
import { readBench } from '../bench/read-bench.ts';
import { benchPosterior } from '../fit/bench-posterior.ts';
import { MOUNT } from '../fit/components.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import { shippedModels } from '../formula/shipped-models.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { stretchesAt } from '../numerics/degrees-of-freedom.ts';
import { mixtureDeviation, mixtureMean } from '../numerics/mixture.ts';
import type { BudgetPart, BudgetShare } from './budget.ts';
import { meanBudget } from './mean-budget.ts';
import { meanMixture, predictFrom } from './predict.ts';
import { riseDistributions } from './rise-distribution.ts';
import { sharedUncertainties } from './shared-errors.ts';
import { distributionsAt } from './speed-spread.ts';

const { files } = makeVirtualBench({
  seed: 3,
  coolers: 4,
  samples: 2,
  mounts: 2,
  loads_W: [60, 120, 180],
  speeds: [1],
  heaterLeak: { value: 0.05, uncertainty: 0.01 },
});
const bench = readBench(files);
const posterior = posteriorOf(bench);
const LOADS = [40, 120, 250];

const total = (budget: readonly BudgetShare[]) => budget.reduce((sum, { u_K }) => sum + u_K ** 2, 0);
const part = (budget: readonly BudgetShare[] | undefined, from: BudgetPart) =>
  budget?.find((one) => one.from === from)?.u_K ?? 0;

describe('the budget of a mean', () => {
  it('adds to one and is the variance that the interval has', () => {
    const shared = sharedUncertainties(posterior);
    const { predictions } = predict(bench, { power_W: LOADS, budget: true });
    posterior.coolers.forEach((cooler, c) => {
      distributionsAt(posterior, cooler, LOADS, { speed: 1 }).forEach((distribution, l) => {
        const budget = predictions[c * LOADS.length + l].budget!;
        expect(budget.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 12);
        const variance = mixtureDeviation(meanMixture(distribution, shared, stretchesAt(0.95))) ** 2;
        expect(total(budget) / variance).toBeCloseTo(1, 9);
      });
    });
  });

  it.each<[BudgetPart, (b: Bench) => Bench]>([
    ['leak', (b) => ({ ...b, heater: { ...b.heater, leak_W_per_K: { value: 0.05, uncertainty: 0 } } })],
    [
      'power',
      (b) => ({
        ...b,
        instruments: { ...b.instruments, power: { ...b.instruments.power, systematic_percent: 0 } },
      }),
    ],
    [
      'sensors',
      (b) => ({
        ...b,
        instruments: {
          ...b.instruments,
          source_temperature: { ...b.instruments.source_temperature, systematic_K: 0 },
          ambient_temperature: { ...b.instruments.ambient_temperature, systematic_K: 0 },
        },
      }),
    ],
  ])('without uncertainty of the %s that part is gone, and nothing else', (from, without) => {
    const exact = predictFrom(
      benchPosterior(without(bench), shippedModels),
      { power_W: LOADS },
      { budget: meanBudget },
    );
    predictFrom(posterior, { power_W: LOADS }, { budget: meanBudget }).predictions.forEach(
      ({ budget }, k) => {
        const left = exact.predictions[k].budget!;
        expect(part(left, from)).toBe(0);
        expect(part(budget, from)).toBeGreaterThan(0);
        expect((total(left) + part(budget, from) ** 2) / total(budget!)).toBeCloseTo(1, 9);
      },
    );
  });

  it('without further limits the part of the pipes is gone', () => {
    const [cooler] = posterior.coolers;
    const free = { ...posterior, coolers: [{ ...cooler, limits: [] }] };
    const [whole] = predictFrom(posterior, { power_W: [250] }, { budget: meanBudget }).predictions;
    const [held] = predictFrom(free, { power_W: [250] }, { budget: meanBudget }).predictions;
    expect(part(held.budget, 'pipes')).toBe(0);
    expect(part(whole.budget, 'pipes')).toBeGreaterThan(1);
    expect((total(held.budget!) + part(whole.budget, 'pipes') ** 2) / total(whole.budget!)).toBeCloseTo(1, 2);
  });

  it('the mounts bring what the estimate does when one mount after another is moved and all is fitted anew', () => {
    const at = (of: Bench) => {
      const refitted = benchPosterior(of, shippedModels);
      const [one] = riseDistributions(refitted, refitted.coolers[0], [{ power_W: 120, speed: 1 }]);
      return mixtureMean(one.mean);
    };
    const name = posterior.coolers[0].data.cooler.cooler;
    const before = at(bench);
    const sigma = posterior.scatter.sigma[MOUNT];
    const STEP = 2e-4;
    let variance = 0;
    for (const [sample, mount] of [
      ['1', '1'],
      ['1', '2'],
      ['2', '1'],
      ['2', '2'],
    ]) {
      const runs = bench.runs.map((run) =>
        run.cooler === name && run.sample === sample && run.mount === mount
          ? { ...run, source_C: run.source_C + STEP * run.power_W }
          : run,
      );
      variance += ((at({ ...bench, runs }) - before) * (sigma / STEP)) ** 2;
    }
    const [{ mean, scatterShares }] = riseDistributions(posterior, posterior.coolers[0], [
      { power_W: 120, speed: 1 },
    ]);
    const within = mean.weight.reduce((sum, w, k) => sum + w * mean.deviation[k] ** 2, 0);
    expect((scatterShares[MOUNT] * within) / variance).toBeGreaterThan(0.85);
    expect((scatterShares[MOUNT] * within) / variance).toBeLessThan(1.15);
  });

  it('paste has a part only where another batch is asked for', () => {
    const at = (paste: 'bench' | 'any') =>
      predict(bench, { power_W: [120], budget: true, paste }).predictions[0];
    expect(part(at('bench').budget, 'paste')).toBeLessThan(0.02);
    const { sigma } = posterior.scatter;
    // One batch beside the one of the bench: √2 times the scatter between batches, times the heat.
    expect(part(at('any').budget, 'paste') / (Math.SQRT2 * sigma[2] * 120)).toBeCloseTo(1, 1);
    expect(at('any').mean_high_K).toBeGreaterThan(at('bench').mean_high_K);
    expect(at('any').run_high_K).toBe(at('bench').run_high_K);
  });
});

it('the budget of a difference adds to one, and offsets all but cancel in it', () => {
  const { pairs } = compare(bench, { power_W: [120, 250], budget: true });
  for (const { difference } of pairs) {
    for (const { budget, low_K, high_K } of difference) {
      expect(budget!.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 12);
      // 0.58 K of each, and a fifth of it at most where the curves are followed far beyond the runs.
      expect(part(budget, 'sensors')).toBeLessThan(0.12);
      expect(high_K - low_K).toBeGreaterThan(2 * Math.sqrt(total(budget!)));
    }
  }
  expect(compare(bench, { power_W: [120] }).pairs[0].difference[0].budget).toBeUndefined();
});

it('tables say where the variance comes from and what would halve it', () => {
  const predicted = predictTables(predict(bench, { power_W: [250], budget: true }));
  expect(predicted).toMatch(/Where the variance of the true mean at 250 W comes from/);
  expect(predicted.replace(/\s+/g, ' ')).toMatch(/pipes: one run at 250 W/);
  const compared = compareTables(compare(bench, { power_W: [120], budget: true }));
  expect(compared).toMatch(/Where the variance of the differences at 120 W comes from/);
  expect(compared.replace(/\s+/g, ' ')).toMatch(
    /mounts: 4 more mounts of each|samples: 2 more samples of each/,
  );
});
