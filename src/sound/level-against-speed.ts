import { cholesky, dot, logDeterminant, solveFactored, solveLower, solveUpperT } from '../numerics/matrix.ts';
import { roughOwnLevel, type SpeedGroup, sessionDesign } from './sound-levels-by-speed.ts';

/** The scatters of fan sound, dB, and how far along speed a bump reaches. */
export interface SoundScatter {
  /** Standard deviation of the cooler's true level about its straight law: tonal bumps, shared by all readings there. */
  bump_dB: number;
  /** Reach of a bump, decades of speed (0.05 is 12 %). */
  bumpReach_decades: number;
  /** Repeatability of one reading. */
  reading_dB: number;
  /** Specimen to specimen, at all speeds alike. 0: not considered. */
  sample_dB: number;
  /** How far the background of one of several sessions is from what is stated. */
  background_dB?: number;
}

/** The law's prior. Speeds are taken relative to 1000 rpm: there the levels of coolers lie, and a and b part (an assumption). */
export const PIVOT_lg = 3;
const LEVEL_PRIOR = { mean_dBA: 30, standardDeviation_dB: 20 };
/** Fan sound laws: 50·lg of speed (ANSI/AMCA Standard 301, from memory); fans on coolers are seen from about 40 to 60 (common practice). */
export const SLOPE_PRIOR = { mean_dB: 50, standardDeviation_dB: 5 };

/** What of a cooler's readings is the same for hundreds of sets of scatters. */
interface Prepared {
  readonly n: number;
  /** lg speed less the pivot. */
  readonly x: Float64Array;
  /** Prior mean of the own level. */
  readonly prior: Float64Array;
  /** Prior covariance by level and slope of the law, n × n. */
  readonly line: Float64Array;
  /** 1 where two groups are of one sample, n × n. */
  readonly same: Uint8Array;
  /** Correlation of bumps between the groups by their reach, n × n. */
  readonly correlation: Map<number, Float64Array>;
  /** Correlation of the bump at the speed last asked for with those at the groups, by reach. */
  readonly towards: Map<number, { lgSpeed: number; values: Float64Array }>;
}

/** What the groups give whatever the scatters: places along lg speed, prior means, which readings share a specimen. */
function prepare(groups: readonly SpeedGroup[]): Prepared {
  const n = groups.length;
  const x = Float64Array.from(groups, (g) => g.lgSpeed - PIVOT_lg);
  const place = (index: number): [number, number] => [Math.floor(index / n), index % n];
  return {
    n,
    x,
    prior: x.map((xi) => LEVEL_PRIOR.mean_dBA + SLOPE_PRIOR.mean_dB * xi),
    line: Float64Array.from({ length: n * n }, (_, index) => {
      const [i, j] = place(index);
      return LEVEL_PRIOR.standardDeviation_dB ** 2 + SLOPE_PRIOR.standardDeviation_dB ** 2 * x[i] * x[j];
    }),
    same: Uint8Array.from({ length: n * n }, (_, index) => {
      const [i, j] = place(index);
      return groups[i].sample === groups[j].sample ? 1 : 0;
    }),
    correlation: new Map(),
    towards: new Map(),
  };
}

/** Correlation of the bumps at the readings, n × n, kept by reach. */
function correlationsOf({ n, x, correlation: byReach }: Prepared, reach_decades: number): Float64Array {
  let correlation = byReach.get(reach_decades);
  if (correlation === undefined) {
    correlation = Float64Array.from({ length: n * n }, (_, index) =>
      bumpCorrelation(x[Math.floor(index / n)] - x[index % n], reach_decades),
    );
    byReach.set(reach_decades, correlation);
  }
  return correlation;
}

/** Correlation of the bump at a speed with those at the readings; the last speed is kept. */
function correlationsTowards({ n, x, towards }: Prepared, lgSpeed: number, reach: number): Float64Array {
  let known = towards.get(reach);
  if (known === undefined) {
    known = { lgSpeed: Number.NaN, values: new Float64Array(n) };
    towards.set(reach, known);
  }
  if (known.lgSpeed !== lgSpeed) {
    known.lgSpeed = lgSpeed;
    for (let i = 0; i < n; i++) known.values[i] = bumpCorrelation(lgSpeed - PIVOT_lg - x[i], reach);
  }
  return known.values;
}

/**
 * Own level of one cooler against speed, its scatters given: prepared by `soundWork`, solved by `solveSound`, answered by
 * `soundAnswer`.
 *
 * The own level is `a + b·lg n + bump(n)`, bumps a Gaussian process along lg n; a sample adds a shift of its own. What
 * is metered is the energy sum with the background plus the reading's scatter. Gauss–Newton on the own levels at the
 * speeds metered (the sum is smooth and convex) and the Laplace approximation there: a reading near the background gets
 * the weight that its slope `energyShare` leaves it, and none is dropped.
 */
