import type { Run } from '../bench/bench.ts';
import { logSum } from '../numerics/log-weights.ts';
import { addTransposeProduct, cholesky, logDeterminant, solveLower } from '../numerics/matrix.ts';
import { median } from '../numerics/median.ts';
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
  const combinations = effects.map((one) => one && new Combinations(one));
  /** What many mounts tell of the share that is at fault: the chances by how many are. */
  const counted = scatters.map(({ mount, sample }) => combinations.map((one) => one?.counted(mount, sample)));
  // The share weighs a combination by how many are faulty and by nothing else.
  const logs = scatters.map(({ log }, k) =>
    SHARES.map((share, s) =>
      counted[k].reduce((sum, one) => {
        if (!one) return sum;
        return sum + one.log + one.mounts * Math.log(1 - share) + Math.log(byCount(one.any, oddsOf(share)));
      }, log + Math.log(SHARE_CHANCES[s])),
    ),
  );
  const evidence = logSum(logs.flat());
  const out = effects.map((one) => one && { healthy: Array.from(one.estimate, () => 0), allHealthy: 0 });
  counted.forEach((ofScatter, k) => {
    SHARES.forEach((share, s) => {
      const chance = Math.exp(logs[k][s] - evidence);
      if (chance === 0) return;
      const odds = oddsOf(share);
      ofScatter.forEach((one, c) => {
        const sums = out[c];
        if (!one || !sums) return;
        const each = chance / byCount(one.any, odds);
        sums.allHealthy += each * one.any[0];
        one.without.forEach((counts, i) => {
          sums.healthy[i] += each * byCount(counts, odds);
        });
      });
    });
  });
  return out.map(
    (one) => one && { healthy: one.healthy.map(atMostOne), allHealthy: atMostOne(one.allHealthy) },
  );
}

const atMostOne = (chance: number): number => Math.min(1, chance);
const oddsOf = (share: number): number => share / (1 - share);

/** Σ_f counts_f·odds^f. */
function byCount(counts: Float64Array, odds: number): number {
  let sum = 0;
  for (let f = counts.length - 1; f >= 0; f--) sum = sum * odds + counts[f];
  return sum;
}

/** The cooler's runs under the formula with the greatest weight. */
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

/** Which mounts may be faulty together, as indices: all subsets of those farthest from the median. */
function subsetsOf({ estimate }: MountEffects): number[][] {
  const middle = median([...estimate]);
  const candidates = [...estimate.keys()]
    .sort((a, b) => Math.abs(estimate[b] - middle) - Math.abs(estimate[a] - middle))
    .slice(0, MOST_AT_ONCE);
  return candidates.reduce<number[][]>(
    (before, i) => [...before, ...before.map((subset) => [...subset, i])],
    [[]],
  );
}

/** Likelihoods of the combinations over the greatest of them, summed by how many mounts are faulty: 0, 1, 2, …; warmer and cooler weighed by their chances. */
interface CountedFaults {
  /** ln of the greatest. */
  readonly log: number;
  readonly mounts: number;
  readonly any: Float64Array;
  /** The same over those in which each mount is healthy. */
  readonly without: readonly Float64Array[];
}

/** The combinations of faulty mounts of one cooler. */
class Combinations {
  private readonly effects: MountEffects;
  private readonly subsets: readonly (readonly number[])[];
  /** Whether two mounts are of one sample, mounts × mounts. */
  private readonly isShared: Uint8Array;
  private readonly healthy: Float64Array;
  private readonly factor: Float64Array;
  private readonly white: Float64Array;
  private readonly gram = new Float64Array((MOST_AT_ONCE + 1) ** 2);
  private readonly forms = new Float64Array(2 ** MOST_AT_ONCE);

  constructor(effects: MountEffects) {
    const n = effects.estimate.length;
    this.effects = effects;
    this.subsets = subsetsOf(effects);
    const { sample } = effects;
    this.isShared = Uint8Array.from(sample.flatMap((a) => sample.map((b) => (a === b ? 1 : 0))));
    this.healthy = new Float64Array(n * n);
    this.factor = new Float64Array(n * n);
    this.white = new Float64Array(n * (MOST_AT_ONCE + 1));
  }

  counted(sigmaMount: number, sigmaSample: number): CountedFaults {
    const { subsets, healthy, isShared } = this;
    const { estimate, unknown } = this.effects;
    const mounts = estimate.length;
    const length = Math.min(MOST_AT_ONCE, mounts) + 1;
    for (let at = 0; at < healthy.length; at++) healthy[at] = unknown[at] + sigmaSample ** 2 * isShared[at];
    for (let a = 0; a < mounts; a++) healthy[a * mounts + a] += sigmaMount ** 2;
    const logs = subsets.map((faulty) => this.logLikelihood(faulty));
    const log = Math.max(...logs);
    const any = new Float64Array(length);
    const without = Array.from({ length: mounts }, () => new Float64Array(length));
    subsets.forEach((faulty, k) => {
      const likelihood = log === Number.NEGATIVE_INFINITY ? 1 : Math.exp(logs[k] - log);
      any[faulty.length] += likelihood;
      without.forEach((counts, i) => {
        if (!faulty.includes(i)) counts[faulty.length] += likelihood;
      });
    });
    return { log, mounts, any, without };
  }

  /**
   * log of N(estimate; faults, Σ) with the scatters and the faults' own spread in Σ, summed over each of the faulty mounts being warmer or cooler
   * with their chances.
   */
  private logLikelihood(faulty: readonly number[]): number {
    const { healthy, factor, white, gram, forms } = this;
    const { estimate } = this.effects;
    const n = estimate.length;
    factor.set(healthy);
    for (const a of faulty) factor[a * n + a] += FAULT.deviation ** 2;
    if (!cholesky(factor, n)) return Number.NEGATIVE_INFINITY;
    // Whitened: the estimates, and beside them what a fault of each faulty mount adds.
    const columns = faulty.length + 1;
    white.fill(0, 0, n * columns);
    for (let a = 0; a < n; a++) white[a * columns] = estimate[a];
    for (let k = 1; k < columns; k++) white[faulty[k - 1] * columns + k] = FAULT.middle;
    solveLower(factor, n, white, columns);
    gram.fill(0, 0, columns * columns);
    addTransposeProduct(gram, white, white, n, columns, columns);
    const count = 2 ** faulty.length;
    let least = Number.POSITIVE_INFINITY;
    for (let signs = 0; signs < count; signs++) {
      let form = gram[0];
      for (let k = 1; k < columns; k++) {
        let across = gram[k * columns + k] / 2 - signOf(signs, k) * gram[k];
        for (let l = 1; l < k; l++) across += signOf(signs, k) * signOf(signs, l) * gram[k * columns + l];
        form += 2 * across;
      }
      forms[signs] = form;
      least = Math.min(least, form);
    }
    let sum = 0;
    for (let signs = 0; signs < count; signs++) {
      let chance = Math.exp((least - forms[signs]) / 2);
      for (let k = 1; k < columns; k++) chance *= signOf(signs, k) < 0 ? 1 - FAULT.up : FAULT.up;
      sum += chance;
    }
    return Math.log(sum) - least / 2 - logDeterminant(factor, n) / 2;
  }
}

/** Whether the k-th faulty mount, from 1, is warmer (1) or cooler (−1). */
const signOf = (signs: number, k: number): number => (((signs >> (k - 1)) & 1) === 1 ? -1 : 1);
