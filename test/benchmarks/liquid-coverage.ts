/**
 * Coverage of the intervals for liquid coolers: virtual ones with plate, loop and radiator of many sizes, alone or among air
 * coolers, with the pump at one speed or two.
 *
 * Run: node test/benchmarks/run.mjs liquid-coverage [benches] [first seed]
 */
import { readBench } from '../../src/bench/read-bench.ts';
import { benchPosterior } from '../../src/fit/bench-posterior.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';
import type { CoolerSpec } from '../../src/lab/cooler-spec.ts';
import { labData } from '../../src/lab/lab-data.generated.ts';
import { VirtualCooler } from '../../src/lab/physics.ts';
import { makeRandom } from '../../src/lab/random.ts';
import { randomCoolers } from '../../src/lab/random-coolers.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { predictFrom } from '../../src/predict/predict.ts';
import { liquidCoolers } from './liquid-coolers.ts';

const LOADS_W = [80, 150, 220];

interface Layout {
  liquid: number;
  air: number;
  speeds: number[];
  /** Relative pump speed of further runs at the middle load, on every mount. */
  slowPump?: number;
}

const LAYOUTS: Record<string, Layout> = {
  'one among four air coolers': { liquid: 1, air: 4, speeds: [1] },
  'two among four air coolers': { liquid: 2, air: 4, speeds: [1] },
  'five alone': { liquid: 5, air: 0, speeds: [1] },
  'two among four, fans at two speeds': { liquid: 2, air: 4, speeds: [0.5, 1] },
  'two among four, pump at two speeds': { liquid: 2, air: 4, speeds: [1], slowPump: 0.6 },
};

const [benches = '20', first = '1'] = process.argv.slice(2);
for (const [name, layout] of Object.entries(LAYOUTS)) {
  const zones = new Map<string, { count: number; mean: number; run: number; width: number; bias: number }>();
  const chosen = new Map<string, number>();
  for (let seed = Number(first); seed < Number(first) + Number(benches); seed++) {
    const specs = [...liquidCoolers(layout.liquid, seed), ...randomCoolers(layout.air, seed)];
    const { files, truth } = makeVirtualBench({
      seed,
      coolers: specs,
      samples: 1,
      mounts: 2,
      loads_W: LOADS_W,
      speeds: layout.speeds,
      noise_speeds: [],
      heaterLeak: { value: 0.05, uncertainty: 0.01 },
    });
    const bench = readBench(files);
    if (layout.slowPump !== undefined) {
      const share = layout.slowPump;
      const [session] = truth.sessions;
      const draw = makeRandom(seed).split('slow pump');
      const more = bench.runs.flatMap((run) => {
        const spec = specs.find(({ cooler }) => cooler === run.cooler) as CoolerSpec;
        if (!spec.loop || Math.abs(run.power_W - LOADS_W[1]) > 2) return [];
        const pump_rpm = share * spec.loop.pump_rpm;
        const rise = new VirtualCooler(spec, labData.heater).rise({
          power_W: run.power_W / (1 + session.power_scale),
          fan_rpm: run.fan_rpm,
          pump_rpm,
          leak_W_per_K: truth.leak_W_per_K,
          interface_K_per_W:
            (truth.sample_K_per_W.get(`${run.cooler}/1`) ?? 0) +
            (truth.mount_K_per_W.get(`${run.cooler}/1/heater/${run.mount}`) ?? 0) +
            session.paste_K_per_W,
        });
        const read = rise + session.source_offset_K - session.ambient_offset_K + draw.normal(0, 0.08);
        return [{ ...run, run: `${run.run}-slow`, pump_rpm, source_C: run.ambient_C + read }];
      });
      bench.runs.push(...more);
    }
    const posterior = benchPosterior(bench, shippedModels);
    for (const cooler of posterior.coolers) {
      if (cooler.data.cooler.kind !== 'liquid') continue;
      cooler.curves.forEach(({ curve }, m) => {
        const model = curve.model.name;
        chosen.set(model, (chosen.get(model) ?? 0) + cooler.weights[m]);
      });
    }
    for (const fan_percent of [...new Set([...layout.speeds.map((s) => 100 * s), 75])]) {
      const { predictions } = predictFrom(posterior, { power_W: [50, 100, 150, 200, 275, 350], fan_percent });
      for (const found of predictions) {
        if (!found.cooler.startsWith('liquid')) continue;
        const inside = found.power_W >= 80 && found.power_W <= 220;
        const ran = layout.speeds.some((s) => s * 100 === fan_percent);
        const speed = ran ? 'speed run' : layout.speeds.length > 1 ? 'speed between' : 'speed not run';
        const load = inside
          ? 'loads run'
          : found.power_W < 80
            ? 'below'
            : found.power_W < 300
              ? '1.25x'
              : '1.6x';
        const zone = `${load}, ${speed}`;
        const entry = zones.get(zone) ?? { count: 0, mean: 0, run: 0, width: 0, bias: 0 };
        const rise = truth.rise_K(found.cooler, found.power_W, found.fan_rpm);
        entry.count++;
        entry.width += found.mean_high_K - found.mean_low_K;
        entry.bias += found.rise_K - rise;
        if (found.mean_low_K <= rise && rise <= found.mean_high_K) entry.mean++;
        const draws = 5;
        for (let d = 0; d < draws; d++) {
          const fresh = truth.freshRun(found.cooler, found.power_W, found.fan_rpm, 1000 * seed + d);
          if (found.run_low_K <= fresh && fresh <= found.run_high_K) entry.run += 1 / draws;
        }
        zones.set(zone, entry);
      }
    }
  }
  const total = [...chosen.values()].reduce((a, b) => a + b, 0);
  const weights = [...chosen]
    .filter(([, w]) => w / total > 0.02)
    .map(([model, w]) => `${model} ${((100 * w) / total).toFixed(0)} %`);
  console.log(`${name}: ${weights.join(', ')}`);
  for (const [zone, { count, mean, run, width, bias }] of [...zones].sort()) {
    const percent = (n: number) => `${((100 * n) / count).toFixed(1)} %`;
    console.log(
      `  ${zone}: mean true ${percent(mean)}, fresh run ${percent(run)} of ${count}, width ${(width / count).toFixed(2)} K, bias ${(bias / count).toFixed(2)} K`,
    );
  }
}
