/**
 * Coverage of the intervals on virtual benches whose physics is richer than the formulas fitted to them.
 *
 * Run: node test/benchmarks/run.mjs coverage [benches] [first seed] [layouts] [--lab second] [--table]
 * Layouts are those of layouts.ts; `--lab second` runs them with coolers of the second lab, `--table` gives rows for docs/coverage.md.
 */
import type { Run } from '../../src/bench/bench.ts';
import { readBench } from '../../src/bench/read-bench.ts';
import { compareFrom } from '../../src/compare/compare.ts';
import { benchPosterior } from '../../src/fit/bench-posterior.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { studentTQuantile } from '../../src/numerics/distributions.ts';
import { predictFrom } from '../../src/predict/predict.ts';
import { LAYOUTS, layoutOf } from './layouts.ts';

/** Loads at full speed, and loads inside those run at the lowest speed run and half-way to full. */
const ZONES = ['below', 'inside', 'to 1.25x', '1.25-2x', 'slower'] as const;

interface Tally {
  run: number;
  mean: number;
  count: number;
  width: number;
  meanWidth: number;
  oracle: number;
  error: number;
  score: number;
  line: number;
}

export function coverage(
  benches: number,
  first: number,
  setting: string,
  lab: string,
  table: boolean,
): string[] {
  const make = layoutOf(setting, lab);
  const tallies = new Map<string, Tally>(
    ZONES.map((zone) => [
      zone,
      { run: 0, mean: 0, count: 0, width: 0, meanWidth: 0, oracle: 0, error: 0, score: 0, line: 0 },
    ]),
  );
  const perBench = new Map<string, number[]>(ZONES.map((zone) => [zone, []]));
  const sigmas: number[][] = [];
  const together = new Map<string, [number, number]>();
  const apart = new Map<string, [number, number, number]>();
  const limits: { chance: number; met: boolean; inside: boolean }[] = [];
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
    const grid = [0.5, 0.75]
      .map((f) => f * least)
      .concat(
        [0, 0.25, 0.5, 0.75, 1].map((f) => least + f * (top - least)),
        [1.1, 1.2, 1.25, 1.4, 1.6, 1.8, 2].map((f) => f * top),
      );
    const { predictions } = predictFrom(posterior, { power_W: grid });
    const slowest = Math.min(...(options.speeds ?? [1]));
    const slower = slowest === 1 ? [] : [slowest, (1 + slowest) / 2];
    for (const speed of slower) {
      const inside = { power_W: [least, (least + top) / 2, top], fan_percent: 100 * speed };
      predictions.push(...predictFrom(posterior, inside).predictions);
    }
    for (const [zone, load] of [
      ['inside', top],
      ['to 1.25x', 1.25 * top],
      ['1.25-2x', 1.6 * top],
    ] as const) {
      const { pairs } = compareFrom(posterior, { power_W: [load] });
      let allTrue = true;
      const far = apart.get(zone) ?? [0, 0, 0];
      for (const { a, b, difference, resolved } of pairs) {
        const truly =
          truth.rise_K(a, load, truth.fan_max_rpm(a)) - truth.rise_K(b, load, truth.fan_max_rpm(b));
        if (truly < difference[0].low_K || truly > difference[0].high_K) allTrue = false;
        if (resolved.length > 0 && (resolved[0].better === a) !== truly < 0) far[2]++;
        if (Math.abs(truly) <= 3) continue;
        far[1]++;
        if (resolved.length > 0) far[0]++;
      }
      apart.set(zone, far);
      const t = together.get(zone) ?? [0, 0];
      t[0] += allTrue ? 1 : 0;
      t[1]++;
      together.set(zone, t);
    }
    const lines = new Map(
      bench.coolers.map(({ cooler }) => [
        cooler,
        straightLine(
          bench.runs.filter(
            (run) =>
              run.cooler === cooler && run.power_W > 0 && run.fan_rpm > 0.9 * truth.fan_max_rpm(cooler),
          ),
        ),
      ]),
    );
    const hits = new Map<string, [number, number]>();
    for (const p of predictions) {
      // A limit that lies within the loads run is not one of those to come.
      if (p.if_pipes_hold && truth.pipesHold(p.cooler, top, p.fan_rpm)) {
        const { mean_low_K, mean_high_K } = p.if_pipes_hold;
        const rise = truth.rise_K(p.cooler, p.power_W, p.fan_rpm);
        const met = !truth.pipesHold(p.cooler, p.power_W, p.fan_rpm);
        limits.push({ chance: p.limit_chance ?? 0, met, inside: rise >= mean_low_K && rise <= mean_high_K });
      }
      const ratio = p.power_W / top;
      const full = p.fan_rpm > 0.999 * truth.fan_max_rpm(p.cooler);
      const zone = !full
        ? 'slower'
        : p.power_W < least
          ? 'below'
          : ratio <= 1.0001
            ? 'inside'
            : ratio <= 1.2501
              ? 'to 1.25x'
              : '1.25-2x';
      const tally = tallies.get(zone) as Tally;
      const rise = truth.rise_K(p.cooler, p.power_W, p.fan_rpm);
      const fresh = 4;
      let inside = 0;
      for (let k = 0; k < fresh; k++) {
        const reading = truth.freshRun(p.cooler, p.power_W, p.fan_rpm, 1000 * seed + k);
        if (reading >= p.run_low_K && reading <= p.run_high_K) inside++;
        const miss = Math.max(p.run_low_K - reading, reading - p.run_high_K, 0);
        const line = lines.get(p.cooler) as (x: number) => [number, number];
        const [low, high] = line(p.power_W);
        tally.line += (high - low + (2 / 0.05) * Math.max(low - reading, reading - high, 0)) / fresh;
        tally.score += (p.run_high_K - p.run_low_K + (2 / 0.05) * miss) / fresh;
      }
      tally.run += inside / fresh;
      tally.mean += rise >= p.mean_low_K && rise <= p.mean_high_K ? 1 : 0;
      tally.count++;
      tally.width += p.run_high_K - p.run_low_K;
      tally.meanWidth += p.mean_high_K - p.mean_low_K;
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
  const lines: string[] = [`${setting}: ${benches} benches, ${(elapsed / benches).toFixed(0)} ms each`];
  for (const zone of ZONES) {
    const t = tallies.get(zone) as Tally;
    if (t.count === 0) continue;
    const rates = perBench.get(zone) as number[];
    const average = rates.reduce((a, b) => a + b, 0) / rates.length;
    const error = Math.sqrt(
      rates.reduce((a, r) => a + (r - average) ** 2, 0) / (rates.length - 1) / rates.length,
    );
    lines.push(
      `  ${zone.padEnd(9)} fresh run ${(100 * average).toFixed(1)} ± ${(100 * error).toFixed(1)} %  mean ${((100 * t.mean) / t.count).toFixed(1)} % of ${(t.meanWidth / t.count).toFixed(2)} K  ` +
        `width ${(t.width / t.count).toFixed(2)} K = ${(t.width / t.oracle).toFixed(2)} × oracle  score ${(t.score / t.count).toFixed(2)} (line ${(t.line / t.count).toFixed(2)}) K  bias ${(t.error / t.count).toFixed(2)} K`,
    );
  }
  if (table) {
    const share = (part: number, whole: number) => `${((100 * part) / whole).toFixed(1)} %`;
    const zones = ZONES.map((zone) => {
      const { mean, count, width, error } = tallies.get(zone) as Tally;
      return count === 0
        ? ''
        : `${share(mean, count)}, ${(width / count).toFixed(1)} K, ${(error / count).toFixed(2)} K`;
    });
    const pairs = [...together.values()].map(([all, count]) => share(all, count)).join(', ');
    const told = [...apart.values()].map(([resolved, far]) => share(resolved, far)).join(', ');
    const wrong = [...apart.values()].map(([, , count]) => count).join(', ');
    return [`| ${[setting, ...zones, pairs, told, wrong].join(' | ')} |`, ...calibration(limits)];
  }
  for (const [zone, [all, count]] of together) {
    const [resolved, far, wrong] = apart.get(zone) as [number, number, number];
    lines.push(
      `  pairs ${zone.padEnd(9)} all of a bench true ${((100 * all) / count).toFixed(1)} %  over 3 K apart resolved ${((100 * resolved) / far).toFixed(1)} % of ${far}  wrong way ${wrong}`,
    );
  }
  lines.push(...calibration(limits));
  const mid = (k: number) => sigmas.map((s) => s[k]).sort((a, b) => a - b)[Math.floor(sigmas.length / 2)];
  lines.push(
    `  median scatter: sample ${mid(0).toFixed(4)} mount ${mid(1).toFixed(4)} reading ${mid(3).toFixed(3)} shape ${mid(4).toFixed(4)}`,
  );
  return lines;
}

/** Chances that a limit is met by a load, in five bins, beside how often it was; and the answers if none is met, where none was. */
function calibration(limits: readonly { chance: number; met: boolean; inside: boolean }[]): string[] {
  const mean = (values: readonly number[]) =>
    ((100 * values.reduce((a, b) => a + b, 0)) / values.length).toFixed(1);
  const bins = [0, 1, 2, 3, 4].map((k) =>
    limits.filter(({ chance }) => Math.min(4, Math.floor(5 * chance)) === k),
  );
  const held = limits.filter(({ met }) => !met);
  return [
    ...bins
      .filter((bin) => bin.length > 0)
      .map((bin) => {
        const foreseen = mean(bin.map(({ chance }) => chance));
        return `  limit met: foreseen ${foreseen} %, met ${mean(bin.map(({ met }) => Number(met)))} % of ${bin.length}`;
      }),
    `  if the pipes hold: ${mean(held.map(({ inside }) => Number(inside)))} % inside of ${held.length} where they do`,
  ];
}

/** Prediction interval of a straight line through a cooler's points by ordinary least squares. */
function straightLine(runs: readonly Run[]): (power_W: number) => [number, number] {
  const n = runs.length;
  const x = runs.map((run) => run.power_W);
  const y = runs.map((run) => run.source_C - run.ambient_C);
  const mx = x.reduce((a, b) => a + b, 0) / n;
  const my = y.reduce((a, b) => a + b, 0) / n;
  const sxx = x.reduce((a, v) => a + (v - mx) ** 2, 0);
  const slope = x.reduce((a, v, i) => a + (v - mx) * (y[i] - my), 0) / sxx;
  const s2 = y.reduce((a, v, i) => a + (v - my - slope * (x[i] - mx)) ** 2, 0) / (n - 2);
  const t = studentTQuantile(0.975, n - 2);
  return (power) => {
    const half = t * Math.sqrt(s2 * (1 + 1 / n + (power - mx) ** 2 / sxx));
    const middle = my + slope * (power - mx);
    return [middle - half, middle + half];
  };
}

const words = process.argv.slice(2);
const at = words.indexOf('--lab');
const [, lab = 'first'] = at < 0 ? [] : words.splice(at, 2);
const table = words.includes('--table');
if (table) words.splice(words.indexOf('--table'), 1);
const [benches = '40', first = '1', ...settings] = words;
for (const setting of settings.length > 0 ? settings : Object.keys(LAYOUTS))
  for (const line of coverage(Number(benches), Number(first), setting, lab, table)) console.log(line);
