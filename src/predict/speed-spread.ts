import { groupedBy } from '../bench/grouped.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { mixtureDeviation, mixtureMean, type NormalMixture } from '../numerics/mixture.ts';
import { isSpeedRun } from './joint-rises.ts';
import { type Limits, mixturesGiven, type RiseDistribution, risesGiven } from './rise-distribution.ts';
import { atLoads, type RisePoint } from './rise-point.ts';

/** What is known of a relative fan speed that follows from a sound level, before the ends of the fan's speeds hold it. */
export interface SpeedSpread {
  /** The estimate and how far the logarithm of the speed may lie below and above it, one standard deviation on either side. */
  readonly middle: number;
  readonly logDown: number;
  readonly logUp: number;
  /** Least stable and greatest relative speed. */
  readonly least: number;
  readonly greatest: number;
  /** What each independent part of the meter's errors does to the logarithm of the speed: shared by all coolers. */
  readonly meter_ln?: Float64Array;
}

/**
 * Parts of the distribution of what the speed adds to the rise: shift and deviation, K, weights adding to 1; `stretch` is the
 * rise's own deviation at that speed over that at the estimate.
 */
export type SpeedShifts = readonly {
  readonly stretch: number;
  readonly weight: number;
  readonly shift_K: number;
  readonly deviation_K: number;
}[];

/** A relative fan speed, and further inputs of the formulas there. */
type SpeedAndInputs = Pick<RisePoint, 'speed' | 'more'>;

/**
 * A rise with what its fan speed's uncertainty adds kept beside it. Beyond the greatest load run also the rise there: more heat
 * cannot make a source cooler, so that no true rise is below it.
 */
export type DistributionAtSpeed = RiseDistribution & {
  readonly speedShifts?: SpeedShifts;
  readonly atGreatest?: RiseDistribution;
};

// A standard normal as narrower normals on a lattice: spacing below twice their width, so the sum is smooth to 1e-3.
const PART_DEVIATION = 0.4;
const LATTICE = [-3.5, -2.8, -2.1, -1.4, -0.7, 0, 0.7, 1.4, 2.1, 2.8, 3.5];
const LATTICE_WEIGHTS = (() => {
  const raw = LATTICE.map((z) => Math.exp((-0.5 * z * z) / (1 - PART_DEVIATION ** 2)));
  const total = raw.reduce((a, b) => a + b, 0);
  return raw.map((w) => w / total);
})();
/** How far out the rise is looked at, standard deviations of the speed. */
const REACH = 2;
/** The speed's part is taken for a plain normal where it departs from one by less than this share of the rest (chosen). */
const NEGLIGIBLE = 0.04;

/**
 * The rise of a cooler at several loads at a fan speed that is itself uncertain.
 *
 * Rise falls ever more slowly with speed, and at its least stable or its greatest speed a fan goes no further: what a
 * wide interval of speed does to the rise is lopsided, and at an end one-sided. The rise is evaluated at the estimate and
 * two standard deviations to either side, each side joined by a parabola in the logarithm of speed; the speed's
 * distribution (a normal with two sides, held by the ends) then becomes a mixture of shifts, each as sure of the rise as its
 * speed is, since a speed far from those run is less well known. Where all of that is as good as straight, one normal stands
 * for it.
 *
 * @param at  relative speed, and its spread where it follows from a level of sound
 */
export function distributionsAt(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  power_W: readonly number[],
  at: SpeedAndInputs & { readonly spread?: SpeedSpread },
): DistributionAtSpeed[] {
  return distributionsGiven(posterior, cooler, power_W, at)(cooler.limits);
}

/** The same for limits of the pipes that are given afterwards. */
export function distributionsGiven(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  power_W: readonly number[],
  at: SpeedAndInputs & { readonly spread?: SpeedSpread },
): (limits: Limits) => DistributionAtSpeed[] {
  const middle = pointsGiven(posterior, cooler, atLoads(power_W, at.speed, at.more));
  const { spread } = at;
  if (!spread) return middle;
  const ends = endsOf(posterior, cooler, power_W, at, spread);
  return (limits) => spreadOut(at, ends, withMeter(middle(limits), at.speed, spread), limits);
}

/**
 * The rise of a cooler at several loads and speeds, each as if it alone were asked for; of those beyond the greatest load run also the
 * rise there.
 */
export function distributionsAtPoints(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  points: readonly RisePoint[],
): DistributionAtSpeed[] {
  return pointsGiven(posterior, cooler, points)(cooler.limits);
}

function pointsGiven(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  points: readonly RisePoint[],
): (limits: Limits) => DistributionAtSpeed[] {
  const { powerHigh_W } = cooler.data;
  // At a speed that was run more formulas have a say.
  const groups = [...groupedBy(points, ({ speed }) => isSpeedRun(cooler, speed)).values()].map((group) => {
    const beyond = group.filter(({ power_W }) => power_W > powerHigh_W);
    const greatest = new Map(beyond.map((point) => [point.speed, { ...point, power_W: powerHigh_W }]));
    const given = risesGiven(posterior, cooler, [...group, ...greatest.values()]);
    return { group, speeds: [...greatest.keys()], given };
  });
  return (limits) => {
    const told = new Map<RisePoint, DistributionAtSpeed>();
    for (const { group, speeds, given } of groups) {
      const alone = given(limits);
      group.forEach((point, t) => {
        const atGreatest = alone[group.length + speeds.indexOf(point.speed)];
        told.set(point, point.power_W > powerHigh_W ? { ...alone[t], atGreatest } : alone[t]);
      });
    }
    return points.map((point) => told.get(point) as DistributionAtSpeed);
  };
}

