import { distinctMounts } from '../bench/mounts.ts';
import { isSame, isZeroLoad } from '../bench/run.ts';
import { sourceOf } from '../bench/source.ts';
import { counted } from '../bench/wording.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { MOUNT, READING, SAMPLE } from '../fit/components.ts';
import { speedIsOutside } from '../fit/cooler-runs.ts';
import {
  FIRST_OFFSET,
  LEAK,
  OTHER_PASTE,
  PASTE,
  POWER_SCALE,
  sharedErrorCount,
} from '../fit/shared-error-order.ts';
import { solveUpperT } from '../numerics/matrix.ts';
import { mixtureDeviation, type NormalMixture } from '../numerics/mixture.ts';

import type { SpeedCondition } from './at-conditions.ts';
import { errorCount } from './chip-rises.ts';
import { isWithinReach, reachableLoad } from './reachable-load.ts';
import { type DistributionAtSpeed, withSpeedShifts } from './speed-spread.ts';

/** Where the variance of an interval comes from: scatters, shared errors, what formulas and pipes leave open. */
export type BudgetPart =
  | 'mounts'
  | 'samples'
  | 'readings'
  | 'paste'
  | 'power'
  | 'leak'
  | 'sensors'
  | 'formula'
  | 'pipes'
  | 'fan speed'
  | 'inlet air'
  | 'chip';

/** One part of the variance of an interval; the shares of all add to 1. */
export interface BudgetShare {
  from: BudgetPart;
  share: number;
  /** Standard uncertainty that this part alone would give. */
  u_K: number;
  /** What would about halve this part. */
  halved_by: string;
}

/** Variance by where it comes from, K². */
export type VarianceParts = Map<BudgetPart, number>;

function add(parts: VarianceParts, from: BudgetPart, variance: number): void {
  if (variance !== 0) parts.set(from, (parts.get(from) ?? 0) + variance);
}

const varianceOf = (mixture: NormalMixture): number => mixtureDeviation(mixture) ** 2;

/**
 * The variance of a mean rise without the errors that all runs share, as its interval has it.
 *
 * The estimate is linear in the runs, so that each scatter brings σ² times the sum of squares of the runs' weights in it. What is left of a formula's
 * own variance is how far its parameters are known beside the runs, and what the formulas differ by comes to that; what the places of a
 * limit differ by is the pipes'.
 *
 * @param stretch  of the deviations, for their few degrees of freedom
 */
export function ownParts(distribution: DistributionAtSpeed, stretch: number): VarianceParts {
  const { mean, scatterShares, knownShare, pipesVariance_K2, termVariance_K2, speedShifts } = distribution;
  const parts: VarianceParts = new Map();
  const wide = { ...mean, deviation: mean.deviation.map((d) => d * stretch) };
  const within = mean.weight.reduce((sum, w, k) => sum + w * wide.deviation[k] ** 2, 0);
  const term = Math.min(termVariance_K2 * stretch ** 2, within);
  const own = within - term;
  const told: [BudgetPart, number][] = [
    ['samples', scatterShares[SAMPLE]],
    ['mounts', scatterShares[MOUNT]],
    ['readings', scatterShares[READING] + knownShare],
  ];
  let rest = 1;
  for (const [from, share] of told) {
    add(parts, from, share * own);
    rest -= share;
  }
  const between = varianceOf(wide) - within;
  add(parts, 'pipes', Math.min(pipesVariance_K2, between));
  add(parts, 'formula', Math.max(rest, 0) * own + Math.max(between - pipesVariance_K2, 0));
  add(parts, 'chip', term);
  if (speedShifts) add(parts, 'fan speed', varianceOf(withSpeedShifts(wide, speedShifts)) - varianceOf(wide));
  return parts;
}

/**
 * What the errors that all runs share bring, by a rise's sensitivities to them or by the difference of two rises'. The states of several
 * sessions hang together; each part has its own variance and its covariance with the other.
 *
 * @param shared  standard uncertainties of the errors
 */
export function sharedParts(
  posterior: BenchPosterior,
  sensitivity: Float64Array,
  shared: Float64Array,
): VarianceParts {
  const { term, sessionEffects } = posterior;
  const parts: VarianceParts = new Map();
  const each = sensitivity.map((s, k) => (s * shared[k]) ** 2);
  add(parts, 'power', each[POWER_SCALE]);
  add(parts, 'leak', each[LEAK]);
  add(parts, 'paste', each[PASTE] + each[OTHER_PASTE]);
  const columns = term?.columns;
  // The sound level meter's errors stand after the bench's own.
  const end = term ? errorCount(term) : sharedErrorCount(posterior.sessions);
  for (let k = end; k < each.length; k++) add(parts, 'fan speed', each[k]);
  const last = columns ? columns.sensor : end;
  if (!sessionEffects || last - FIRST_OFFSET < 2) {
    for (let k = FIRST_OFFSET; k < last; k++) add(parts, 'sensors', each[k]);
  } else {
    // With z = Lᵀc for effects c on the states, the variance is Σ c_k·(L·z)_k.
    const z = sensitivity.slice(FIRST_OFFSET, last);
    const effects = z.slice();
    const size = z.length;
    solveUpperT(sessionEffects.root, size, effects);
    let [sensors, paste] = [0, 0];
    for (let k = 0; k < size; k++) {
      let state = 0;
      for (let j = 0; j < size; j++) state += sessionEffects.root[k * size + j] * z[j];
      if (k < size / 2) sensors += effects[k] * state;
      else paste += effects[k] * state;
    }
    const total = sensors + paste;
    add(parts, 'sensors', Math.min(Math.max(sensors, 0), total));
    add(parts, 'paste', Math.min(Math.max(paste, 0), total));
  }
  if (!term || !columns) return parts;
  add(parts, 'sensors', each[columns.sensor]);
  add(parts, 'power', each[columns.power]);
  add(parts, 'leak', each[columns.leak]);
  const pastes = new Set(columns.pasteOf.values());
  const states = columns.count + term.runs.length;
  for (let k = columns.term; k < end; k++) {
    add(parts, pastes.has(k) ? 'paste' : k < states ? 'chip' : 'sensors', each[k]);
  }
  return parts;
}

