import { describe, expect, it } from 'vitest';
import { readBench } from '../bench/read-bench.ts';
import { benchPosterior } from '../fit/bench-posterior.ts';
import { shippedModels } from '../formula/shipped-models.ts';
import { makeVirtualBench } from '../lab/virtual-bench.ts';
import { coolantLeftOut, coolantLogs, coolantUnexplained } from './coolant.ts';
import { judgedCoolers } from './judge.ts';
import { leaveOut } from './left-out.ts';

const { files, truth } = makeVirtualBench({
  seed: 4,
  samples: 2,
  mounts: 2,
  loads_W: [60, 120, 180],
  speeds: [0.6, 1],
  noise_speeds: [],
  coolant: { at: 'behind-plate' },
});
const bench = readBench(files);
const posterior = benchPosterior(bench, shippedModels);
const coolers = judgedCoolers(bench, posterior);
const liquid = coolers.find((one) => one.coolant !== undefined)!;
const blocks = [...new Set(liquid.data.mount)].map((mount) =>
  liquid.data.runs.flatMap((_, i) => (liquid.data.mount[i] === mount ? [i] : [])),
);

describe("the coolant's readings", () => {
  it('are looked for where they are, on the liquid cooler only', () => {
    expect(truth.coolers.length).toBeGreaterThan(1);
    expect(coolers.filter((one) => one.coolant !== undefined)).toHaveLength(1);
    expect(liquid.data.cooler.kind).toBe('liquid');
  });

  it('of a healthy mount are foretold by the other mounts within what they scatter by', () => {
    let squares = 0;
    let count = 0;
    for (const block of blocks) {
      const left = coolantLeftOut(liquid.coolant, block, () => true)!;
      expect(left.at).toHaveLength(block.length);
      left.residual_K.forEach((residual, b) => {
        let variance = 0;
        for (let k = 0; k <= b; k++) variance += left.factor[b * block.length + k] ** 2;
        squares += residual ** 2 / variance;
        count++;
      });
    }
    // About 1 each; four mounts of six readings with common parts leave the mean between a tenth and three.
    expect(squares / count).toBeGreaterThan(0.1);
    expect(squares / count).toBeLessThan(3);
  });

  it('speak for the cause that moves them as they moved, and against the others', () => {
    const [block] = blocks;
    const curve = liquid.curves[0];
    const left = leaveOut(curve.joint, block, () => true);
    const well = coolantLeftOut(liquid.coolant, block, () => true)!;
    const shift_K = new Float64Array(liquid.data.runs.length).fill(4);
    const moved = { ...well, residual_K: well.residual_K.map((value) => value + 4) };
    const node = (coolant_share: number) => [{ weight: 1, size: 1, shift_K, coolant_share }];
    const log = (coolant: typeof well, share: number) =>
      coolantLogs(coolant, left, 'airflow', node(share))[0];
    expect(log(moved, 1)).toBeGreaterThan(log(moved, 0) + 10);
    expect(log(moved, 0)).toBeGreaterThan(log(moved, -1) + 10);
    expect(log(well, 0)).toBeGreaterThan(log(well, 1) + 10);
    expect(coolantUnexplained(moved)).toBeGreaterThan(coolantUnexplained(well));
    expect(coolantUnexplained(well)).toBeGreaterThan(Math.log(0.5) - 1e-12);
  });

  it('are silent where the block or its judges have none', () => {
    const [block] = blocks;
    expect(coolantLeftOut(undefined, block, () => true)).toBeUndefined();
    expect(coolantLeftOut(liquid.coolant, block, () => false)).toBeUndefined();
  });
});
