/**
 * Real measurements, open, put through the commands: fitted on the lower loads and asked at the upper ones, steps cut short, rankings that are
 * known. Each file of test/fixtures/real says where it comes from, under what licence, and what is doubtful about it.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { CompareResult } from '../../src/answers/compare.ts';
import { compare } from '../../src/answers/compare.ts';
import { predict } from '../../src/answers/predict.ts';
import type { Bench } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { reduce } from '../../src/logs/reduce.ts';

/** Rows of a data file by heading. */
export function realRows(name: string): Record<string, string>[] {
  const text = readFileSync(join(process.cwd(), 'test/fixtures/real', name), 'utf8');
  const [head, ...lines] = text.split('\n').filter((line) => line !== '' && !line.startsWith('#'));
  const columns = head.split(',');
  return lines.map((line) => Object.fromEntries(line.split(',').map((cell, k) => [columns[k], cell])));
}

interface Point {
  cooler: string;
  power_W: number;
  rise_K: number;
  mount?: string;
}

/** A bench of points of which nothing else is known: no leak, one speed, an ambient of 20 °C. */
export function benchOf(points: readonly Point[], files: Record<string, string> = {}): Bench {
  const rows = points.map(
    ({ cooler, power_W, rise_K, mount = '1' }) =>
      `${cooler},${power_W},1000,${(20 + rise_K).toFixed(4)},20,${mount}`,
  );
  const all = {
    'bench.yaml': 'name: Published measurements\nheater: {leak_W_per_K: {value: 0, uncertainty: 0}}\n',
    'runs.csv': ['cooler,power_W,fan_rpm,source_C,ambient_C,mount', ...rows].join('\n'),
    ...files,
  };
  const encoder = new TextEncoder();
  return readBench(new Map(Object.entries(all).map(([name, text]) => [name, encoder.encode(text)])));
}

/** How a set of measured values that were not shown came out. */
export interface RealAnswer {
  readonly set: string;
  readonly asked: number;
  /** Measured values within the 95 % interval of a run; then medians over the value measured. */
  readonly inside: number;
  readonly bias_percent: number;
  readonly error_percent: number;
  readonly width_percent: number;
}

function answerOf(
  set: string,
  asked: readonly { measured: number; best: number; low: number; high: number }[],
): RealAnswer {
  const median = (values: number[]) => values.sort((a, b) => a - b)[Math.floor(values.length / 2)];
  return {
    set,
    asked: asked.length,
    inside: asked.filter(({ measured, low, high }) => measured >= low && measured <= high).length,
    bias_percent: 100 * median(asked.map(({ measured, best }) => best / measured - 1)),
    error_percent: 100 * median(asked.map(({ measured, best }) => Math.abs(best / measured - 1))),
    width_percent: 100 * median(asked.map(({ measured, low, high }) => (high - low) / measured)),
  };
}

/** Fits every cooler's lower points and asks at the others. */
function upperFromLower(
  set: string,
  points: readonly Point[],
  lower: (rank: number, count: number) => boolean,
): RealAnswer {
  const shown: Point[] = [];
  const hidden: Point[] = [];
  for (const cooler of new Set(points.map((point) => point.cooler))) {
    const own = points.filter((point) => point.cooler === cooler).sort((a, b) => a.power_W - b.power_W);
    own.forEach((point, k) => {
      (lower(k, own.length) ? shown : hidden).push(point);
    });
  }
  const bench = benchOf(shown);
  const asked = hidden.map(({ cooler, power_W, rise_K }) => {
    const [p] = predict(bench, { power_W: [power_W], coolers: [cooler] }).predictions;
    return { measured: rise_K, best: p.rise_K, low: p.run_low_K, high: p.run_high_K };
  });
  return answerOf(set, asked);
}

/** Series of resistance against power of one paper, rise from evaporator to condenser. */
function seriesOf(doi: string): Point[] {
  const rows = realRows('pipe_resistance_vs_power.csv').filter((row) => row.doi === doi);
  const counts = new Map<string, number>();
  for (const { series } of rows) counts.set(series, (counts.get(series) ?? 0) + 1);
  return rows
    .filter(({ series }) => (counts.get(series) as number) >= 6)
    .map(({ series, Q_W, R_K_per_W }) => ({
      cooler: `series ${series}`,
      power_W: Number(Q_W),
      rise_K: Number(Q_W) * Number(R_K_per_W),
    }));
}

/** Two thirds of each series shown, the upper third asked. */
const twoThirds = (rank: number, count: number) => rank < (2 * count) / 3;

export function pipesOf(doi: string): RealAnswer {
  return upperFromLower(`pulsating heat pipes, doi:${doi}`, seriesOf(doi), twoThirds);
}

/** Four powers shown, the fifth asked: from evaporator to condenser, and above the start. */
export function fifthPower(): RealAnswer {
  const points = realRows('php_5_powers.csv').flatMap(({ power_W, R_ec_K_per_W, R_start_K_per_W }) => [
    { cooler: 'to the condenser', power_W: Number(power_W), rise_K: Number(power_W) * Number(R_ec_K_per_W) },
    {
      cooler: 'above the start',
      power_W: Number(power_W),
      rise_K: Number(power_W) * Number(R_start_K_per_W),
    },
  ]);
  return upperFromLower('pulsating heat pipe at five powers', points, (rank, count) => rank < count - 1);
}

