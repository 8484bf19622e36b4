import { expect, it } from 'vitest';
import { compare } from '../answers/compare.ts';
import { predict } from '../answers/predict.ts';
import { readBench } from '../bench/read-bench.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';

it('holds no rise below zero where a bench run at one speed says next to nothing', () => {
  const { files } = makeVirtualBench({ seed: 3, coolers: 3, speeds: [1], noise_speeds: [] });
  const bench = readBench(files);
  const asked = { power_W: [100], fan_percent: 9 };
  const { predictions } = predict(bench, asked);
  const { loads } = compare(bench, asked);
  for (const one of [...predictions, ...loads[0].order]) {
    expect(one.mean_low_K).toBeGreaterThanOrEqual(0);
    expect(one.mean_low_K).toBeLessThan(one.rise_K);
    // Little is known, and the interval says so.
    expect(one.mean_high_K).toBeGreaterThan(1.5 * one.rise_K);
  }
  expect(predictions.some((one) => one.mean_low_K === 0)).toBe(true);
});
