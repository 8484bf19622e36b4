import type { Bench, Run } from '../bench/bench.ts';
import { unlikeLoad, unlikeSpeed } from '../logs/log-blocks.ts';
import { scannedLog } from '../logs/log-source.ts';
import { reduceLog } from '../logs/reduce-log.ts';
import { lagOf } from '../response/air-laws.ts';

import type { Cause } from './sized-fault.ts';

/** How the logs of two mounts of a cooler part at one load and speed: within seconds at the interface, after minutes on the air side. */
export interface Parting {
  /** Run of the mount in question, and run of another mount that it is held against. */
  run: string;
  beside: string;
  /** Since the load step, s. */
  at_s: number;
  /** Share of their final difference that is there at that time, and its standard uncertainty. */
  share: number;
  u: number;
  /** The share that each fault would have by then. */
  expected: { interface: number; airflow: number; leak: number; sensor: number };
}

/** A response to a load step: rise(t) = rise − Σ amplitude·exp(−t/τ). */
export interface StepFit {
  readonly rise_K: number;
  readonly u_K: number;
  readonly time_constants_s: readonly number[];
  /** Rise still to come, K; they add to about the rise. */
  readonly amplitudes_K: readonly number[];
  /** Spacing of the log's rows. */
  readonly interval_s: number;
}

/** Points of the grid on which flows are followed. */
const POINTS = 240;
/** Air that sways is seen at once and felt later: a rise on the way is known no better than this, K (an assumption). */
const ON_THE_WAY_K = 0.1;
/** A share by a network is right within this (an assumption). */
const NETWORK = 0.08;
/** A difference of this many standard uncertainties and kelvins is worth a look. */
const CLEAR = 4;
const LEAST_K = 0.5;
/** A response begins at rest when what is to come is the rise within this share; a sensor that is off makes up for some of it. */
const FROM_REST = 0.3;

/**
 * How much of their final difference two responses have at a time, and what each fault would have.
 *
 * A resistance that differs by δR where the heat q(t) flows makes the source differ by δR·(q̇ ∗ q)(t), since in a network of resistances and heat
 * capacities the source feels a source of heat elsewhere as that place feels one at the source (reciprocity); the same holds with the rise in place
 * of q for a conductance off the block. The response alone tells the flow just below the block, P − C·dT/dt with C = P over its first slope, and, for
 * a ladder, the flow into the air, through all of its lags. So a film of paste parts two mounts within the first constant, a slow fan within the last.
 * The time is that at which these two are farthest apart.
 *
 * Source: reciprocity: Carslaw and Jaeger (1959), Conduction of Heat in Solids, 14.1 (from memory); ladder: see `air-laws.ts`.
 *
 * @param odd  the mount in question
 * @param mate  one in order, scaled to the load of the other
 * @returns `undefined` where the two end too close together
 */
export function partingOf(odd: StepFit, mate: StepFit): Omit<Parting, 'run' | 'beside'> | undefined {
  const end_K = odd.rise_K - mate.rise_K;
  const endU_K = Math.hypot(odd.u_K, mate.u_K);
  if (!(Math.abs(end_K) > Math.max(LEAST_K, CLEAR * endU_K))) return undefined;
  const shares = sharesOf(mate);
  if (!shares) return undefined;
  const { time_s, interface: film, air } = shares;
  let at = 1;
  for (let k = 2; k < POINTS; k++) if (film[k] - air[k] > film[at] - air[at]) at = k;
  const t = time_s[at];
  const share = (riseAt(odd, t) - riseAt(mate, t)) / end_K;
  const slope = (riseAt(mate, t + 1) - riseAt(mate, t - 1)) / 2;
  const timing_K = (slope * Math.hypot(odd.interval_s, mate.interval_s)) / 2;
  const u = Math.hypot(ON_THE_WAY_K, timing_K, share * endU_K) / Math.abs(end_K);
  return {
    at_s: t,
    share,
    u,
    expected: { interface: film[at], airflow: air[at], leak: shares.leak[at], sensor: 1 },
  };
}

/** Shares of the final difference over time, by where the fault is. */
function sharesOf({ time_constants_s: taus, amplitudes_K: amplitudes }: StepFit) {
  const parts = taus.map((tau, i) => ({ tau, amplitude: amplitudes[i] }));
  const total = parts.reduce((sum, { amplitude }) => sum + amplitude, 0);
  const steep = parts.reduce((sum, { tau, amplitude }) => sum + amplitude / tau, 0);
  if (parts.length < 2 || !(total > 0 && steep > 0)) return undefined;
  const slowest = Math.max(...taus);
  const time_s = Float64Array.from({ length: POINTS }, (_, k) => (3 * slowest * k) / (POINTS - 1));
  const sumOf = (weight: (part: { tau: number; amplitude: number }) => number) =>
    time_s.map((t) => 1 - parts.reduce((sum, one) => sum + weight(one) * Math.exp(-t / one.tau), 0));
  const below = sumOf(({ tau, amplitude }) => amplitude / tau / steep);
  const rise = sumOf(({ amplitude }) => amplitude / total);
  const through = (flow: Float64Array): Float64Array => {
    const out = flow.slice();
    for (const { tau } of parts) lagOf({ count: POINTS, time_s, length_s: time_s }, tau, out, out);
    return out;
  };
  const step = new Float64Array(POINTS).fill(1);
  step[0] = 0;
  return { time_s, interface: withItself(below), leak: withItself(rise), air: through(through(step)) };
}

/** (q̇ ∗ q)(t) for a flow that begins at zero, on an even grid. */
function withItself(flow: Float64Array): Float64Array {
  return flow.map((_, n) => {
    let sum = 0;
    for (let k = 0; k < n; k++) sum += ((flow[k + 1] - flow[k]) * (flow[n - k] + flow[n - k - 1])) / 2;
    return sum;
  });
}

