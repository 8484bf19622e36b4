import { cholesky, logDeterminant, solveLower, solveUpperT } from '../fitting/dense.ts';
import { energyShare, meteredLevel } from './energy-sum.ts';
import { roughOwnLevel, type SpeedGroup } from './sound-levels-by-speed.ts';

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
}

/** The law's prior. Speeds are taken relative to 1000 rpm: there the levels of coolers lie, and a and b part. */
export const PIVOT_lg = 3;
const LEVEL_PRIOR = { mean_dBA: 30, standardDeviation_dB: 20 };
/** From the fan laws: about 50 dB a decade; fans on coolers are seen from about 40 to 60 (common practice). */
export const SLOPE_PRIOR = { mean_dB: 50, standardDeviation_dB: 5 };

/** Correlations of bumps between the groups of a cooler by their reach: the same for hundreds of sets of scatters. */
const knownCorrelations = new WeakMap<readonly SpeedGroup[], Map<number, Float64Array>>();

function correlationsOf(groups: readonly SpeedGroup[], reach_decades: number): Float64Array {
  const byReach = knownCorrelations.get(groups) ?? new Map<number, Float64Array>();
  knownCorrelations.set(groups, byReach);
  let correlation = byReach.get(reach_decades);
  if (correlation === undefined) {
    correlation = Float64Array.from({ length: groups.length ** 2 }, (_, index) => {
      const [i, j] = [Math.floor(index / groups.length), index % groups.length];
      return bumpCorrelation(groups[i].lgSpeed - groups[j].lgSpeed, reach_decades);
    });
    byReach.set(reach_decades, correlation);
  }
  return correlation;
}

/** What the readings of one cooler say, the scatters taken as known. */
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
}

/** Matérn 5/2: smooth, as a level that a resonance lifts is, without the certainty between speeds of a Gaussian. */
function bumpCorrelation(distance_decades: number, reach_decades: number): number {
  const s = (Math.sqrt(5) * Math.abs(distance_decades)) / reach_decades;
  return (1 + s + (s * s) / 3) * Math.exp(-s);
}

/**
 * Own level of one cooler against speed, its scatters given.
 *
 * The own level is `a + b·lg n + bump(n)`, bumps a Gaussian process along lg n; a sample adds a shift of its own. What
 * is metered is the energy sum with the background plus the reading's scatter. Gauss–Newton on the own levels at the
 * speeds metered (the sum is smooth and convex) and the Laplace approximation there: a reading near the background gets
 * the weight that its slope `energyShare` leaves it, and none is dropped.
 *
 * @param groups          readings by speed, at least one
 * @param scatter         standard deviations, `reading_dB` and `bumpReach_decades` positive
 * @param background_dBA  level with the fan off; undefined: the readings are taken as the own level
 * @param start_dBA       own levels to start from
 */
