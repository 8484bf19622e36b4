import { normalCdf } from '../numerics/distributions.ts';
import { largest } from '../numerics/extremes.ts';
import { softmax } from '../numerics/log-weights.ts';
import { normalDensity } from '../numerics/normal-table.ts';
import { type LimitPrior, limitPrior } from './pipe-limit.ts';
import { limitParameter } from './rise-curve.ts';
import type { Work } from './work.ts';

/** What one cooler's runs say of where its pipes give out. */
export interface LimitEvidence {
  /** What its description says; `group` holds coolers whose pipes are of one diameter. */
  readonly described: LimitPrior;
  /** Greatest heat into the base at which it was run, W. */
  readonly seen_W: number;
  /** Weight of the formula that has a limit; the others say that there is none up to `seen_W`. */
  readonly weight: number;
  /** Where that formula has it, ln W, and how likely the runs are there, up to a common factor; empty where they say nothing. */
  readonly places: readonly { readonly at: number; readonly likelihood: number }[];
}

/**
 * Share of the variance of ln(limit) that pipes of one diameter on one bench have in common: wick and water are alike, and what the
 * capillary limit leaves out is left out for all of them (an assumption; half is for want of better).
 */
const IN_COMMON = 0.5;

/** Grid over what they have in common, in standard deviations. */
const STEPS = 81;
const REACH = 4;

/**
 * What the other coolers of a bench say of the limit of a cooler's pipes.
 *
 * ln(limit) of cooler c is that of its description plus g + h: g is the same for all pipes of a diameter on the bench, h is the cooler's own,
 * both normal. A cooler whose runs show its limit tells g, and so does one that outlived what its description expects. g is summed
 * over a grid with what every other cooler says, and the limit has its mean and its variance besides those of h.
 *
 * Source: a normal hierarchy with censored readings (Gelman et al., Bayesian Data Analysis, 3rd ed., chapters 5 and 8).
 *
 * @returns one belief a cooler; its own runs play no part in it
 */
export function pooledLimits(coolers: readonly LimitEvidence[]): LimitPrior[] {
  const own = coolers.map((one) =>
    likelihoodOfCommon(one).map((value) => Math.log(Math.max(value, Number.MIN_VALUE))),
  );
  const together = new Map<number, number[]>();
  coolers.forEach(({ described: { group } }, c) => {
    if (group === undefined) return;
    const sums = together.get(group) ?? GRID.map((z) => (-z * z) / 2);
    together.set(
      group,
      sums.map((sum, k) => sum + own[c][k]),
    );
  });
  return coolers.map(({ described }, c) => {
    const sums = described.group === undefined ? undefined : together.get(described.group);
    if (!sums) return described;
    const weights = softmax(sums.map((sum, k) => sum - own[c][k]));
    const mean = weights.reduce((sum, w, k) => sum + w * GRID[k], 0);
    const variance = weights.reduce((sum, w, k) => sum + w * (GRID[k] - mean) ** 2, 0);
    return {
      ...described,
      limit_W: described.limit_W * Math.exp(Math.sqrt(IN_COMMON) * described.spread * mean),
      spread: described.spread * Math.sqrt(1 - IN_COMMON + IN_COMMON * variance),
    };
  });
}

const GRID = Array.from({ length: STEPS }, (_, k) => REACH * ((2 * k) / (STEPS - 1) - 1));

/** How likely a cooler's runs are at each value of what is common, up to a factor. */
function likelihoodOfCommon({ described, seen_W, weight, places }: LimitEvidence): number[] {
  const { limit_W, spread } = described;
  const own = spread * Math.sqrt(1 - IN_COMMON);
  const outlived = (about: number, within: number) => normalCdf((about - Math.log(seen_W)) / within);
  const met = (about: number, within: number) =>
    places.length === 0
      ? 1
      : places.reduce(
          (sum, { at, likelihood }) => sum + likelihood * normalDensity((at - about) / within),
          0,
        ) / within;
  const middle = Math.log(limit_W);
  // The weights of the formulas hold the description already, so each part counts over what it was worth under that.
  const before = [outlived(middle, spread), met(middle, spread)].map((value) => Math.max(value, LEAST));
  return GRID.map((z) => {
    const about = middle + Math.sqrt(IN_COMMON) * spread * z;
    return ((1 - weight) * outlived(about, own)) / before[0] + (weight * met(about, own)) / before[1];
  });
}

/** A chance below this is taken as this: nothing is ruled out by a description. */
const LEAST = 1e-6;

/** What a cooler's runs say of its limit, by the formula which has one. */
export function limitEvidence({ data, curves, weights, together }: Work): LimitEvidence {
  const ofLimit = curves.flatMap(({ curve, prior }, m) => {
    const j = limitParameter(curve);
    return j < 0 || !Number.isFinite(together[m])
      ? []
      : [{ at: prior.mean[j], log: together[m], weight: weights[m] }];
  });
  const most = largest(ofLimit.map(({ log }) => log));
  return {
    described: limitPrior(data.cooler) as LimitPrior,
    seen_W: largest(data.base_W),
    weight: ofLimit.reduce((sum, { weight }) => sum + weight, 0),
    places: ofLimit.map(({ at, log }) => ({ at, likelihood: Math.exp(log - most) })),
  };
}
