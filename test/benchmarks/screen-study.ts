/** Benches of about 100 runs with whole mounts gone wrong, and what the screening makes of them. */
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { benchPosterior } from '../../src/fit/bench-posterior.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';
import type { Fault, VirtualBenchOptions } from '../../src/lab/bench-options.ts';
import { labData } from '../../src/lab/lab-data.generated.ts';
import { makeRandom, type Random } from '../../src/lab/random.ts';
import { randomCoolers } from '../../src/lab/random-coolers.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { judge, judgedCoolers } from '../../src/screen/judge.ts';
import { mountsOf } from '../../src/screen/suspects.ts';
import { liquidCoolers } from './liquid-coolers.ts';

export const KINDS = ['interface', 'airflow', 'leak', 'sensor', 'pipe-limit'] as const;
/** Liquid coolers have no pipes, and a pump. */
export const LIQUID_KINDS = ['interface', 'airflow', 'leak', 'sensor', 'pump'] as const;
export type Kind = (typeof KINDS)[number] | (typeof LIQUID_KINDS)[number];

export interface ScreenLayout {
  readonly coolers: number;
  readonly kind: 'air' | 'liquid';
  readonly options: Partial<VirtualBenchOptions>;
}

const AIR: Record<string, Omit<ScreenLayout, 'kind'>> = {
  /** 5 coolers × 2 samples × 2 mounts × 5 conditions. */
  speeds: {
    coolers: 5,
    options: {
      samples: 2,
      mounts: 2,
      conditions: [
        { power_W: 60, speed: 1 },
        { power_W: 120, speed: 1 },
        { power_W: 180, speed: 1 },
        { power_W: 120, speed: 0.75 },
        { power_W: 180, speed: 0.55 },
      ],
    },
  },
  /** 8 coolers × 2 samples × 2 mounts × 3 loads, one speed. */
  loads: { coolers: 8, options: { samples: 2, mounts: 2, loads_W: [60, 120, 180], speeds: [1] } },
  /** 5 coolers × 1 sample × 5 mounts × 4 conditions. */
  mounts: {
    coolers: 5,
    options: {
      samples: 1,
      mounts: 5,
      conditions: [
        { power_W: 70, speed: 1 },
        { power_W: 140, speed: 1 },
        { power_W: 210, speed: 1 },
        { power_W: 140, speed: 0.6 },
      ],
    },
  },
};

const THERMOMETERS = {
  '': undefined,
  '-behind': { at: 'behind-plate' },
  '-before': { at: 'before-plate' },
} as const;

/** The same layouts with liquid coolers, their coolant not read, read behind the plate, or read before it. */
const LIQUID = Object.entries(AIR).flatMap(([name, { coolers, options }]) =>
  Object.entries(THERMOMETERS).map(([where, coolant]): [string, ScreenLayout] => [
    `liquid-${name}${where}`,
    { coolers, kind: 'liquid', options: { ...options, ...(coolant && { coolant }) } },
  ]),
);

/** 5 coolers × 1 sample × 4 mounts × 4 conditions over four sessions, the sensors and the paste of each its own; the first cooler in all of them. */
const SESSIONS: ScreenLayout = {
  coolers: 5,
  kind: 'air',
  options: {
    ...AIR.mounts.options,
    mounts: 4,
    sessions: ['a', 'b', 'c', 'd'],
    reference_cooler: 'cooler-1',
    scatter: { mount_K_per_W: 0.0035, sample_K_per_W: 0.003, session_K_per_W: 0.003 },
  },
};

export const LAYOUTS: Record<string, ScreenLayout> = {
  sessions: SESSIONS,
  ...Object.fromEntries(
    Object.entries(AIR).map(([name, layout]): [string, ScreenLayout] => [name, { ...layout, kind: 'air' }]),
  ),
  ...Object.fromEntries(LIQUID),
};

export function kindsOf(layout: string): readonly Kind[] {
  return LAYOUTS[layout].kind === 'liquid' ? LIQUID_KINDS : KINDS;
}

export interface Planted {
  readonly bench: Bench;
  readonly cooler: string;
  readonly sample: string;
  readonly mount: string;
  readonly kind: Kind | undefined;
  /** Shift of the mount's runs over the standard deviation with which they are judged, by the best contrast. */
  readonly sizes: () => number;
}

