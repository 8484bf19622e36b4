/**
 * Predictions on a chip for coolers that were run on the heater alone, on virtual benches, by how many others were run on
 * the chip.
 */
import { readBench } from '../../src/bench/read-bench.ts';
import { posteriorFor } from '../../src/fit/posterior-for.ts';
import type { VirtualBenchOptions } from '../../src/lab/bench-options.ts';
import { labData } from '../../src/lab/lab-data.generated.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { sourceTermResult } from '../../src/predict/chip-term-result.ts';
import { predictFrom } from '../../src/predict/predict.ts';

/** Loads asked for on the chip, W. */
export const ASKED_W = [80, 120, 160];
const COOLERS = 6;

/** A bench of six coolers of which the first few were run on the chip too, at two loads. */
export function chipBench(seed: number, onChip: number): VirtualBenchOptions {
  const names = Array.from({ length: onChip }, (_, k) => `cooler-${k + 1}`);
  return {
    seed,
    coolers: COOLERS,
    samples: 2,
    mounts: 2,
    loads_W: [60, 120, 180],
    speeds: [1],
    noise_speeds: [],
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
    chips: [{ chip: labData.chips[0], coolers: names, loads_W: [70, 140], mounts: 1 }],
  };
}

export interface ChipTally {
  onChip: number;
  /** Share of true means and of fresh readings inside, mean over benches, and the standard error of each, in per cent. */
  mean: number;
  meanError: number;
  run: number;
  runError: number;
  /** Median full width over the rise, in per cent. */
  meanWidth: number;
  runWidth: number;
  bias_K: number;
  /** Left-out coolers inside their interval, in per cent, and the median scatter between coolers found. */
  leftOut: number;
  scatter: number;
}

/** Coverage of the coolers that were not run on the chip. */
export function chipCoverage(benches: number, first: number, onChip: number): ChipTally {
  const means: number[] = [];
  const runs: number[] = [];
  const meanWidths: number[] = [];
  const runWidths: number[] = [];
  const scatters: number[] = [];
  let error = 0;
  let count = 0;
  let left = 0;
  let leftInside = 0;
  const chip = labData.chips[0].source;
  for (let b = 0; b < benches; b++) {
    const seed = first + b;
    const { files, truth } = makeVirtualBench(chipBench(seed, onChip));
    const bench = readBench(files);
    const posterior = posteriorFor(bench, chip);
    const result = sourceTermResult(posterior);
    if (result) {
      const { cross_validation, scatter_K_per_W } = result;
      left += cross_validation.count;
      leftInside += cross_validation.inside;
      scatters.push(scatter_K_per_W.value);
    }
    const ran = new Set(bench.runs.filter((run) => run.source === chip).map((run) => run.cooler));
    let inMean = 0;
    let inRun = 0;
    let asked = 0;
    for (const p of predictFrom(posterior, { power_W: ASKED_W }).predictions) {
      if (ran.has(p.cooler)) continue;
      asked++;
      const rise = truth.rise_K(p.cooler, p.power_W, p.fan_rpm, chip);
      if (rise >= p.mean_low_K && rise <= p.mean_high_K) inMean++;
      const fresh = 4;
      for (let k = 0; k < fresh; k++) {
        const reading = truth.freshRun(p.cooler, p.power_W, p.fan_rpm, 1000 * seed + k, chip);
        if (reading >= p.run_low_K && reading <= p.run_high_K) inRun += 1 / fresh;
      }
      meanWidths.push((p.mean_high_K - p.mean_low_K) / rise);
      runWidths.push((p.run_high_K - p.run_low_K) / rise);
      error += p.rise_K - rise;
      count++;
    }
    means.push(inMean / asked);
    runs.push(inRun / asked);
  }
  const [mean, meanError] = average(means);
  const [run, runError] = average(runs);
  return {
    onChip,
    mean: 100 * mean,
    meanError: 100 * meanError,
    run: 100 * run,
    runError: 100 * runError,
    meanWidth: 100 * median(meanWidths),
    runWidth: 100 * median(runWidths),
    bias_K: error / count,
    leftOut: left > 0 ? (100 * leftInside) / left : Number.NaN,
    scatter: median(scatters),
  };
}

function average(values: readonly number[]): [number, number] {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  const spread = values.reduce((a, v) => a + (v - mean) ** 2, 0) / Math.max(values.length - 1, 1);
  return [mean, Math.sqrt(spread / values.length)];
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
}
