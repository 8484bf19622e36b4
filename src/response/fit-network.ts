import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { riseOf } from '../bench/run.ts';
import type { LogBlocks } from '../logs/log-blocks.ts';
import { type LogScans, scannedLog } from '../logs/log-source.ts';
import { noLoad_W } from '../logs/plausible-run.ts';
import { reduceLog, type StepResult } from '../logs/reduce-log.ts';
import { readingsOf } from '../logs/reduction-of.ts';
import { rootBetween } from '../numerics/roots.ts';
import type { AirSeen } from './air-laws.ts';
import { type CauerElement, cauerFromFoster } from './cauer.ts';
import { ExponentialFit } from './exponential-fit.ts';
import { type FosterElement, totalResistance } from './foster.ts';
import { Whitening } from './noise.ts';

/** The lumped network of one cooler on one source, from the step responses in its logs. */
export interface CoolerNetwork {
  readonly cooler: string;
  readonly source: string;
  readonly foster: readonly FosterElement[];
  /** From source to air; the last resistance is the one into the air. */
  readonly cauer: readonly CauerElement[];
  /** Speed at which the network was measured. */
  readonly fan_rpm: number;
  /** Steady resistance at each speed with runs or logs, ascending in speed. */
  readonly speeds: readonly { readonly fan_rpm: number; readonly resistance_K_per_W: number }[];
  /** Step responses that entered. */
  readonly responses: number;
  readonly notes: readonly string[];
}

export interface NetworkOptions {
  readonly source?: string;
  /** Where a scanned log is had from, by name. */
  readonly scans?: LogScans;
}

/** A step response cleared of its load: shares of the exponentials add up to one. */
interface Shape {
  readonly fan_rpm: number;
  readonly resistance_K_per_W: number;
  readonly shares: readonly number[];
  readonly times_s: readonly number[];
  readonly weight: number;
}

/**
 * Fits the network of a cooler from all its usable step responses.
 *
 * At the speed with most responses their normalised curves are averaged and described by up to three exponentials;
 * that is the Foster form, and its exact Cauer form puts the parts in order from source to air. Other speeds give
 * their steady resistance only, because speed moves the air side and leaves the metal as it was.
 *
 * @throws BenchError when the cooler has no log with a usable step response
 */
export function fitNetwork(bench: Bench, cooler: string, options: NetworkOptions = {}): CoolerNetwork {
  const source = options.source ?? 'heater';
  const shapes: Shape[] = [];
  const readings = options.scans ? undefined : readingsOf(bench);
  const entries = bench.logs.filter((entry) => entry.cooler === cooler && entry.source === source);
  for (const entry of entries) {
    const log = scannedLog(bench, entry.log, options.scans);
    if (!log) continue;
    let loadBefore = 0;
    let riseBefore = 0;
    for (const step of reduceLog(log, bench.ambient, { early_stop_K: 0 }, readings)) {
      if (step.rise_K === null) continue;
      const shape = shapeOf(log, step, loadBefore, riseBefore);
      if (shape) shapes.push(shape);
      loadBefore = step.power_W;
      riseBefore = step.rise_K;
    }
  }
  if (shapes.length === 0) {
    const why =
      entries.length === 0
        ? `no log of cooler ${cooler} on ${source}`
        : `no log of cooler ${cooler} on ${source} holds a usable step of the load`;
    throw new BenchError(
      'logs.csv',
      entries[0]?.line ?? 1,
      1,
      `${why}; a thermal network needs a log from switching on until near steady`,
    );
  }
  const groups = bySpeed(shapes);
  const main = groups.reduce((a, b) => (b.length >= a.length ? b : a));
  const resistance = weighted(main, (shape) => shape.resistance_K_per_W);
  const foster = averageShape(main).map(({ share, time_s }) => ({
    resistance_K_per_W: share * resistance,
    time_s,
  }));
  const reference = weighted(main, (shape) => shape.fan_rpm);
  const speeds = groups.map((group) => ({
    fan_rpm: weighted(group, (shape) => shape.fan_rpm),
    resistance_K_per_W: weighted(group, (shape) => shape.resistance_K_per_W),
  }));
  addHandRuns(bench, cooler, source, speeds);
  const notes: string[] = [];
  if (speeds.length === 1)
    notes.push(
      `all responses are at ${Math.round(reference)} rpm; other speeds scale the air side by speed to the power −0.7 (common practice, no source)`,
    );
  return {
    cooler,
    source,
    foster,
    cauer: cauerFromFoster(foster),
    fan_rpm: reference,
    speeds: speeds.sort((a, b) => a.fan_rpm - b.fan_rpm),
    responses: main.length,
    notes,
  };
}

