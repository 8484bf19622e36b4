/**
 * What becomes of "you can stop": logs followed row by row beside the other logs of their bench, on virtual benches of known truth and on the
 * real logs that there are.
 */
import { readFileSync } from 'node:fs';
import type { Bench } from '../../src/bench/bench.ts';
import { reduce } from '../../src/logs/reduce.ts';
import { watchLog } from '../../src/logs/watch-log.ts';
import { benchOfLogs } from './bench-of-logs.ts';
import { makeLog, randomRecipe, seeded } from './make-logs.ts';
import { type OutsideRecipe, outsideCooler, outsideLog } from './outside-logs.ts';

export interface Outcome {
  /** Known within the limit at the end of the log. */
  usable: boolean;
  /** Share of the log at which it said so first, and by how far the asymptote was off then, K; `undefined`: never. */
  stop?: { share: number; off_K: number };
  /** Number of its bench and of itself there. */
  of?: readonly [bench: number, log: number];
  /** It has said so, and taken it back. */
  takenBack: boolean;
}

/** Follows each log of a bench beside the others. */
function followed(bench: Bench, truth_K: readonly number[], limit_K: number): Outcome[] {
  const { runs } = reduce(bench, { early_stop_K: 0 });
  return bench.logs.map(({ log }, i) => {
    const watch = watchLog(bench, { entry: log, within_K: limit_K });
    const states = watch.push(bench.logFiles.get(log) as Uint8Array);
    const first = states.find(({ can_stop }) => can_stop);
    const { logged_s, u_K } = runs[i];
    return {
      usable: u_K !== null && 1.96 * u_K <= limit_K,
      ...(first && {
        stop: {
          share: (first.step_s as number) / logged_s,
          off_K: (first.asymptote_K as number) - truth_K[i],
        },
      }),
      takenBack: first !== undefined && !states[states.length - 1].can_stop,
    };
  });
}

/** Logs of one virtual bench: its noise, its room and how its sources follow the air are its own. */
function virtualBench(seed: number, of: number): { bench: Bench; truth_K: number[] } {
  const uniform = seeded(seed);
  const between = (low: number, high: number) => low + (high - low) * uniform();
  const spread = (low: number, high: number) => low * (high / low) ** uniform();
  const kinds = ['air', 'heavy', 'liquid', 'liquid-four'] as const;
  const recipe: OutsideRecipe = {
    white_K: spread(0.01, 0.08),
    slow_K: spread(0.005, 0.05),
    memory_s: spread(20, 400),
    sway_K: spread(0.03, 0.3),
    sway_s: spread(300, 1500),
    law: (['at-once', 'slowest', 'shares', 'ladder', 60] as const)[Math.floor(5 * uniform())],
    rounding_K: uniform() < 0.5 ? 0.01 : 0.1,
    ambientRounding_K: uniform() < 0.5 ? 0.01 : 0.1,
    interval_s: [1, 1, 2, 5][Math.floor(4 * uniform())],
  };
  const isOutside = seed % 3 !== 0;
  const made = Array.from({ length: of }, (_, i) => {
    const own = 7919 * seed + i;
    const seconds = Math.round(between(1500, 3000));
    if (isOutside)
      return outsideLog(
        '',
        outsideCooler(seeded(own), kinds[Math.floor(4 * uniform())]),
        seconds,
        recipe,
        own + 5,
      );
    const { csv, rise_K } = makeLog(randomRecipe(seeded(own), 'any', seconds), seeded(own + 5));
    return { csv, rise_K: rise_K[0] };
  });
  return {
    bench: benchOfLogs(Object.fromEntries(made.map(({ csv }, i) => [`${i}.csv`, csv]))),
    truth_K: made.map(({ rise_K }) => rise_K),
  };
}

/** Virtual benches of five logs. */
export function virtualOutcomes(benches: number, seed: number, limit_K = 0.3): Outcome[] {
  return Array.from({ length: benches }, (_, b) => {
    const { bench, truth_K } = virtualBench(1000 * seed + b, 5);
    return followed(bench, truth_K, limit_K).map((one, i) => ({ ...one, of: [1000 * seed + b, i] as const }));
  }).flat();
}

const rowsOf = (file: string): Map<string, string[][]> => {
  const text = readFileSync(`test/published/logs/${file}`, 'utf8');
  const [, ...rows] = text.split('\n').filter((line) => line !== '' && !line.startsWith('#'));
  const runs = new Map<string, string[][]>();
  for (const row of rows.map((line) => line.split(','))) runs.set(row[0], [...(runs.get(row[0]) ?? []), row]);
  return runs;
};

/** Real logs against what the whole of them says; their sources and weaknesses stand in test/published/real-logs.test.ts. */
export function realOutcomes(limit_K = 0.3): Outcome[] {
  const header = 'time_s,source_C,ambient_C,power_W,fan_rpm';
  const steps = [...rowsOf('heater-steps.csv').values()].map((rows) =>
    [header, ...rows.map(([, time, , source]) => `${time},${source},${rows[0][3]},2,1000`)].join('\n'),
  );
  const cooling = [...rowsOf('junction-cooling.csv').values()].map((rows) =>
    [
      header,
      ...rows
        .map(([, time, above]) => [100 * Number(time), 25 + Number(above)])
        .filter(([time]) => time >= 1)
        .map(([time, value]) => `${time},${value},25,2,1000`),
    ].join('\n'),
  );
  return [steps, cooling].flatMap((texts) => {
    const logs = Object.fromEntries(texts.map((text, i) => [`${i}.csv`, `${text}\n`]));
    const bench = { ...benchOfLogs(logs), ambient: { setpoint_C: 22, tolerance_K: 5 } };
    return followed(
      bench,
      reduce(bench, { early_stop_K: 0 }).runs.map(({ rise_K }) => rise_K as number),
      limit_K,
    );
  });
}

/** Shares that the outcomes come to. */
export function summary(outcomes: readonly Outcome[], limit_K = 0.3) {
  const stops = outcomes.flatMap(({ stop }) => stop ?? []);
  const usable = outcomes.filter((one) => one.usable);
  const share = (part: number, whole: number) => (whole === 0 ? Number.NaN : part / whole);
  return {
    logs: outcomes.length,
    usable: usable.length,
    stops: stops.length,
    kept: share(stops.filter(({ off_K }) => Math.abs(off_K) <= limit_K).length, stops.length),
    worst_K: Math.max(...stops.map(({ off_K }) => Math.abs(off_K))),
    usableStopped: share(usable.filter(({ stop }) => stop).length, usable.length),
    beforeHalf: share(stops.filter((stop) => stop.share < 0.5).length, stops.length),
    takenBack: outcomes.filter(({ takenBack }) => takenBack).length,
  };
}
