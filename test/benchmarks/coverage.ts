/**
 * Coverage of the intervals on virtual benches whose physics is richer than the formulas fitted to them.
 *
 * Run: node test/benchmarks/run.mjs coverage [benches] [first seed] [setting]
 */
import { readBench } from '../../src/bench/read-bench.ts';
import type { VirtualBenchOptions } from '../../src/lab/bench-options.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { shippedModels } from '../../src/model/shipped-models.ts';
import { benchPosterior } from '../../src/posterior/bench-posterior.ts';
import { predictFrom } from '../../src/prediction/predict.ts';

/** Layouts of benches, from the demo's to a lean one. */
const SETTINGS: Record<string, (seed: number) => VirtualBenchOptions> = {
  plain: (seed) => ({
    seed,
    coolers: 6,
    samples: 2,
    mounts: 2,
    loads_W: [60, 120, 180],
    speeds: [1],
    noise_speeds: [],
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
  }),
  speeds: (seed) => ({
    seed,
    coolers: 8,
    samples: 2,
    mounts: 2,
    loads_W: [80, 140, 200],
    speeds: [0.5, 1],
    noise_speeds: [],
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
    scatter: { mount_K_per_W: 0.008, sample_K_per_W: 0.003, reading_K: 0.15 },
  }),
  lean: (seed) => ({
    seed,
    coolers: 4,
    samples: 1,
    mounts: 2,
    loads_W: [60, 120, 180],
    speeds: [1],
    noise_speeds: [],
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
  }),
  big: (seed) => ({
    seed,
    coolers: 12,
    samples: 2,
    mounts: 2,
    loads_W: [50, 100, 150, 200],
    speeds: [1],
    noise_speeds: [],
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
    scatter: { mount_K_per_W: 0.004, sample_K_per_W: 0.006, reading_K: 0.05 },
  }),
};

const ZONES = ['below', 'inside', 'to 1.25x', '1.25-2x'] as const;

interface Tally {
  run: number;
  mean: number;
  count: number;
  width: number;
  oracle: number;
  error: number;
  score: number;
}

export function coverage(benches: number, first: number, setting: string): string[] {
  const make = SETTINGS[setting];
  if (!make) throw new RangeError(`setting ${setting}; known are ${Object.keys(SETTINGS).join(', ')}`);
  const tallies = new Map<string, Tally>(
    ZONES.map((zone) => [zone, { run: 0, mean: 0, count: 0, width: 0, oracle: 0, error: 0, score: 0 }]),
  );
  const perBench = new Map<string, number[]>(ZONES.map((zone) => [zone, []]));
  const sigmas: number[][] = [];
  let elapsed = 0;
  for (let b = 0; b < benches; b++) {
    const seed = first + b;
    const options = make(seed);
    const { files, truth } = makeVirtualBench(options);
    const begin = performance.now();
    const bench = readBench(files);
    const posterior = benchPosterior(bench, shippedModels);
    elapsed += performance.now() - begin;
    sigmas.push([...posterior.scatter.sigma]);
    const top = Math.max(...(options.loads_W as number[]));
    const least = Math.min(...(options.loads_W as number[]));
    const grid = [0.5, 0.75].map((f) => f * least).concat([0, 0.25, 0.5, 0.75, 1].map((f) => least + f * (top - least)), [1.1, 1.2, 1.25, 1.4, 1.6, 1.8, 2].map((f) => f * top));
    const { predictions } = predictFrom(posterior, { power_W: grid });
    const hits = new Map<string, [number, number]>();
    for (const p of predictions) {
      const ratio = p.power_W / top;
      const zone = p.power_W < least ? 'below' : ratio <= 1.0001 ? 'inside' : ratio <= 1.2501 ? 'to 1.25x' : '1.25-2x';
      const tally = tallies.get(zone) as Tally;
      const rise = truth.rise_K(p.cooler, p.power_W, p.fan_rpm);
      const fresh = 4;
      let inside = 0;
      for (let k = 0; k < fresh; k++) {
        const reading = truth.freshRun(p.cooler, p.power_W, p.fan_rpm, 1000 * seed + k);
        if (reading >= p.run_low_K && reading <= p.run_high_K) inside++;
        const miss = Math.max(p.run_low_K - reading, reading - p.run_high_K, 0);
        tally.score += (p.run_high_K - p.run_low_K + (2 / 0.05) * miss) / fresh;
      }
      tally.run += inside / fresh;
      tally.mean += rise >= p.mean_low_K && rise <= p.mean_high_K ? 1 : 0;
      tally.count++;
      tally.width += p.run_high_K - p.run_low_K;
      tally.error += p.rise_K - rise;
      const base = p.power_W;
      const { mount_K_per_W, sample_K_per_W, reading_K } = truth.scatter;
      tally.oracle += 2 * 1.96 * Math.hypot(base * mount_K_per_W, base * sample_K_per_W, reading_K);
      const h = hits.get(zone) ?? [0, 0];
      h[0] += inside / fresh;
      h[1]++;
      hits.set(zone, h);
    }
    for (const [zone, [hit, count]] of hits) perBench.get(zone)?.push(hit / count);
  }
  const lines = [`${setting}: ${benches} benches, ${(elapsed / benches).toFixed(0)} ms each`];
  for (const zone of ZONES) {
    const t = tallies.get(zone) as Tally;
    const rates = perBench.get(zone) as number[];
    const average = rates.reduce((a, b) => a + b, 0) / rates.length;
    const error = Math.sqrt(rates.reduce((a, r) => a + (r - average) ** 2, 0) / (rates.length - 1) / rates.length);
    lines.push(
      `  ${zone.padEnd(9)} fresh run ${(100 * average).toFixed(1)} ± ${(100 * error).toFixed(1)} %  mean ${((100 * t.mean) / t.count).toFixed(1)} %  ` +
        `width ${(t.width / t.count).toFixed(2)} K = ${(t.width / t.oracle).toFixed(2)} × oracle  score ${(t.score / t.count).toFixed(2)} K  bias ${(t.error / t.count).toFixed(2)} K`,
    );
  }
  const mid = (k: number) => sigmas.map((s) => s[k]).sort((a, b) => a - b)[Math.floor(sigmas.length / 2)];
  lines.push(`  median scatter: sample ${mid(0).toFixed(4)} mount ${mid(1).toFixed(4)} reading ${mid(3).toFixed(3)} shape ${mid(4).toFixed(4)}`);
  return lines;
}

const [benches = '40', first = '1', ...settings] = process.argv.slice(2);
for (const setting of settings.length > 0 ? settings : Object.keys(SETTINGS)) {
  for (const line of coverage(Number(benches), Number(first), setting)) console.log(line);
}
