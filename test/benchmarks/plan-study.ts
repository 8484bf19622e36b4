/** Benches of close coolers, plans for them, and the plans carried out on the lab as it truly is. */
import type { Bench, Run } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { compareFrom } from '../../src/compare/compare.ts';
import { climber } from '../../src/design/on-sheet.ts';
import { posteriorOf } from '../../src/fit/posterior-of.ts';
import { trueCooler } from '../../src/lab/bench-draws.ts';
import type { AnyCooler } from '../../src/lab/bench-options.ts';
import { curveCoolers } from '../../src/lab/curve-coolers.ts';
import { labData } from '../../src/lab/lab-data.generated.ts';
import { makeRandom } from '../../src/lab/random.ts';
import { randomCoolers } from '../../src/lab/random-coolers.ts';
import { type BenchTruth, makeVirtualBench, type VirtualBenchOptions } from '../../src/lab/virtual-bench.ts';

export interface Setting {
  readonly target_W: number;
  readonly coolers: number;
  /** Greatest less least true rise at the target, K, about. */
  readonly within_K: number;
  readonly options: Partial<VirtualBenchOptions>;
}

export const SETTINGS: Record<string, Setting> = {
  /** Loads well below the target, two samples. */
  beyond: {
    target_W: 200,
    coolers: 6,
    within_K: 9,
    options: {
      samples: 2,
      mounts: 1,
      loads_W: [60, 100, 140],
      scatter: { mount_K_per_W: 0.005, sample_K_per_W: 0.002 },
    },
  },
  /** The target among the loads run. */
  inside: {
    target_W: 180,
    coolers: 6,
    within_K: 8,
    options: {
      samples: 2,
      mounts: 1,
      loads_W: [60, 120, 180],
      scatter: { mount_K_per_W: 0.006, sample_K_per_W: 0.002 },
    },
  },
  /** A target far above the loads run, where limits of pipes decide. */
  far: {
    target_W: 270,
    coolers: 6,
    within_K: 14,
    options: {
      samples: 2,
      mounts: 2,
      loads_W: [60, 120, 180],
      scatter: { mount_K_per_W: 0.004, sample_K_per_W: 0.002 },
    },
  },
  /** Coolers as they come, few runs each. */
  field: {
    target_W: 180,
    coolers: 8,
    within_K: 20,
    options: {
      samples: 2,
      mounts: 1,
      loads_W: [60, 180],
      scatter: { mount_K_per_W: 0.005, sample_K_per_W: 0.002 },
    },
  },
  /** More coolers, one sample each. */
  many: {
    target_W: 180,
    coolers: 10,
    within_K: 12,
    options: {
      samples: 1,
      mounts: 2,
      loads_W: [60, 120],
      scatter: { mount_K_per_W: 0.005, sample_K_per_W: 0.002 },
    },
  },
};

export interface CloseBench {
  readonly bench: Bench;
  readonly truth: BenchTruth;
  readonly setting: Setting;
  readonly seed: number;
}

/**
 * A bench of coolers that lie close together at the target.
 *
 * @param name  a setting, then `/second` for coolers of the second lab and `/any` for coolers as they come, however far apart
 */
export function closeBench(name: string, seed: number): CloseBench {
  const [key, ...how] = name.split('/');
  const setting = SETTINGS[key];
  if (!setting || how.some((one) => one !== 'second' && one !== 'any')) {
    throw new RangeError(
      `setting ${name}; known are ${Object.keys(SETTINGS).join(', ')}, with /second, /any`,
    );
  }
  const drawn: AnyCooler[] = how.includes('second') ? curveCoolers(60, seed) : randomCoolers(60, seed);
  const { files, truth } = makeVirtualBench({
    seed,
    coolers: how.includes('any') ? drawn.slice(0, setting.coolers) : close(drawn, setting, seed),
    noise_speeds: [],
    heaterLeak: { value: 0.05, uncertainty: 0.01 },
    ...setting.options,
  });
  return { bench: readBench(files), truth, setting, seed };
}

/** Coolers of which the hottest is about `within_K` above the coolest at the target, that one being among the coolest third. */
function close(drawn: readonly AnyCooler[], setting: Setting, seed: number): AnyCooler[] {
  const ordered = drawn
    .map((spec) => ({
      spec,
      rise: trueCooler(spec, labData.heater).rise({
        power_W: setting.target_W,
        fan_rpm: spec.fan.max_rpm,
      }),
    }))
    .sort((a, b) => a.rise - b.rise);
  const random = makeRandom(seed).split('close');
  const least = ordered[random.integer(5, 25)].rise;
  const near = ordered.filter(({ rise }) => rise >= least && rise <= least + setting.within_K);
  return [...near]
    .sort(() => random.uniform() - 0.5)
    .slice(0, setting.coolers)
    .map(({ spec }) => spec);
}

export interface Doable {
  readonly cooler: string;
  readonly sample: string;
  readonly power_W: number;
  readonly fan_rpm: number;
  readonly remount: boolean;
}

/**
 * The bench with some runs done on the lab as it truly is.
 *
 * The k-th fresh mount of a sample has the same effect whatever else is run, and so has the k-th run of a cooler at whatever load: plans are compared
 * on common random numbers.
 */