/** One bench, with a fault of a kind on one random mount; `undefined` kind: a healthy bench. */
export function plant(layout: string, seed: number, kind: Kind | undefined): Planted {
  const { coolers, options, kind: sort } = LAYOUTS[layout];
  const draw = makeRandom(seed).split('fault');
  const specs = sort === 'liquid' ? liquidCoolers(coolers, seed) : randomCoolers(coolers, seed);
  const leak = Number(draw.between(0.05, 0.3).toFixed(3));
  const base: VirtualBenchOptions = {
    seed,
    coolers: specs,
    noise_speeds: [],
    heaterLeak: { value: leak, uncertainty: Number((leak / 8).toFixed(4)) },
    scatter: { mount_K_per_W: draw.between(0.002, 0.005), sample_K_per_W: draw.between(0.001, 0.004) },
    ...options,
  };
  const candidates = kind === 'pipe-limit' ? specs.filter((spec) => spec.pipes) : specs;
  const spec = candidates[draw.integer(0, candidates.length - 1)];
  const sample = String(draw.integer(1, Number(options.samples)));
  const mount = String(draw.integer(1, options.mounts as number));
  const place = { cooler: spec.cooler, sample, mount };
  if (kind === undefined) {
    return { bench: readBench(makeVirtualBench(base).files), ...place, kind, sizes: () => 0 };
  }
  const { width_mm, length_mm } = labData.heater;
  const area = Math.min(width_mm, spec.base.width_mm) * Math.min(length_mm, spec.base.length_mm) * 1e-6;
  const paste = (spec.base.paste_um * 1e-6) / (spec.base.paste_W_per_mK * area);
  const fault = { ...place, ...sizeOf(kind, draw, paste, leak) };
  const well = readBench(makeVirtualBench(base).files);
  const bench = readBench(makeVirtualBench({ ...base, faults: [fault] }).files);
  return { bench, ...place, kind, sizes: () => sizesOf(well, bench, place) };
}

function sizeOf(kind: Kind, draw: Random, paste: number, leak: number): Fault {
  switch (kind) {
    case 'interface':
      return { interface_K_per_W: paste * (draw.between(1.8, 3) - 1) };
    case 'airflow':
      return { airflow_fraction: draw.between(0.45, 0.65) };
    case 'leak':
      return { leak_W_per_K: leak };
    case 'sensor':
      return { sensor_K: draw.between(2, 5) * (draw.uniform() < 0.5 ? -1 : 1) };
    case 'pipe-limit':
      return { pipe_limit_fraction: draw.between(0.3, 0.75) };
    case 'pump':
      return { pump_fraction: draw.between(0.18, 0.4) };
  }
}

/** √(δᵀS⁻¹δ): δ what the fault did to the runs, S the covariance with which a healthy bench judges that mount. */
export function sizesOf(
  well: Bench,
  bench: Bench,
  place: { cooler: string; sample: string; mount: string },
): number {
  const posterior = benchPosterior(well, shippedModels);
  const runs = mountsOf(well, 'heater').find(
    ([run]) => run.cooler === place.cooler && run.sample === place.sample && run.mount === place.mount,
  );
  const cooler = judgedCoolers(well, posterior).find((one) => one.cooler === place.cooler);
  if (!runs || !cooler) return 0;
  const { views } = judge(posterior, cooler, runs, () => true);
  const shifted = new Map(bench.runs.map((run) => [run.run, run.source_C - run.ambient_C]));
  const heaviest = views.reduce((a, b) => (b.left.joint.weight > a.left.joint.weight ? b : a)).left;
  const m = heaviest.block.length;
  let sum = 0;
  const scaled: number[] = [];
  heaviest.block.forEach((row, i) => {
    const run = heaviest.joint.data.runs[row];
    let value = (shifted.get(run.run) as number) - (run.source_C - run.ambient_C);
    for (let k = 0; k < i; k++) value -= heaviest.factor[i * m + k] * scaled[k];
    scaled[i] = value / heaviest.factor[i * m + i];
    sum += scaled[i] ** 2;
  });
  return Math.sqrt(sum);
}