/** Variances of the same parts together. */
export function summed(...all: readonly VarianceParts[]): VarianceParts {
  const out: VarianceParts = new Map();
  for (const parts of all) for (const [from, variance] of parts) add(out, from, variance);
  return out;
}

/** What an interval is about: one cooler's rise, or the difference of two. */
export interface BudgetOf {
  readonly posterior: BenchPosterior;
  readonly coolers: readonly { readonly cooler: CoolerPosterior; readonly at: SpeedCondition }[];
  readonly distributions: readonly DistributionAtSpeed[];
  /** Air entering the fans. */
  readonly air_C: number;
}

/** Shares of a variance, the greatest first, and what would halve each. */
export function budgetOf(parts: VarianceParts, about: BudgetOf): BudgetShare[] {
  const total = [...parts.values()].reduce((sum, variance) => sum + variance, 0);
  if (!(total > 0)) return [];
  return [...parts]
    .sort(([, a], [, b]) => b - a)
    .map(([from, variance]) => ({
      from,
      share: variance / total,
      u_K: Math.sqrt(variance),
      halved_by: halvedBy(from, about),
    }));
}

/** An uncertainty that is to be 1/√2 of what it is. */
const lesser = (u: number): string => String(Number((u / Math.SQRT2).toPrecision(2)));

/** What would about halve the variance from one part, in words. */
function halvedBy(from: BudgetPart, about: BudgetOf): string {
  const { posterior, coolers } = about;
  const { bench, source, term } = posterior;
  const each = coolers.length > 1 ? ' of each' : '';
  const most = (count: (cooler: CoolerPosterior) => number) =>
    Math.max(1, ...coolers.map(({ cooler }) => count(cooler.fittedIn?.cooler ?? cooler)));
  const more = (noun: string, n: number) => `${n} more ${counted(n, noun).replace(/^\d+ /, '')}${each}`;
  const stated = sourceOf(bench, source);
  switch (from) {
    case 'mounts':
      return more(
        'mount',
        most(({ data }) => distinctMounts(data.runs).length),
      );
    case 'samples':
      return more(
        'sample',
        most(({ data }) => new Set(data.sample).size),
      );
    case 'readings':
      return more(
        'run',
        most(({ data }) => data.runs.length),
      );
    case 'paste':
      return posterior.sessions.length > 1
        ? 'the same coolers run in more than one session'
        : 'nothing: it is the difference between paste batches';
    case 'power':
      return `a power figure known to ${lesser(stated.power_systematic_percent)} % in place of ${stated.power_systematic_percent} %`;
    case 'leak':
      return `a leak known to ${lesser(stated.leak_W_per_K.uncertainty)} W/K in place of ${stated.leak_W_per_K.uncertainty} W/K`;
    case 'sensors':
      return source === 'heater' && !bench.runs.some((run) => run.source === 'heater' && isZeroLoad(run))
        ? 'a run with the heater off, which shows the offset'
        : `sensors known to ${lesser(stated.sensor_systematic_K)} K in place of ${stated.sensor_systematic_K} K`;
    case 'fan speed':
      return `more sound readings near ${coolers.map(({ at }) => `${Math.round(at.fan_rpm)} rpm`).join(' and ')}`;
    case 'chip':
      return term?.runs.some(({ cooler }) => coolers.every((one) => one.cooler.data.cooler.cooler !== cooler))
        ? `runs${each} on ${source}`
        : `runs of more coolers on ${source}`;
    case 'inlet air':
      return 'the inlet temperature measured and given with --inlet-rise';
    case 'formula':
    case 'pipes':
      return telling(about);
  }
}

/** The run that shows what the curve does at a load: there, or as near as it may be run. */
function telling({ posterior, coolers, distributions, air_C }: BudgetOf): string {
  const [{ power_W }] = distributions;
  const least = Math.min(
    ...coolers.map(({ cooler, at }, c) =>
      isWithinReach(posterior, cooler, distributions[c], air_C)
        ? power_W
        : reachableLoad(posterior, cooler, at.speed, air_C),
    ),
  );
  const load = Math.min(power_W, Math.floor(least));
  const each = coolers.length > 1 ? ' of each' : '';
  const isRun = coolers.every(({ cooler: { data }, at }) => {
    return speedIsOutside(data, at.speed) === 0 && data.power_W.some((run) => isSame(run, load));
  });
  if (isRun) return `runs${each} at more loads near ${Number(load.toPrecision(3))} W`;
  const speeds = [...new Set(coolers.map(({ at }) => Math.round(at.fan_rpm)))];
  const isSpeedRun = coolers.every(({ cooler: { data }, at }) => speedIsOutside(data, at.speed) === 0);
  return `one run${each} at ${Number(load.toPrecision(3))} W${isSpeedRun ? '' : ` and ${speeds.join(' and ')} rpm`}`;
}
