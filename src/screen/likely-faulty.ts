import type { Run } from '../bench/bench.ts';
import { cholesky, inverseForm, logDeterminant } from '../numerics/matrix.ts';
import { median } from '../numerics/median.ts';
import { logSum } from './causes.ts';
import type { JudgedCooler } from './judge.ts';
import { type MountEffects, mountEffects } from './mount-effects.ts';

/** Scatter of mounts before the bench speaks, as one that is in order has it (common practice, no source): median, K/W, and spread of the logarithm. */
const MOUNTS = { median: 0.004, spread: 0.45 };
/** The same of samples. */
const SAMPLES = { median: 0.004, spread: 0.6 };
/** What a fault does to a mount's resistance, K/W (common practice, no source); three in four make it warmer. */
const FAULT = { middle: 0.035, deviation: 0.015, up: 0.75 };
/** Share of mounts that are faulty on the benches that are screened, and its chances (an assumption; see docs/coverage.md for what it does to healthy ones). */
const SHARES = [0.005, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5] as const;
const SHARE_CHANCES = [0.02, 0.08, 0.15, 0.2, 0.2, 0.15, 0.1, 0.1] as const;
/** So many mounts of a cooler may be at fault at once, the farthest from its median; 3⁴ combinations. */
const MOST_AT_ONCE = 4;

/** What is believed of the mounts of one cooler. */
export interface FaultChances {
  /** Chance that each is like the others. */
  readonly healthy: readonly number[];
  /** Chance that all of them are. */
  readonly allHealthy: number;
}

export interface LikelyFaulty extends FaultChances {
  readonly mounts: readonly (readonly Run[])[];
}

/**
 * Which mounts of a bench are faulty, by {@link faultChances} of their resistances under the likeliest formula of each cooler.
 *
 * @param sigma  the bench's scatters, which the covariances of `coolers` hold
 */
export function likelyFaulty(
  coolers: readonly { readonly cooler: JudgedCooler; readonly mounts: readonly (readonly Run[])[] }[],
  sigma: readonly number[],
): LikelyFaulty[] {
  const chances = faultChances(
    coolers.map(({ cooler, mounts }) =>
      mounts.length > 1 ? mountEffects(cooler, heaviest(cooler), mounts, sigma) : undefined,
    ),
  );
  return coolers.map(({ mounts }, c) => ({
    ...(chances[c] ?? { healthy: mounts.map(() => 1), allHealthy: 1 }),
    mounts,
  }));
}

/**
 * Which mounts are faulty, all mounts of the bench weighed at once.
 *
 * Every mount either scatters as mounts do or has a fault besides. The scatter and the share of faulty ones are the bench's and not known; given
 * them the coolers are independent, and every combination of faulty mounts of a cooler has a likelihood in closed form, as its mounts' resistances
 * are normal with a level that only the curve's prior knows. Summing over all of it, no mount has a say in the scatter that it is judged by
 * as far as it is likely at fault: neither one bad mount nor half of them hide behind the scatter that they make. The healthy ones tell the scatter,
 * and where hardly any is healthy its prior does.
 *
 * Source: a mixture for outliers of either kind: Box and Tiao (1968) Biometrika 55, 119.
 *
 * @param effects  a cooler's mounts each; `undefined` for a cooler with one mount, of which nothing can be said
 */
