/**
 * Benches of usual size, few coolers and few mounts, with whole mounts gone wrong: what is found, with which cause, and what healthy benches are blamed for.
 *
 * Run: node test/benchmarks/run.mjs screen-small [benches] [first seed] [layouts, all] [--lab second] [--only healthy,one,two,many]; SHOW=1 lists what went wrong
 *
 * - `healthy`: nothing is wrong.
 * - `one`: a fault of a random kind on one mount; counted are those of more than eight standard deviations of what judges the mount.
 * - `two`: a film of 0.025 K/W on a mount of one cooler and of 0.05 K/W on a mount of another.
 * - `many`: films of 0.02 to 0.06 K/W on 20 to 50 % of the mounts, at most one a cooler.
 */

import { screen } from '../../src/answers/screen.ts';
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import type { Fault, VirtualBenchOptions } from '../../src/lab/bench-options.ts';
import { curveCoolers } from '../../src/lab/curve-coolers.ts';
import { makeRandom, type Random } from '../../src/lab/random.ts';
import { randomCoolers } from '../../src/lab/random-coolers.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { sizesOf } from './screen-study.ts';

const CONDITIONS = [
  { power_W: 60, speed: 1 },
  { power_W: 110, speed: 1 },
  { power_W: 160, speed: 1 },
  { power_W: 110, speed: 0.6 },
  { power_W: 160, speed: 0.6 },
];
interface Layout {
  readonly coolers: number;
  readonly mounts: number;
  /** The hottest load at the lowest speed is run on the first mount of each cooler alone. */
  readonly corner?: boolean;
}
const LAYOUTS: Record<string, Layout> = {
  '6x2': { coolers: 6, mounts: 2 },
  '4x3': { coolers: 4, mounts: 3 },
  '12x2': { coolers: 12, mounts: 2 },
  '3x2': { coolers: 3, mounts: 2 },
  corner: { coolers: 6, mounts: 2, corner: true },
};
const SCENES = ['healthy', 'one', 'two', 'many'] as const;
type Scene = (typeof SCENES)[number];
const KINDS = ['interface', 'airflow', 'leak', 'sensor', 'pipe-limit'] as const;

const words = process.argv.slice(2);
const option = (name: string): string | undefined => {
  const at = words.indexOf(name);
  return at < 0 ? undefined : words.splice(at, 2)[1];
};
const lab = option('--lab') ?? 'first';
const scenes = (option('--only')?.split(',') ?? SCENES) as Scene[];
const [benches = '50', first = '1', ...layouts] = words;

function faultOf(draw: Random, kind: (typeof KINDS)[number], leak: number): Fault {
  if (kind === 'interface') return { interface_K_per_W: draw.between(0.02, 0.08) };
  if (kind === 'airflow') return { airflow_fraction: draw.between(0.3, 0.6) };
  if (kind === 'leak') return { leak_W_per_K: leak + draw.between(0.1, 0.4) };
  if (kind === 'sensor') return { sensor_K: draw.between(2.5, 6) * (draw.uniform() < 0.5 ? -1 : 1) };
  return { pipe_limit_fraction: draw.between(0.25, 0.5) };
}

function plant(
  layout: Layout,
  seed: number,
  scene: Scene,
): { bench: Bench; faults: Fault[]; kind?: string; size: () => number } {
  const draw = makeRandom(seed).split('fault');
  const coolers = lab === 'second' ? curveCoolers(layout.coolers, seed) : randomCoolers(layout.coolers, seed);
  const leak = Number(draw.between(0.05, 0.3).toFixed(3));
  const options: VirtualBenchOptions = {
    seed,
    coolers,
    samples: 1,
    mounts: layout.mounts,
    conditions: CONDITIONS,
    noise_speeds: [],
    heaterLeak: { value: leak, uncertainty: Number((leak / 8).toFixed(4)) },
    scatter: { mount_K_per_W: draw.between(0.002, 0.005), sample_K_per_W: draw.between(0.001, 0.004) },
  };
  const place = () => ({ sample: '1', mount: String(draw.integer(1, layout.mounts)) });
  const order = coolers.map(({ cooler }) => ({ cooler, at: draw.uniform() })).sort((a, b) => a.at - b.at);
  let faults: Fault[] = [];
  let kind: (typeof KINDS)[number] = 'interface';
  if (scene === 'one') {
    const withPipes = new Set(
      coolers.filter((spec) => 'pipes' in spec && spec.pipes).map(({ cooler }) => cooler),
    );
    const { cooler } = order[0];
    const kinds = withPipes.has(cooler) ? KINDS : KINDS.slice(0, 4);
    kind = kinds[draw.integer(0, kinds.length - 1)];
    faults = [{ cooler, ...place(), ...faultOf(draw, kind, leak) }];
  } else if (scene === 'two') {
    faults = [0.025, 0.05].map((interface_K_per_W, k) => ({
      cooler: order[k].cooler,
      ...place(),
      interface_K_per_W,
    }));
  } else if (scene === 'many') {
    const count = draw.integer(
      Math.ceil(0.2 * layout.coolers * layout.mounts),
      Math.floor(0.5 * layout.coolers * layout.mounts),
    );
    faults = order
      .slice(0, count)
      .map(({ cooler }) => ({ cooler, ...place(), interface_K_per_W: draw.between(0.02, 0.06) }));
  }
  const make = (these: Fault[]): Bench => {
    const bench = readBench(makeVirtualBench({ ...options, faults: these }).files);
    if (!layout.corner) return bench;
    const isCorner = (run: Bench['runs'][number]) =>
      run.mount !== '1' && run.power_W > 150 && run.fan_rpm < 0.7 * most.get(run.cooler)!;
    const most = new Map(
      bench.coolers.map(({ cooler }) => [
        cooler,
        Math.max(...bench.runs.filter((run) => run.cooler === cooler).map((run) => run.fan_rpm)),
      ]),
    );
    return { ...bench, runs: bench.runs.filter((run) => !isCorner(run)) };
  };
  const bench = make(faults);
  return {
    bench,
    faults,
    kind,
    size: () => sizesOf(make([]), bench, faults[0] as { cooler: string; sample: string; mount: string }),
  };
}

