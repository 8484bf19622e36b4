import { readBench } from '../../src/bench/read-bench.ts';
import { compareFrom } from '../../src/compare/compare.ts';
import { benchPosterior } from '../../src/fit/bench-posterior.ts';
import { shippedModels } from '../../src/formula/shipped-models.ts';
import type { VirtualBenchOptions } from '../../src/lab/bench-options.ts';
import type { BenchTruth } from '../../src/lab/bench-truth.ts';
import { makeVirtualBench } from '../../src/lab/virtual-bench.ts';
import { coolersAtSpeed, soundOf, speedForSound } from '../../src/predict/at-conditions.ts';
import { predictFrom } from '../../src/predict/predict.ts';
import { soundTradeOff } from '../../src/sound/sound-trade-off.ts';
import { generator } from './simulated-sound.ts';

/** Counts of one study; shares are `held` over `count`. */
export interface EqualNoiseTally {
  speed: Share;
  /** Fresh run and mean where load and true speed are inside what was run, and at an end of the fan's speeds. */
  freshRun: Share;
  mean: Share;
  meanAtEnd: Share;
  /** What 5 dB buy, where neither end is extrapolated. */
  bought: Share;
  /** Benches in which every pair's difference at equal sound is in its interval, by load and level. */
  allPairs: Share;
  /** Pairs that truly lie over 3 K apart and are resolved. */
  resolved: Share;
  wrongWay: number;
  /** Mean half-width of the mean's interval, and of that at the same speed taken as known, K. */
  halfWidth_K: number;
  halfWidthAtKnownSpeed_K: number;
}

export interface Share {
  held: number;
  count: number;
  /** Share of each bench, for a standard error that knows that a bench's answers hang together. */
  perBench: number[];
}

/** Coolers metered in turn in two sessions, between which the meter differs; a cooler may be metered in both. */
export interface MeterOfSessions {
  deviation_dB: number;
  isTied: boolean;
  /** Left out: the sessions are not told to the bench, as before noise.csv had them. */
  isTold: boolean;
}

/** Writes the meter's errors of two sessions into noise.csv of a bench whose meter has none; their mean, dB. */
function meterInSessions(files: Map<string, Uint8Array>, meter: MeterOfSessions, seed: number): number {
  const { normal } = generator(seed);
  const off = [meter.deviation_dB * normal(), meter.deviation_dB * normal()];
  const [header, ...rows] = new TextDecoder().decode(files.get('noise.csv')).trim().split('\n');
  const coolers = [...new Set(rows.map((row) => row.split(',')[0]))];
  const lines = rows.flatMap((row) => {
    const [cooler, fan_rpm, level] = row.split(',');
    const index = coolers.indexOf(cooler);
    const sessions = meter.isTied && index === 0 ? [0, 1] : [index % 2];
    return sessions.map((session) => {
      return `${cooler},${fan_rpm},${(Number(level) + off[session]).toFixed(1)}${meter.isTold ? `,${session + 1}` : ''}`;
    });
  });
  const text = (value: string) => new TextEncoder().encode(value);
  files.set('noise.csv', text([meter.isTold ? `${header},session` : header, ...lines, ''].join('\n')));
  const yaml = new TextDecoder().decode(files.get('bench.yaml'));
  files.set('bench.yaml', text(yaml.replace('systematic_dB: 0,', `systematic_dB: ${meter.deviation_dB},`)));
  return (off[0] + off[1]) / 2;
}

const TARGETS_dBA = [32, 36, 40];
const FRESH = 4;

/** The greatest speed at which the meter shows no more than the level, held by the ends of the fan's speeds. */
export function trueSpeed(truth: BenchTruth, cooler: string, level_dBA: number, least_rpm: number): number {
  const greatest = truth.fan_max_rpm(cooler);
  if (truth.metered_dBA(cooler, greatest) <= level_dBA) return greatest;
  for (let n = greatest; n > least_rpm; n /= 1.0005) {
    if (truth.metered_dBA(cooler, n) <= level_dBA) return n;
  }
  return least_rpm;
}

/**
 * How often speed, rise and order at equal sound are as the intervals say, on virtual benches.
 *
 * @param make  options of a bench by its seed
 */