export function soundGivenScatter(
  groups: readonly SpeedGroup[],
  scatter: SoundScatter,
  background_dBA: number | undefined,
  start_dBA?: Float64Array,
): SoundGivenScatter {
  const n = groups.length;
  const { bump_dB, bumpReach_decades, reading_dB, sample_dB } = scatter;
  const levelVariance0 = LEVEL_PRIOR.standardDeviation_dB ** 2;
  const slopeVariance0 = SLOPE_PRIOR.standardDeviation_dB ** 2;
  const x = groups.map((g) => g.lgSpeed - PIVOT_lg);
  const prior = x.map((xi) => LEVEL_PRIOR.mean_dBA + SLOPE_PRIOR.mean_dB * xi);
  const cooler = (xi: number, xj: number): number =>
    levelVariance0 + slopeVariance0 * xi * xj + bump_dB ** 2 * bumpCorrelation(xi - xj, bumpReach_decades);

  const correlation = correlationsOf(groups, bumpReach_decades);
  const k = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      const same = groups[i].sample === groups[j].sample ? sample_dB ** 2 : 0;
      k[i * n + j] = k[j * n + i] =
        levelVariance0 + slopeVariance0 * x[i] * x[j] + bump_dB ** 2 * correlation[i * n + j] + same;
    }
  }
  const own = start_dBA
    ? start_dBA.slice()
    : Float64Array.from(groups, (g) => roughOwnLevel(g.sound_dBA, background_dBA));
  const share = new Float64Array(n);
  const a = new Float64Array(n * n);
  const residual = new Float64Array(n);
  const v = new Float64Array(n);
  for (let iteration = 0; iteration < 50; iteration++) {
    for (let i = 0; i < n; i++) {
      share[i] = energyShare(own[i], background_dBA);
      residual[i] =
        groups[i].sound_dBA - meteredLevel(own[i], background_dBA) + share[i] * (own[i] - prior[i]);
    }
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) a[i * n + j] = share[i] * k[i * n + j] * share[j];
      a[i * n + i] += reading_dB ** 2 / groups[i].count;
    }
    if (!cholesky(a, n)) throw new Error('soundGivenScatter: the covariance of the readings is not positive');
    v.set(residual);
    solveLower(a, n, v);
    solveUpperT(a, n, v);
    let greatestStep = 0;
    for (let i = 0; i < n; i++) {
      let target = prior[i];
      for (let j = 0; j < n; j++) target += k[i * n + j] * share[j] * v[j];
      const step = Math.max(-4, Math.min(4, target - own[i]));
      greatestStep = Math.max(greatestStep, Math.abs(step));
      own[i] += step;
    }
    if (greatestStep < 1e-4) break;
  }

  let logEvidence = -0.5 * logDeterminant(a, n);
  for (let i = 0; i < n; i++) logEvidence -= 0.5 * residual[i] * v[i];
  for (const group of groups) {
    logEvidence -=
      (group.count - 1) * Math.log(reading_dB) +
      0.5 * Math.log(group.count) +
      group.scatter_dB2 / (2 * reading_dB ** 2);
  }

  const weighted = Float64Array.from(v, (vi, i) => share[i] * vi);
  const row = new Float64Array(n);
  return {
    logEvidence,
    law() {
      const levelRow = new Float64Array(n);
      const slopeRow = new Float64Array(n);
      let level_dBA = LEVEL_PRIOR.mean_dBA;
      let slope_dB = SLOPE_PRIOR.mean_dB;
      for (let i = 0; i < n; i++) {
        level_dBA += levelVariance0 * weighted[i];
        slope_dB += slopeVariance0 * x[i] * weighted[i];
        levelRow[i] = levelVariance0 * share[i];
        slopeRow[i] = slopeVariance0 * x[i] * share[i];
      }
      solveLower(a, n, levelRow);
      solveLower(a, n, slopeRow);
      let [levelVariance, slopeVariance, covariance] = [levelVariance0, slopeVariance0, 0];
      for (let i = 0; i < n; i++) {
        levelVariance -= levelRow[i] ** 2;
        slopeVariance -= slopeRow[i] ** 2;
        covariance -= levelRow[i] * slopeRow[i];
      }
      return { level_dBA, slope_dB, levelVariance, slopeVariance, covariance };
    },
    own_dBA: own,
    at(lgSpeed) {
      const xs = lgSpeed - PIVOT_lg;
      let mean_dBA = LEVEL_PRIOR.mean_dBA + SLOPE_PRIOR.mean_dB * xs;
      let variance_dB2 = cooler(xs, xs);
      for (let i = 0; i < n; i++) {
        const k_i = cooler(xs, x[i]);
        mean_dBA += k_i * weighted[i];
        let sum = share[i] * k_i;
        for (let j = 0; j < i; j++) sum -= a[i * n + j] * row[j];
        row[i] = sum / a[i * n + i];
        variance_dB2 -= row[i] * row[i];
      }
      return { mean_dBA, variance_dB2: Math.max(variance_dB2, 0) };
    },
  };
}