export function faultChances(effects: readonly (MountEffects | undefined)[]): (FaultChances | undefined)[] {
  const isSampled = effects.some((one) => one && new Set(one.sample).size > 1);
  const scatters = nodes(MOUNTS, 15).flatMap((mount) =>
    (isSampled ? nodes(SAMPLES, 7) : [{ value: 0, log: 0 }]).map((sample) => ({
      mount: mount.value,
      sample: sample.value,
      log: mount.log + sample.log,
    })),
  );
  const combinations = effects.map((one) => (one ? combinationsOf(one) : []));
  const total: number[] = [];
  const healthy = effects.map((one) => [...(one?.estimate ?? [])].map(() => [] as number[]));
  const all = effects.map(() => [] as number[]);
  for (const { mount, sample, log } of scatters) {
    const likelihoods = effects.map((one, c) =>
      one ? combinations[c].map((fault) => logLikelihood(one, fault, mount, sample)) : [],
    );
    SHARES.forEach((share, s) => {
      const weighed = likelihoods.map((logs, c) =>
        logs.map((value, k) => value + logPrior(combinations[c][k], share)),
      );
      const sums = weighed.map((logs) => (logs.length === 0 ? 0 : logSum(logs)));
      const whole = sums.reduce((sum, one) => sum + one, log + Math.log(SHARE_CHANCES[s]));
      total.push(whole);
      weighed.forEach((logs, c) => {
        if (logs.length === 0) return;
        const of = (isMeant: (fault: readonly number[]) => boolean) =>
          whole + logSum(logs.filter((_, k) => isMeant(combinations[c][k]))) - sums[c];
        healthy[c].forEach((chances, i) => {
          chances.push(of((fault) => fault[i] === 0));
        });
        all[c].push(of((fault) => fault.every((one) => one === 0)));
      });
    });
  }
  const evidence = logSum(total);
  const chance = (logs: number[]) => Math.min(1, Math.exp(logSum(logs) - evidence));
  return effects.map((one, c) => one && { healthy: healthy[c].map(chance), allHealthy: chance(all[c]) });
}

function heaviest({ curves }: JudgedCooler) {
  return curves.reduce((a, b) => (b.joint.weight > a.joint.weight ? b : a)).joint;
}

/** Values of a log-normal quantity three standard deviations either way, and five up, with the log of their prior density. */
function nodes({ median: middle, spread }: typeof MOUNTS, count: number): { value: number; log: number }[] {
  return Array.from({ length: count }, (_, k) => {
    const z = -3 + (8 * k) / (count - 1);
    return { value: middle * Math.exp(spread * z), log: (-z * z) / 2 };
  });
}

/** For each combination the fault of every mount: 0 none, 1 warmer, −1 cooler. */
function combinationsOf({ estimate }: MountEffects): number[][] {
  const middle = median([...estimate]);
  const order = [...estimate.keys()].sort(
    (a, b) => Math.abs(estimate[b] - middle) - Math.abs(estimate[a] - middle),
  );
  const candidates = new Set(order.slice(0, MOST_AT_ONCE));
  let out: number[][] = [[]];
  for (let i = 0; i < estimate.length; i++) {
    const faults = candidates.has(i) ? [0, 1, -1] : [0];
    out = out.flatMap((before) => faults.map((fault) => [...before, fault]));
  }
  return out;
}

function logPrior(combination: readonly number[], share: number): number {
  return combination.reduce(
    (sum, fault) => sum + Math.log(fault === 0 ? 1 - share : share * (fault > 0 ? FAULT.up : 1 - FAULT.up)),
    0,
  );
}

/** log N(estimate; faults, Σ) with the scatters and the faults' own spread in Σ. */
function logLikelihood(
  { estimate, unknown, sample }: MountEffects,
  combination: readonly number[],
  sigmaMount: number,
  sigmaSample: number,
): number {
  const n = estimate.length;
  const factor = unknown.slice();
  const off = estimate.slice();
  for (let a = 0; a < n; a++) {
    const fault = combination[a];
    off[a] -= fault * FAULT.middle;
    factor[a * n + a] += sigmaMount ** 2 + (fault === 0 ? 0 : FAULT.deviation ** 2);
    for (let b = 0; b < n; b++) if (sample[a] === sample[b]) factor[a * n + b] += sigmaSample ** 2;
  }
  if (!cholesky(factor, n)) return Number.NEGATIVE_INFINITY;
  return -(logDeterminant(factor, n) + inverseForm(factor, off)) / 2;
}