export function equalNoiseStudy(
  make: (seed: number) => VirtualBenchOptions,
  benches: number,
  first: number,
  meter?: MeterOfSessions,
): EqualNoiseTally {
  const share = (): Share => ({ held: 0, count: 0, perBench: [] });
  const tally: EqualNoiseTally = {
    speed: share(),
    freshRun: share(),
    mean: share(),
    meanAtEnd: share(),
    bought: share(),
    allPairs: share(),
    resolved: share(),
    wrongWay: 0,
    halfWidth_K: 0,
    halfWidthAtKnownSpeed_K: 0,
  };
  const shares = [
    tally.speed,
    tally.freshRun,
    tally.mean,
    tally.meanAtEnd,
    tally.bought,
    tally.allPairs,
    tally.resolved,
  ];
  for (let b = 0; b < benches; b++) {
    const seed = first + b;
    const options = make(seed);
    const { files, truth } = makeVirtualBench(options);
    const shift_dB = meter ? meterInSessions(files, meter, seed) : 0;
    const bench = readBench(files);
    const posterior = benchPosterior(bench, shippedModels);
    const loads = options.loads_W as number[];
    const [least, top] = [Math.min(...loads), Math.max(...loads)];
    const before = shares.map(({ held, count }) => ({ held, count }));
    const add = (to: Share, held: number, count = 1) => {
      to.held += held;
      to.count += count;
    };
    for (const sound_dBA of TARGETS_dBA) {
      const speeds = new Map<string, number>();
      for (const { cooler } of coolersAtSpeed(posterior, { sound_dBA }).coolers) {
        const { cooler: name, fan_min_rpm = 0 } = cooler.data.cooler;
        const n = trueSpeed(truth, name, sound_dBA - shift_dB, fan_min_rpm);
        speeds.set(name, n);
        const law = soundOf(bench).laws.get(name)!;
        const { found } = speedForSound(cooler, law, sound_dBA, 0.95);
        if (n > fan_min_rpm * 1.001 && n < truth.fan_max_rpm(name) * 0.999) {
          add(tally.speed, n >= found.unlimited.low_rpm && n <= found.unlimited.high_rpm ? 1 : 0);
        }
        const power_W = [least, (least + top) / 2, top];
        const at = { coolers: [name], power_W };
        const { predictions } = predictFrom(posterior, { ...at, sound_dBA });
        const known = predictFrom(posterior, { ...at, fan_rpm: n }).predictions;
        const atEnd = n <= fan_min_rpm * 1.001 || n >= truth.fan_max_rpm(name) * 0.999;
        const inside = n >= 0.97 * cooler.data.speedLow * truth.fan_max_rpm(name);
        predictions.forEach((p, i) => {
          const rise = truth.rise_K(name, p.power_W, n);
          const held = rise >= p.mean_low_K && rise <= p.mean_high_K ? 1 : 0;
          if (atEnd) add(tally.meanAtEnd, held);
          if (!inside) return;
          add(tally.mean, held);
          tally.halfWidth_K += (p.mean_high_K - p.mean_low_K) / 2;
          tally.halfWidthAtKnownSpeed_K += (known[i].mean_high_K - known[i].mean_low_K) / 2;
          for (let k = 0; k < FRESH; k++) {
            const reading = truth.freshRun(name, p.power_W, n, 1000 * seed + k);
            add(tally.freshRun, reading >= p.run_low_K && reading <= p.run_high_K ? 1 : 0);
          }
        });
      }
      for (const b of soundTradeOff(posterior, { power_W: [top], sound_dBA }).bought) {
        if (b.extrapolated) continue;
        const { fan_min_rpm = 0 } = bench.coolers.find((c) => c.cooler === b.cooler)!;
        const louder = trueSpeed(truth, b.cooler, sound_dBA + 5 - shift_dB, fan_min_rpm);
        const truly =
          truth.rise_K(b.cooler, top, speeds.get(b.cooler)!) - truth.rise_K(b.cooler, top, louder);
        add(tally.bought, truly >= b.low_K && truly <= b.high_K ? 1 : 0);
      }
      for (const load of [least, top]) {
        const { pairs } = compareFrom(posterior, { power_W: [load], sound_dBA });
        let all = 1;
        for (const { a, b: other, difference, resolved } of pairs) {
          const truly = truth.rise_K(a, load, speeds.get(a)!) - truth.rise_K(other, load, speeds.get(other)!);
          if (truly < difference[0].low_K || truly > difference[0].high_K) all = 0;
          if (resolved.length > 0 && (resolved[0].better === a) !== truly < 0) tally.wrongWay++;
          if (Math.abs(truly) > 3) add(tally.resolved, resolved.length > 0 ? 1 : 0);
        }
        add(tally.allPairs, all);
      }
    }
    shares.forEach((one, i) => {
      const count = one.count - before[i].count;
      if (count > 0) one.perBench.push((one.held - before[i].held) / count);
    });
  }
  tally.halfWidth_K /= tally.mean.count;
  tally.halfWidthAtKnownSpeed_K /= tally.mean.count;
  return tally;
}