export interface SoundGivenScatter {
  /** Log of the probability of the readings, a constant apart. */
  logEvidence: number;
  /** Mean and covariance of (level of the law at 1000 rpm, slope). */
  law(): {
    level_dBA: number;
    slope_dB: number;
    levelVariance: number;
    slopeVariance: number;
    covariance: number;
  };
  /** Own levels at the groups' speeds, sample's part included: a start for the next scatters. */
  own_dBA: Float64Array;
  /** The true own level at lg speed x: mean and variance, bumps included, sample's part not. */
  at(lgSpeed: number): { mean_dBA: number; variance_dB2: number };
  /** What a meter that reads 1 dB more in each session does to that mean, dB. */
  bySession(lgSpeed: number, sessions: number): Float64Array;
}

/** Matérn 5/2: smooth, as a level that a resonance lifts is, without the certainty between speeds of a Gaussian. */
function bumpCorrelation(distance_decades: number, reach_decades: number): number {
  const s = (Math.sqrt(5) * Math.abs(distance_decades)) / reach_decades;
  return (1 + s + (s * s) / 3) * Math.exp(-s);
}

/** Working storage of one solution; its arrays are taken over by the answer where that is kept. */
export interface SoundWork {
  readonly prepared: Prepared;
  /** In: own levels to start from. Out: at the solution. */
  own_dBA: Float64Array;
  /** Cholesky factor of the covariance of the readings about their prior mean, n × n. */
  factor: Float64Array;
  share: Float64Array;
  /** share · A⁻¹ · residual. */
  weighted: Float64Array;
  /** Prior covariance of the own levels, n × n, and two columns. */
  readonly scratch: {
    readonly k: Float64Array;
    readonly residual: Float64Array;
    readonly v: Float64Array;
  };
}

/** Working storage with a first guess of the own levels. */
export function soundWork(groups: readonly SpeedGroup[], background_dBA: number | undefined): SoundWork {
  const n = groups.length;
  return {
    own_dBA: Float64Array.from(groups, (g) => roughOwnLevel(g.sound_dBA, background_dBA)),
    factor: new Float64Array(n * n),
    share: new Float64Array(n),
    weighted: new Float64Array(n),
    prepared: prepare(groups),
    scratch: { k: new Float64Array(n * n), residual: new Float64Array(n), v: new Float64Array(n) },
  };
}

/** Of energy: 10/ln 10. */
const DECIBELS_PER_NEPER = 10 / Math.LN10;

/**
 * Solves for the own levels and leaves them in `work`.
 *
 * @param settled_dB  the own levels are settled when no step is greater
 * @returns log of the probability of the readings, a constant apart
 */
export function solveSound(
  groups: readonly SpeedGroup[],
  scatter: SoundScatter,
  background_dBA: number | undefined,
  work: SoundWork,
  settled_dB = SETTLED_dB,
): number {
  const { n, prior, line, same } = work.prepared;
  const { bump_dB, bumpReach_decades, reading_dB, sample_dB, background_dB = 0 } = scatter;
  const { own_dBA: own, factor: a, share, weighted } = work;
  const { k, residual, v } = work.scratch;
  const correlation = correlationsOf(work.prepared, bumpReach_decades);
  const [bump2, sample2, reading2] = [bump_dB ** 2, sample_dB ** 2, reading_dB ** 2];
  for (let i = 0; i < n; i++) {
    for (let at = i * n; at <= i * n + i; at++) {
      k[at] = line[at] + bump2 * correlation[at] + sample2 * same[at];
    }
  }
  for (let iteration = 0; iteration < 50; iteration++) {
    linearise(groups, background_dBA, work);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j <= i; j++) a[i * n + j] = share[i] * k[i * n + j] * share[j];
      a[i * n + i] += reading2 / groups[i].count;
      for (let j = 0; background_dB > 0 && j <= i; j++) {
        if (groups[i].session !== groups[j].session) continue;
        a[i * n + j] += background_dB ** 2 * (1 - share[i]) * (1 - share[j]);
      }
    }
    if (!cholesky(a, n)) throw new Error('solveSound: the covariance of the readings is not positive');
    v.set(residual);
    solveLower(a, n, v);
    solveUpperT(a, n, v);
    for (let i = 0; i < n; i++) weighted[i] = share[i] * v[i];
    let greatestStep = 0;
    for (let i = 0; i < n; i++) {
      let target = prior[i];
      for (let j = 0; j <= i; j++) target += k[i * n + j] * weighted[j];
      for (let j = i + 1; j < n; j++) target += k[j * n + i] * weighted[j];
      const step = Math.max(-4, Math.min(4, target - own[i]));
      greatestStep = Math.max(greatestStep, Math.abs(step));
      own[i] += step;
    }
    if (greatestStep < settled_dB) break;
  }

  let logEvidence = -0.5 * logDeterminant(a, n);
  for (let i = 0; i < n; i++) logEvidence -= 0.5 * residual[i] * v[i];
  const logReading = Math.log(reading_dB);
  for (const group of groups) {
    logEvidence -=
      (group.count - 1) * logReading + 0.5 * Math.log(group.count) + group.scatter_dB2 / (2 * reading2);
  }
  return logEvidence;
}