/** Four repeats of two fluids at two fills, of which the compilers say that none differs. */
export function repeats(): CompareResult {
  const points = realRows('php_80W_repeats.csv').map(({ fluid, fill_pct, repeat, R_ec_K_per_W }) => ({
    cooler: `${fluid} ${fill_pct}`,
    power_W: 80,
    rise_K: 80 * Number(R_ec_K_per_W),
    mount: repeat,
  }));
  return compare(benchOf(points), { power_W: [80] });
}

/** Five sinks of 10 to 18 fins, one power each. */
export function finCounts(): CompareResult {
  const points = realRows('fin_count_sinks.csv').map(({ fins, power_W, rise_K }) => ({
    cooler: `${fins} fins`,
    power_W: Number(power_W),
    rise_K: Number(rise_K),
  }));
  const names = points.map(({ cooler }) => `${cooler},0`);
  return compare(benchOf(points, { 'coolers.csv': ['cooler,heat_pipes', ...names].join('\n') }), {
    power_W: [40],
  });
}

/** Pairs of series of one paper that change order between their lower and their upper powers by more than a reading's error. */
export function crossings(doi: string): { pairs: number; seen: number; inside: number; wrong: number } {
  const points = seriesOf(doi);
  const at = (cooler: string, power: number) => {
    const own = points.filter((p) => p.cooler === cooler).sort((a, b) => a.power_W - b.power_W);
    const k = own.findIndex((p) => p.power_W >= power);
    if (k < 1) return undefined;
    const share = (power - own[k - 1].power_W) / (own[k].power_W - own[k - 1].power_W);
    return own[k - 1].rise_K + share * (own[k].rise_K - own[k - 1].rise_K);
  };
  const bench = benchOf(points);
  const names = [...new Set(points.map(({ cooler }) => cooler))];
  const loads = [15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80];
  const { pairs } = compare(bench, { power_W: loads, coolers: names });
  const count = { pairs: 0, seen: 0, inside: 0, wrong: 0 };
  for (const { a, b, crossings: found, resolved } of pairs) {
    const measured = loads.flatMap((power) => {
      const [x, y] = [at(a, power), at(b, power)];
      return x === undefined || y === undefined ? [] : [{ power, apart: x - y }];
    });
    // 0.01 K/W is how well the points were read.
    const clear = measured.filter(({ power, apart }) => Math.abs(apart) > 0.05 * power);
    for (const { from_W, to_W, better } of resolved) {
      const sign = better === a ? -1 : 1;
      if (clear.some(({ power, apart }) => power >= from_W && power <= to_W && Math.sign(apart) !== sign))
        count.wrong++;
    }
    const turns = clear.filter(({ apart }, k) => k > 0 && Math.sign(apart) !== Math.sign(clear[k - 1].apart));
    if (turns.length !== 1) continue;
    const after = turns[0];
    const before = clear[clear.indexOf(after) - 1];
    count.pairs++;
    if (found.length > 0) count.seen++;
    if (found.some(({ low, high }) => low <= after.power && high >= before.power)) count.inside++;
  }
  return count;
}

/** Steps of real heaters, cut to a part of their length: the asymptote against the mean of the last twentieth of the whole. */
export function stepsCut(): RealAnswer[] {
  const rows = realRows('heater_steps_1Hz.csv');
  return [0.3, 0.5, 0.8, 1].map((part) => {
    const asked = [...new Set(rows.map(({ run }) => run))].map((name) => {
      const own = rows.filter(({ run }) => run === name).map(({ t_s, T1_C }) => [Number(t_s), Number(T1_C)]);
      const [, start] = own[0];
      const last = own.slice(Math.floor(0.95 * own.length));
      const measured = last.reduce((sum, [, T]) => sum + T, 0) / last.length - start;
      const kept = own.slice(0, Math.floor(part * own.length));
      const log = [
        'time_s,source_C,ambient_C,power_W,fan_rpm',
        `-1,${start},${start},0,0`,
        ...kept.map(([t, T]) => `${t},${T},${start},10,0`),
      ].join('\n');
      const encoder = new TextEncoder();
      const bench = readBench(
        new Map(
          Object.entries({
            'bench.yaml': 'name: Steps\nambient: {setpoint_C: 22, tolerance_K: 3}\n',
            'logs.csv': 'run,cooler,sample,mount,source,log\nr1,sink,1,1,heater,a.csv\n',
            'logs/a.csv': log,
          }).map(([file, text]) => [file, encoder.encode(text)]),
        ),
      );
      const [run] = reduce(bench).runs;
      const rise_K = run.rise_K ?? Number.NaN;
      const half = 1.96 * (run.u_K ?? Number.NaN);
      return { measured, best: rise_K, low: rise_K - half, high: rise_K + half };
    });
    return answerOf(`heater steps cut to ${part}`, asked);
  });
}