/** With the meter's errors after the other shared errors: what they do to the rise by way of the speed. */
function withMeter(
  middle: readonly DistributionAtSpeed[],
  speed: number,
  { meter_ln }: SpeedSpread,
): readonly DistributionAtSpeed[] {
  if (!meter_ln) return middle;
  return middle.map((distribution) => {
    const more = meter_ln.map((slope) => distribution.speedSlope_K * speed * slope);
    const longer = (sensitivity: Float64Array) => Float64Array.of(...sensitivity, ...more);
    const { meanSensitivity, runSensitivity } = distribution;
    return {
      ...distribution,
      meanSensitivity: longer(meanSensitivity),
      runSensitivity: longer(runSensitivity),
    };
  });
}

/** The logarithm of the speed over its estimate at so many standard deviations, and the rises at the two ends that are looked at. */
interface Ends {
  readonly logOf: (z: number) => number;
  readonly low: ((limits: Limits) => NormalMixture[]) | undefined;
  readonly high: ((limits: Limits) => NormalMixture[]) | undefined;
}

function endsOf(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  power_W: readonly number[],
  at: SpeedAndInputs,
  spread: SpeedSpread,
): Ends {
  const logOf = (z: number): number => {
    const free = Math.log(spread.middle) + z * (z < 0 ? spread.logDown : spread.logUp);
    const held = Math.min(Math.max(free, Math.log(spread.least)), Math.log(spread.greatest));
    return held - Math.log(at.speed);
  };
  // Where an end is the estimate itself, nothing is to be looked at.
  const side = (log: number) =>
    log === 0
      ? undefined
      : mixturesGiven(posterior, cooler, atLoads(power_W, at.speed * Math.exp(log), at.more));
  return { logOf, low: side(logOf(-REACH)), high: side(logOf(REACH)) };
}

/**
 * The distributions with the uncertainty of the speed in them: the rise at speeds by Gauss–Hermite nodes,
 * mixed.
 */
function spreadOut(
  at: SpeedAndInputs,
  ends: Ends,
  middle: readonly DistributionAtSpeed[],
  limits: Limits,
): DistributionAtSpeed[] {
  const { logOf } = ends;
  if (!ends.low && !ends.high) return [...middle];
  const [low, high] = [ends.low?.(limits), ends.high?.(limits)];
  const [logLow, logHigh] = [logOf(-REACH), logOf(REACH)];
  return middle.map((distribution, l) => {
    const here = mixtureMean(distribution.mean);
    const slope = distribution.speedSlope_K * at.speed;
    const own = mixtureDeviation(distribution.mean);
    const bend = (end: NormalMixture | undefined, log: number): number =>
      end === undefined ? 0 : (mixtureMean(end) - here - slope * log) / (log * log);
    const growth = (end: NormalMixture | undefined, log: number): number =>
      end === undefined ? 0 : Math.log(mixtureDeviation(end) / own) / log;
    const [growthLow, growthHigh] = [growth(low?.[l], logLow), growth(high?.[l], logHigh)];
    const [bendLow, bendHigh] = [bend(low?.[l], logLow), bend(high?.[l], logHigh)];
    const shift = (z: number): number => {
      const log = logOf(z);
      return slope * log + (log < 0 ? bendLow : bendHigh) * log * log;
    };
    const [down, up] = [shift(-REACH), shift(REACH)];
    const deviation = Math.abs(up - down) / (2 * REACH);
    const rest = Math.min(...distribution.mean.deviation);
    const straight = Math.max(Math.abs(up + down), Math.abs(shift(1) + shift(-1)));
    if (straight < NEGLIGIBLE * Math.hypot(rest, deviation)) {
      return {
        ...distribution,
        speedShifts: [{ weight: 1, shift_K: 0, deviation_K: deviation, stretch: 1 }],
      };
    }
    const speedShifts = LATTICE.map((z, k) => ({
      weight: LATTICE_WEIGHTS[k],
      shift_K: shift(z),
      stretch: Math.exp(logOf(z) * (logOf(z) < 0 ? growthLow : growthHigh)),
      deviation_K: Math.abs(shift(z + PART_DEVIATION) - shift(z - PART_DEVIATION)) / 2,
    }));
    return { ...distribution, speedShifts };
  });
}

/** A mixture with what the speed adds in it. */
export function withSpeedShifts(mixture: NormalMixture, shifts: SpeedShifts | undefined): NormalMixture {
  if (!shifts) return mixture;
  const size = mixture.weight.length;
  const weight = new Float64Array(size * shifts.length);
  const mean = new Float64Array(size * shifts.length);
  const deviation = new Float64Array(size * shifts.length);
  shifts.forEach((part, s) => {
    for (let k = 0; k < size; k++) {
      weight[s * size + k] = part.weight * mixture.weight[k];
      mean[s * size + k] = mixture.mean[k] + part.shift_K;
      deviation[s * size + k] = Math.hypot(part.stretch * mixture.deviation[k], part.deviation_K);
    }
  });
  return { weight, mean, deviation };
}

/** Standard deviation of what the speed adds to the rise, K. */
export function speedWorth(shifts: SpeedShifts | undefined): number {
  if (!shifts) return 0;
  const mean = shifts.reduce((sum, part) => sum + part.weight * part.shift_K, 0);
  return Math.sqrt(
    shifts.reduce((sum, part) => sum + part.weight * (part.deviation_K ** 2 + (part.shift_K - mean) ** 2), 0),
  );
}