/**
 * The energy sum with the background as a straight line about the own levels in `work`: its slopes, in `share`, and in `residual` what the
 * readings lie above the line at the prior's levels.
 */
function linearise(
  groups: readonly SpeedGroup[],
  background_dBA: number | undefined,
  { own_dBA: own, share, prepared: { prior }, scratch: { residual } }: SoundWork,
): void {
  for (let i = 0; i < groups.length; i++) {
    let metered = own[i] + (groups[i].offset_dB ?? 0);
    share[i] = 1;
    if (background_dBA !== undefined) {
      // The energy sum and its slope by one exponential: see `meteredLevel` and `energyShare`.
      const over = 1 + Math.exp((background_dBA - metered) / DECIBELS_PER_NEPER);
      share[i] = 1 / over;
      metered += DECIBELS_PER_NEPER * Math.log(over);
    }
    residual[i] = groups[i].sound_dBA - metered + share[i] * (own[i] - prior[i]);
  }
}

/** Close enough for any digit that is shown. */
const SETTLED_dB = 1e-4;

/** Level and slope of the law with their covariance, given the readings that stand in solved `work`. */
function lawGiven(x: Float64Array, { factor: a, share, weighted }: SoundWork) {
  const n = x.length;
  const levelRow = share.slice(0, n);
  const slopeRow = levelRow.map((one, i) => one * x[i]);
  const held = weighted.subarray(0, n);
  solveLower(a, n, levelRow);
  solveLower(a, n, slopeRow);
  const [level2, slope2] = [LEVEL_PRIOR, SLOPE_PRIOR].map((prior) => prior.standardDeviation_dB ** 2);
  return {
    level_dBA: LEVEL_PRIOR.mean_dBA + level2 * held.reduce((sum, one) => sum + one, 0),
    slope_dB: SLOPE_PRIOR.mean_dB + slope2 * dot(held, x),
    levelVariance: level2 - level2 ** 2 * dot(levelRow, levelRow),
    slopeVariance: slope2 - slope2 ** 2 * dot(slopeRow, slopeRow),
    covariance: -level2 * slope2 * dot(levelRow, slopeRow),
  };
}

/** The answer that stands in solved `work`, which it takes over. */
export function soundAnswer(
  groups: readonly SpeedGroup[],
  scatter: SoundScatter,
  logEvidence: number,
  work: SoundWork,
): SoundGivenScatter {
  const known = work.prepared;
  const { n, x } = known;
  const { bump_dB, bumpReach_decades } = scatter;
  const { own_dBA, factor: a, share, weighted } = work;
  const levelVariance0 = LEVEL_PRIOR.standardDeviation_dB ** 2;
  const slopeVariance0 = SLOPE_PRIOR.standardDeviation_dB ** 2;
  const inverseDiagonal = Float64Array.from({ length: n }, (_, i) => 1 / a[i * n + i]);
  const row = new Float64Array(n);
  /** A⁻¹·F, n × sessions, once it is asked for. */
  let pull: Float64Array | undefined;
  return {
    logEvidence,
    law: () => lawGiven(x, work),
    own_dBA,
    at(lgSpeed) {
      const xs = lgSpeed - PIVOT_lg;
      const correlation = correlationsTowards(known, lgSpeed, bumpReach_decades);
      const bump2 = bump_dB * bump_dB;
      let mean_dBA = LEVEL_PRIOR.mean_dBA + SLOPE_PRIOR.mean_dB * xs;
      let variance_dB2 = levelVariance0 + slopeVariance0 * xs * xs + bump2;
      for (let i = 0; i < n; i++) {
        const k_i = levelVariance0 + slopeVariance0 * xs * x[i] + bump2 * correlation[i];
        mean_dBA += k_i * weighted[i];
        let sum = share[i] * k_i;
        for (let j = 0, at = i * n; j < i; j++, at++) sum -= a[at] * row[j];
        const entry = sum * inverseDiagonal[i];
        row[i] = entry;
        variance_dB2 -= entry * entry;
      }
      return { mean_dBA, variance_dB2: Math.max(variance_dB2, 0) };
    },
    bySession(lgSpeed, sessions) {
      if (!pull) {
        pull = solveFactored(a, n, sessionDesign(groups, share, sessions), sessions);
      }
      const xs = lgSpeed - PIVOT_lg;
      const correlation = correlationsTowards(known, lgSpeed, bumpReach_decades);
      const out = new Float64Array(sessions);
      for (let i = 0; i < n; i++) {
        const k_i = levelVariance0 + slopeVariance0 * xs * x[i] + bump_dB * bump_dB * correlation[i];
        for (let s = 0; s < sessions; s++) out[s] -= k_i * share[i] * pull[i * sessions + s];
      }
      return out;
    },
  };
}