/**
 * The ladder at another speed: the difference in steady resistance goes into the last resistance, the air side.
 *
 * @param resistance_K_per_W  steady resistance wanted, when known from elsewhere (a fitted model, say)
 */
export function networkAtSpeed(
  network: CoolerNetwork,
  fan_rpm: number,
  resistance_K_per_W?: number,
): CauerElement[] {
  const rungs = network.cauer.map((rung) => ({ ...rung }));
  const last = rungs[rungs.length - 1];
  const inner = totalResistance(rungs) - last.resistance_K_per_W;
  const wanted = (resistance_K_per_W ?? resistanceAt(network, fan_rpm, last.resistance_K_per_W)) - inner;
  // Never less than a twentieth: the metal before it cannot give resistance back.
  last.resistance_K_per_W = Math.max(wanted, 0.05 * last.resistance_K_per_W);
  return rungs;
}

/**
 * Resistance of the network at a fan speed: between speeds run the air's part goes by power law, beyond them
 * as speed to the power −0.7 (common practice, no source).
 */
function resistanceAt(network: CoolerNetwork, fan_rpm: number, air: number): number {
  const { speeds } = network;
  const least = speeds[0];
  const most = speeds[speeds.length - 1];
  const speed = Math.max(fan_rpm, 1);
  const scaled = (from: (typeof speeds)[number]) => {
    if (!(from.fan_rpm > 0)) return from.resistance_K_per_W;
    const airThere = air + from.resistance_K_per_W - totalResistance(network.foster);
    return from.resistance_K_per_W + airThere * ((speed / from.fan_rpm) ** -0.7 - 1);
  };
  if (speed <= least.fan_rpm) return scaled(least);
  if (speed >= most.fan_rpm) return scaled(most);
  const above = speeds.findIndex((entry) => entry.fan_rpm >= speed);
  const [a, b] = [speeds[above - 1], speeds[above]];
  const share = Math.log(speed / Math.max(a.fan_rpm, 1)) / Math.log(b.fan_rpm / Math.max(a.fan_rpm, 1));
  return a.resistance_K_per_W + share * (b.resistance_K_per_W - a.resistance_K_per_W);
}

/**
 * A load step's response as shares and times of exponentials, weighed by how well it is known; `undefined`
 * for a step that is small or not usable.
 */
function shapeOf(
  log: LogBlocks,
  step: StepResult,
  loadBefore: number,
  riseBefore: number,
): Shape | undefined {
  // A supply that is switched off reads about nothing, and so does the rise over it.
  if (step.power_W <= noLoad_W) return undefined;
  const change = step.power_W - loadBefore;
  if (!step.usable || step.rise_K === null || step.u_K === null || Math.abs(change) < 0.2 * step.power_W)
    return undefined;
  const { first } = step.step;
  const risen = log.source_C[first] - log.ambient_C[first];
  const swing = step.rise_K - riseBefore;
  // A response that starts from elsewhere than the state before it shows a mixture of two.
  if (Math.abs(risen - riseBefore) > 0.15 * Math.abs(swing)) return undefined;
  const signed = step.amplitudes_K.map((amplitude) => amplitude / swing);
  const kept = signed
    .map((share, i) => ({ share, time_s: step.time_constants_s[i] }))
    .filter(({ share }) => share > 0.003);
  if (kept.length === 0) return undefined;
  const early = onset(kept, (step.rise_K - risen) / swing, log.interval_s);
  const moved = kept.map(({ share, time_s }) => share * Math.exp(-early / time_s));
  const total = moved.reduce((sum, value) => sum + value, 0);
  return {
    fan_rpm: step.fan_rpm,
    resistance_K_per_W: step.rise_K / step.power_W,
    shares: moved.map((value) => value / total),
    times_s: kept.map(({ time_s }) => time_s),
    weight: 1 / (step.u_K / step.power_W + 1e-4) ** 2,
  };
}

/** When within a few rows the load really came on: where the fitted curve meets the rise that was there before. */
function onset(
  shares: readonly { share: number; time_s: number }[],
  wanted: number,
  interval: number,
): number {
  const at = (t: number) => shares.reduce((sum, { share, time_s }) => sum + share * Math.exp(-t / time_s), 0);
  return rootBetween((t) => at(t) - wanted, -2 * interval, 2 * interval, 1e-12 * interval);
}