export function done({ bench, truth, seed }: CloseBench, runs: readonly Doable[], stream: string): Bench {
  const random = makeRandom(seed).split('done').split(stream);
  const [session] = truth.sessions;
  const counted = new Map<string, number>();
  const next = (key: string): number => {
    counted.set(key, (counted.get(key) ?? 0) + 1);
    return counted.get(key) as number;
  };
  let mount = 0;
  let effect = 0;
  const added = runs.map((one, k): Run => {
    const fitting = `${one.cooler}/${one.sample}`;
    if (one.remount || k === 0) {
      mount = k;
      effect = random.split(`mount/${fitting}/${next(fitting)}`).normal(0, truth.scatter.mount_K_per_W);
    }
    const reading = random.split(`reading/${one.cooler}/${next(one.cooler)}`);
    const power = one.power_W / (1 + session.power_scale);
    const rise = truth.rise_K(one.cooler, power, one.fan_rpm);
    const heat = power - truth.leak_W_per_K * rise;
    const series =
      effect + (truth.sample_K_per_W.get(`${one.cooler}/${one.sample}`) ?? 0) + session.paste_K_per_W;
    const ambient_C = 22 + reading.normal(0, 0.3);
    const source =
      ambient_C + rise + heat * series + session.source_offset_K + reading.normal(0, truth.scatter.reading_K);
    return {
      run: `new-${k}`,
      cooler: one.cooler,
      sample: one.sample,
      mount: `new-${mount}`,
      source: 'heater',
      power_W: one.power_W,
      fan_rpm: one.fan_rpm,
      source_C: Number(source.toFixed(1)),
      ambient_C: Number((ambient_C + session.ambient_offset_K).toFixed(1)),
      extra: {},
      line: 0,
    };
  });
  return { ...bench, runs: [...bench.runs, ...added] };
}

/** Minutes of a visit with some loads on a fresh mount, and of a load on the way up to one never run, as usual. */
const REMOUNT = 15;
const SETTLE = 30;
const CLIMB = 10;
/** Minutes of a fresh mount run at one load. */
export const MINUTES_A_MOUNT = REMOUNT + SETTLE;

/**
 * Loads spread evenly over the coolers: cooler after cooler, sample after sample, each freshly fitted and run at some loads from the least to the target;
 * climbs to loads never run count as they do in a plan.
 *
 * @param loads  how many evenly spread loads there are; one is the target
 * @param perMount  how many of them on one mount
 */
export function evenSpread(
  { bench, truth, setting }: CloseBench,
  hours: number,
  loads: number,
  perMount: number,
): Doable[] {
  const names = bench.coolers.map((one) => one.cooler);
  const least = Math.min(...bench.runs.map((run) => run.power_W));
  const grid =
    loads === 1
      ? [setting.target_W]
      : Array.from({ length: loads }, (_, k) =>
          Math.round(least + ((setting.target_W - least) * k) / (loads - 1)),
        );
  const out: Doable[] = [];
  const climb = climber(bench);
  let minutes = 0;
  for (let visit = 0; ; visit++) {
    const cooler = names[visit % names.length];
    const round = Math.floor(visit / names.length);
    const samples = [...new Set(bench.runs.filter((run) => run.cooler === cooler).map((run) => run.sample))];
    const own = Array.from({ length: perMount }, (_, k): Doable => {
      const place = visit * perMount + (perMount - 1 - k) + round;
      const power_W = grid[(2 * grid.length - 1 - (place % grid.length)) % grid.length];
      const sample = samples[round % samples.length];
      return { cooler, sample, power_W, fan_rpm: truth.fan_max_rpm(cooler), remount: k === 0 };
    });
    const climbs = own.reduce((sum, { power_W }) => sum + climb('heater', cooler, power_W).length, 0);
    minutes += REMOUNT + SETTLE * perMount + CLIMB * climbs;
    if (minutes > 60 * hours) return out;
    out.push(...own);
  }
}

export interface Judged {
  /** Pairs truly over 1 K apart that the starting data leave unresolved, by name. */
  readonly wanted: ReadonlySet<string>;
  told(bench: Bench): { wanted: number; wrong: number; all: number };
}

/** What counts: the pairs truly over 1 K apart and not told apart at the start. */
export function judged({ bench, truth, setting }: CloseBench): Judged {
  const { target_W } = setting;
  const truly = (a: string, b: string) =>
    truth.rise_K(a, target_W, truth.fan_max_rpm(a)) - truth.rise_K(b, target_W, truth.fan_max_rpm(b));
  const pairsOf = (one: Bench) => compareFrom(posteriorOf(one), { power_W: [target_W] }).pairs;
  const wanted = new Set(
    pairsOf(bench)
      .filter(({ a, b, resolved }) => resolved.length === 0 && Math.abs(truly(a, b)) > 1)
      .map(({ a, b }) => `${a}/${b}`),
  );
  return {
    wanted,
    told(one) {
      const count = { wanted: 0, wrong: 0, all: 0 };
      for (const { a, b, resolved } of pairsOf(one)) {
        if (resolved.length === 0) continue;
        count.all++;
        if ((resolved[0].better === a) !== truly(a, b) < 0) count.wrong++;
        else if (wanted.has(`${a}/${b}`)) count.wanted++;
      }
      return count;
    },
  };
}