for (const name of layouts.length > 0 ? layouts : Object.keys(LAYOUTS)) {
  for (const scene of scenes) {
    const layout = LAYOUTS[name];
    let counted = 0,
      found = 0,
      cause = 0,
      pair = 0,
      alarmed = 0,
      byMount = 0,
      elapsed = 0,
      healthy = 0,
      falsely = 0;
    const kinds = new Map<string, [number, number, number]>();
    for (let b = 0; b < Number(benches); b++) {
      const seed = Number(first) + b;
      const planted = plant(layout, seed, scene);
      if (scene === 'one' && planted.size() <= 8) continue;
      const begin = performance.now();
      const { mounts, runs } = screen(planted.bench);
      elapsed += performance.now() - begin;
      const strange = mounts.filter((one) => one.verdict !== 'ok');
      const isBad = (one: { cooler: string; mount: string }) =>
        planted.faults.some((f) => f.cooler === one.cooler && f.mount === one.mount);
      for (const fault of planted.faults) {
        counted++;
        const hit = strange.find((one) => one.cooler === fault.cooler && one.mount === fault.mount);
        if (hit) found++;
        if (strange.some((one) => one.cooler === fault.cooler)) pair++;
        if (hit?.likely_cause === planted.kind) cause++;
        const tally = kinds.get(planted.kind!) ?? [0, 0, 0];
        kinds.set(planted.kind!, [
          tally[0] + 1,
          tally[1] + (hit ? 1 : 0),
          tally[2] + (hit?.likely_cause === planted.kind ? 1 : 0),
        ]);
        if (process.env.SHOW && hit?.likely_cause !== planted.kind)
          console.log(
            `  ${name} ${scene} ${seed} ${JSON.stringify(fault)} size ${planted.size().toFixed(1)}: ${
              hit
                ? hit.causes
                    .slice(0, 3)
                    .map((c) => `${c.cause} ${c.probability.toFixed(2)}`)
                    .join()
                : 'missed'
            }; flags ${strange.map((o) => `${o.cooler}/${o.mount} ${o.p.toExponential(1)} ${o.causes.slice(0, 3).map((c) => `${c.cause} ${c.probability.toFixed(2)}`)}`)} runs ${runs.filter((r) => r.verdict !== 'ok').map((r) => `${r.run} ${r.residual_K.toFixed(1)}`)}`,
          );
      }
      healthy += mounts.length - planted.faults.length;
      const wrong = strange.filter((one) => !isBad(one));
      falsely += wrong.length;
      if (wrong.length > 0) byMount++;
      const bad = new Set(planted.bench.runs.filter(isBad as never).map((run) => run.run));
      const lone = runs.filter((run) => run.verdict !== 'ok' && !bad.has(run.run));
      if (wrong.length > 0 || lone.length > 0) {
        alarmed++;
        if (process.env.SHOW)
          console.log(
            `  ${name} ${scene} ${seed} false: ${wrong.map((o) => `${o.cooler}/${o.mount} ${o.p.toExponential(1)} ${o.likely_cause}`)} runs ${lone.map((r) => `${r.run} ${r.residual_K.toFixed(1)} p ${r.p.toExponential(1)} ${r.cause} ${JSON.stringify(planted.bench.runs.find((x) => x.run === r.run))}`)}`,
          );
      }
    }
    const of = (n: number, all: number) => `${n} of ${all} = ${((100 * n) / Math.max(all, 1)).toFixed(0)} %`;
    const rest = `any false flag on ${of(alarmed, Number(benches))} (a mount ${byMount}; ${falsely} of ${healthy} mounts); ${(elapsed / Number(benches)).toFixed(0)} ms`;
    const hits =
      counted > 0
        ? `found ${of(found, counted)}, cooler ${of(pair, counted)}, cause ${of(cause, found)}; ${[...kinds].map(([k, v]) => `${k} ${v.join('/')}`).join(', ')}; `
        : '';
    console.log(`${name} ${scene}: ${hits}${rest}`);
  }
}