/** The fitted rise at a time after the step, K. */
function riseAt({ rise_K, time_constants_s: taus, amplitudes_K }: StepFit, time_s: number): number {
  return taus.reduce((rise, tau, i) => rise - amplitudes_K[i] * Math.exp(-time_s / tau), rise_K);
}

/**
 * Log likelihood of a parting under each cause, up to a constant that they share. Pipes that reach their limit, and a slow pump, may have any
 * share up to that of a film; what is unexplained any at all.
 */
export function partingLogs({ share, u, expected }: Parting, cause: Cause): number {
  const normal = (mean: number, more = 0): number => {
    const deviation = Math.hypot(u, NETWORK, more);
    return -(((share - mean) / deviation) ** 2) / 2 - Math.log(deviation);
  };
  if (cause === 'unexplained') return normal(0.5, 0.5);
  if (cause === 'pipe-limit' || cause === 'pump')
    return normal(expected.interface / 2, expected.interface / Math.sqrt(12));
  return normal(expected[cause]);
}

/**
 * How a mount's log parts from one of another mount of its cooler at the same load and speed, where both were logged: of all such pairs that
 * with the greatest difference.
 *
 * @param runs  of the mount in question
 * @param mates  of the other mounts that are in order
 */
export function partingOfMount(
  bench: Bench,
  runs: readonly Run[],
  mates: readonly Run[],
): Parting | undefined {
  if (bench.logs.length === 0) return undefined;
  const fits = new Map<Run, StepFit | undefined>();
  const fitOf = (run: Run) => {
    if (!fits.has(run)) fits.set(run, stepFit(bench, run));
    return fits.get(run);
  };
  let best: { parting: Parting; apart_K: number } | undefined;
  for (const run of runs) {
    for (const mate of mates) {
      if (unlikeLoad(run.power_W, mate.power_W, 0) || unlikeSpeed(run.fan_rpm, mate.fan_rpm)) continue;
      const [own, other] = [fitOf(run), fitOf(mate)];
      if (!own || !other) continue;
      const scaled = atLoadOf(run, mate, other);
      const found = partingOf(own, scaled);
      const apart_K = Math.abs(own.rise_K - scaled.rise_K);
      if (found && !(best && best.apart_K > apart_K))
        best = { parting: { run: run.run, beside: mate.run, ...found }, apart_K };
    }
  }
  return best?.parting;
}

/** The response of a mate as it would be at the load of a run. */
function atLoadOf(run: Run, mate: Run, fit: StepFit): StepFit {
  const scale = run.power_W / mate.power_W;
  return {
    ...fit,
    rise_K: scale * fit.rise_K,
    u_K: scale * fit.u_K,
    amplitudes_K: fit.amplitudes_K.map((one) => scale * one),
  };
}

/** How two mounts part since the load step: rise of the one in question less that of the other, and what two faults would give. */
export interface PartingCurves {
  time_s: number[];
  apart_K: number[];
  /** A film of paste with the same difference in the end, and a slow fan. */
  interface_K: number[];
  airflow_K: number[];
  /** The other's response at the load of the one in question: `asymptote_K − Σ amplitude·exp(−t/τ)`. */
  mate: { asymptote_K: number; amplitudes_K: number[]; time_constants_s: number[] };
}

/** One point of the curves for so many on the grid, once they are no longer steep. */
const EVERY = 4;

/**
 * The curves behind a parting, the time at which it was told among their points.
 *
 * @param runs  with the two that it names
 */
export function partingCurves(
  bench: Bench,
  parting: Parting,
  runs: readonly Run[],
): PartingCurves | undefined {
  const [run, beside] = [parting.run, parting.beside].map((name) => runs.find((one) => one.run === name));
  const [odd, other] = [run, beside].map((one) => one && stepFit(bench, one));
  const mate = run && beside && other && atLoadOf(run, beside, other);
  const shares = mate && sharesOf(mate);
  if (!odd || !mate || !shares) return undefined;
  const at = shares.time_s.indexOf(parting.at_s);
  const drawn = [...shares.time_s.keys()].filter((k) => k <= at || (k - at) % EVERY === 0);
  const end_K = odd.rise_K - mate.rise_K;
  return {
    time_s: drawn.map((k) => shares.time_s[k]),
    apart_K: drawn.map((k) => riseAt(odd, shares.time_s[k]) - riseAt(mate, shares.time_s[k])),
    interface_K: drawn.map((k) => end_K * shares.interface[k]),
    airflow_K: drawn.map((k) => end_K * shares.air[k]),
    mate: {
      asymptote_K: mate.rise_K,
      amplitudes_K: [...mate.amplitudes_K],
      time_constants_s: [...mate.time_constants_s],
    },
  };
}

/** The response of a run whose log is at hand and holds that one load step, from rest. */
function stepFit(bench: Bench, { run, power_W }: Run): StepFit | undefined {
  const entry = bench.logs.find((one) => one.run === run);
  const scanned = entry && scannedLog(bench, entry.log);
  if (!scanned) return undefined;
  const steps = reduceLog(scanned, bench.ambient, { early_stop_K: 0 });
  const [step] = steps;
  if (steps.length !== 1 || step.rise_K === null || step.u_K === null) return undefined;
  if (unlikeLoad(step.power_W, power_W, 0)) return undefined;
  const { rise_K, u_K, time_constants_s, amplitudes_K } = step;
  // What began warm has parted before.
  const come_K = amplitudes_K.reduce((sum, one) => sum + one, 0);
  if (Math.abs(come_K - rise_K) > FROM_REST * rise_K) return undefined;
  return { rise_K, u_K, time_constants_s, amplitudes_K, interval_s: scanned.interval_s };
}