/** Shapes in groups of one fan speed: within 6 % or 60 rpm of the first. */
function bySpeed(shapes: readonly Shape[]): Shape[][] {
  const groups: Shape[][] = [];
  for (const shape of [...shapes].sort((a, b) => a.fan_rpm - b.fan_rpm)) {
    const last = groups[groups.length - 1];
    if (last && shape.fan_rpm - last[0].fan_rpm <= Math.max(60, 0.06 * last[0].fan_rpm)) last.push(shape);
    else groups.push([shape]);
  }
  return groups;
}

/** Weighted mean of a value over shapes. */
function weighted(shapes: readonly Shape[], value: (shape: Shape) => number): number {
  let sum = 0;
  let weight = 0;
  for (const shape of shapes) {
    sum += shape.weight * value(shape);
    weight += shape.weight;
  }
  return sum / weight;
}

/**
 * The mean of several responses, fitted again as a sum of exponentials: constants of different logs cannot be
 * averaged as such.
 */
function averageShape(shapes: readonly Shape[]): { share: number; time_s: number }[] {
  if (shapes.length === 1)
    return shapes[0].shares.map((share, i) => ({ share, time_s: shapes[0].times_s[i] }));
  const slowest = Math.max(...shapes.flatMap((shape) => shape.times_s));
  const fastest = Math.min(...shapes.flatMap((shape) => shape.times_s));
  const n = 120;
  const time_s = Float64Array.from(
    { length: n },
    (_, k) => 0.1 * fastest * ((8 * slowest) / (0.1 * fastest)) ** (k / (n - 1)),
  );
  const curve = time_s.map((t) =>
    weighted(
      shapes,
      (shape) => 1 - shape.shares.reduce((sum, share, i) => sum + share * Math.exp(-t / shape.times_s[i]), 0),
    ),
  );
  const blocks = { count: n, time_s, length_s: new Float64Array(n).fill(1e-9 * fastest) };
  const fit = new ExponentialFit();
  const air = { isCoupled: false, air_C: new Float64Array(n) } as AirSeen;
  const alike = new Whitening(blocks, { white: 0, parts: [] }, new Float64Array(n).fill(1e-8));
  fit.load(blocks, alike, curve, air, 0.2 * fastest, 4 * slowest);
  const starts = fit.starts(4 * slowest);
  const terms = Math.max(...shapes.map((shape) => shape.shares.length));
  const modes = [1, 2, 3]
    .slice(0, Math.min(3, terms))
    .map((count) => fit.refine(starts[count - 1], count, 0, 60, 1e-9));
  const best = modes.reverse().find((mode) => mode?.amplitudes_K.every((amplitude) => amplitude < 0));
  const taus = Array.from(best!.logTaus, Math.exp);
  const total = best!.amplitudes_K.reduce((sum, amplitude) => sum + amplitude, 0);
  return taus.map((tau, i) => ({ share: best!.amplitudes_K[i] / total, time_s: tau }));
}

/** Speeds that only hand-entered runs know. */
function addHandRuns(
  bench: Bench,
  cooler: string,
  source: string,
  speeds: { fan_rpm: number; resistance_K_per_W: number }[],
): void {
  const logged = new Set(bench.logs.map((entry) => entry.run));
  const sums: { fan_rpm: number; power: number; rise: number }[] = [];
  for (const run of bench.runs) {
    if (run.cooler !== cooler || run.source !== source || run.power_W < 20) continue;
    if (logged.has(run.run) || logged.has(run.run.replace(/\.\d+$/, ''))) continue;
    const near = (rpm: number) => Math.abs(rpm - run.fan_rpm) <= Math.max(60, 0.06 * run.fan_rpm);
    if (speeds.some((speed) => near(speed.fan_rpm))) continue;
    const group = sums.find((entry) => near(entry.fan_rpm));
    const rise = riseOf(run);
    if (group) {
      group.power += run.power_W;
      group.rise += rise;
    } else sums.push({ fan_rpm: run.fan_rpm, power: run.power_W, rise });
  }
  for (const { fan_rpm, power, rise } of sums)
    if (rise > 0) speeds.push({ fan_rpm, resistance_K_per_W: rise / power });
}
