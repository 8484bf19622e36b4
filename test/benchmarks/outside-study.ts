/**
 * Rises from the logs of other benches, of known truth: each bench has logs of several lengths that are reduced together.
 *
 * usage: outside-study [benches] [logs of each length] [scenario,scenario …]
 */
import type { LogEntry } from '../../src/bench/bench.ts';
import { reduce } from '../../src/logs/reduce.ts';
import { benchOfLogs } from '../logs/bench-of-logs.ts';
import { seeded } from '../logs/make-logs.ts';
import {
  type OutsideLog,
  type OutsideRecipe,
  outsideBench,
  outsideCooler,
  outsideLog,
} from '../logs/outside-logs.ts';

interface Scenario {
  recipe: OutsideRecipe;
  lengths?: number[];
  kind?: 'air' | 'heavy' | 'liquid' | 'liquid-four';
  slow?: [number, number];
  count?: number;
}

const still: OutsideRecipe = { ...outsideBench, slow_K: 0, sway_K: 0 };
const scenarios: Record<string, Scenario> = {
  outside: { recipe: outsideBench },
  heavy: { recipe: outsideBench, kind: 'heavy' },
  still: { recipe: still },
  'short-only': { recipe: outsideBench, lengths: [700] },
  alone: { recipe: outsideBench, lengths: [700], count: 1 },
  memory10: { recipe: { ...outsideBench, memory_s: 10 } },
  memory60: { recipe: { ...outsideBench, memory_s: 60 } },
  memory600: { recipe: { ...outsideBench, memory_s: 600 } },
  lag: { recipe: { ...outsideBench, law: 90 } },
  ladder: { recipe: { ...outsideBench, law: 'ladder' } },
  slowest: { recipe: { ...outsideBench, law: 'slowest' } },
  shares: { recipe: { ...outsideBench, law: 'shares' } },
  periodic: { recipe: { ...outsideBench, periodic: true } },
  period120: { recipe: { ...outsideBench, periodic: true, sway_s: 120 } },
  period300: { recipe: { ...outsideBench, periodic: true, sway_s: 300 } },
  walk: { recipe: { ...outsideBench, slow_K: 0, walk_K: 0.1 } },
  filter: { recipe: { ...outsideBench, white_K: 0.1, filter_s: 20 } },
  'filter-still': { recipe: { ...outsideBench, white_K: 0.1, filter_s: 20, sway_K: 0 } },
  'filter-white': { recipe: { ...outsideBench, white_K: 0.1, filter_s: 20, slow_K: 0, sway_K: 0 } },
  'filter-slow': { recipe: { ...outsideBench, white_K: 0.02, filter_s: 20, sway_K: 0 } },
  'filter-5': { recipe: { ...outsideBench, white_K: 0.1, filter_s: 5, sway_K: 0 } },
  tenth: { recipe: { ...outsideBench, rounding_K: 0.1, ambientRounding_K: 0.1 } },
  third: { recipe: { ...outsideBench, rounding_K: 0.32, ambientRounding_K: 0.1, slow_K: 0.01 } },
  liquid: { recipe: outsideBench, kind: 'liquid' },
  four: {
    recipe: { ...outsideBench, slow_K: 0, white_K: 0.03, sway_K: 0.1 },
    kind: 'liquid-four',
    lengths: [2700],
  },
  'four-noisy': { recipe: outsideBench, kind: 'liquid-four', lengths: [2700] },
  'four-slow': {
    recipe: { ...outsideBench, slow_K: 0, white_K: 0.03, sway_K: 0.1 },
    kind: 'liquid-four',
    slow: [1500, 3000],
    lengths: [2700],
  },
};

const benches = Number(process.argv[2] ?? 5);
const perLength = Number(process.argv[3] ?? 12);
const wanted = (process.argv[4] ?? 'outside').split(',');
const names = wanted[0] === 'all' ? Object.keys(scenarios) : wanted;

const percent = (share: number) => `${(100 * share).toFixed(0)}`.padStart(4);

for (const name of names) {
  const { recipe, lengths = [700, 1500, 2700], kind = 'air', slow, count = perLength } = scenarios[name];
  const all = new Map<number, { error: number; u: number; usable: boolean; stop?: boolean }[]>();
  const start = performance.now();
  let making = 0;
  let what = '';
  for (let b = 0; b < benches; b++) {
    const made: OutsideLog[] = [];
    const making0 = performance.now();
    for (const seconds of lengths)
      for (let i = 0; i < count; i++) {
        const seed = 1_000_003 * (b + 1) + 7919 * i + seconds;
        const cooler = outsideCooler(seeded(seed), kind, slow);
        made.push(outsideLog(`l${seconds}-${i}.csv`, cooler, seconds, recipe, seed + 1));
      }
    making += performance.now() - making0;
    const bench = benchOfLogs(
      Object.fromEntries(made.map((log) => [log.name, log.csv])),
      {} as Partial<LogEntry>,
    );
    const result = reduce({ ...bench, ambient: { setpoint_C: 22, tolerance_K: 5 } });
    what = JSON.stringify((result as { readings?: unknown }).readings ?? '');
    result.runs.forEach((run, i) => {
      const log = made[i];
      const list = all.get(log.seconds) ?? [];
      all.set(log.seconds, list);
      if (run.rise_K !== null) list.push({ error: run.rise_K - log.rise_K, u: run.u_K!, usable: run.usable });
    });
  }
  for (const [seconds, list] of all) {
    const z = list.map((o) => o.error / o.u);
    const rms = Math.sqrt(z.reduce((s, v) => s + v * v, 0) / z.length);
    const usable = list.filter((o) => o.usable);
    const inside = (from: typeof list) =>
      from.filter((o) => Math.abs(o.error) <= 1.96 * o.u).length / Math.max(1, from.length);
    const errors = list.map((o) => Math.abs(o.error)).sort((a, b) => a - b);
    const us = list.map((o) => o.u).sort((a, b) => a - b);
    console.log(
      `${name.padEnd(12)} ${String(seconds).padStart(5)} s n ${list.length}  z ${rms.toFixed(2)} worst ${Math.max(...z.map(Math.abs)).toFixed(1)}  inside ${percent(inside(list))} %  usable ${percent(usable.length / list.length)} % inside ${percent(inside(usable))} % worst ${Math.max(0, ...usable.map((o) => Math.abs(o.error))).toFixed(2)} K  bias ${(list.reduce((s, o) => s + o.error, 0) / list.length).toFixed(3)}  |e| median ${errors[errors.length >> 1].toFixed(3)} u median ${us[us.length >> 1].toFixed(3)}`,
    );
  }
  console.log(
    `${' '.repeat(12)} ${((performance.now() - start - making) / 1000).toFixed(2)} s reducing; ${what}`,
  );
}
