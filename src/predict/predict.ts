import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { speedIsOutside } from '../fit/cooler-runs.ts';
import { limitChance } from '../fit/pipe-limit.ts';
import { stretchesAt } from '../numerics/degrees-of-freedom.ts';
import { largest } from '../numerics/extremes.ts';
import { mixtureMean, mixtureQuantile, type NormalMixture } from '../numerics/mixture.ts';
import {
  type CoolerAtSpeed,
  coolersAtSpeed,
  levelOf,
  loadsAsked,
  meterErrorsOf,
  roundLoads,
  type SpeedCondition,
} from './at-conditions.ts';
import type { BudgetShare } from './budget.ts';
import type { Conditions } from './conditions.ts';
import { checkInlet, type InletAir, inletAir } from './inlet-air.ts';
import { limitsPassed } from './reachable-load.ts';
import { sharedUncertainties, sharedVariance } from './shared-errors.ts';
import {
  type DistributionAtSpeed,
  distributionsAtPoints,
  distributionsGiven,
  withSpeedShifts,
} from './speed-spread.ts';

/** The true mean rise of one cooler at one load, as {@link Prediction} has it. */
export interface MeanRise {
  cooler: string;
  source: string;
  power_W: number;
  fan_rpm: number;
  sound_dBA: number | null;
  /** Mean of the distribution, so that differences of two are those of `compare`. */
  rise_K: number;
  mean_low_K: number;
  mean_high_K: number;
  /** Where heat pipes may meet a limit that no run has shown: the chance that it lies at or below this load. */
  limit_chance?: number;
  /** Then also the rise if no further limit is met. */
  if_pipes_hold?: { rise_K: number; mean_low_K: number; mean_high_K: number };
  extrapolated: boolean;
}

export interface Prediction extends MeanRise {
  run_low_K: number;
  run_high_K: number;
  /** The estimate passes the limit of the source, or the load what its supply gives; a note says which. */
  above_limit: boolean;
  /** Where it was asked for: the variance of the mean's interval by where it comes from. */
  budget?: BudgetShare[];
  notes: string[];
}

export interface Predictions {
  bench: string;
  level: number;
  predictions: Prediction[];
  warnings: string[];
}

/**
 * The rise of every cooler asked for at every load asked for.
 *
 * Two intervals: `mean_*` holds the true rise at the true load, mean over the populations of samples and mounts, with the
 * instruments' systematic errors in it; `run_*` holds what this bench would read for a fresh mount of a fresh sample in
 * the present session, where errors that the fitted runs share are already in the reading.
 *
 * @param budget  tells the variance of the mean by where it comes from; absent: that is not told
 * @throws BenchError on a condition that cannot be met
 */
export function predictFrom(
  posterior: BenchPosterior,
  conditions: Conditions,
  { budget }: { budget?: (asked: AskedRise) => BudgetShare[] } = {},
): Predictions {
  const { level, asked, warnings } = askedRises(posterior, conditions);
  const predictions = asked.map((one): Prediction => {
    const prediction = predictionOf(one);
    return {
      ...prediction,
      ...(budget && { budget: budget(one) }),
      notes: [...prediction.notes, ...pipesNotes(prediction)],
    };
  });
  return { bench: posterior.bench.name, level, predictions, warnings: [...posterior.warnings, ...warnings] };
}

/** The same without readings and notes, for curves of many points. */
export function meanRises(posterior: BenchPosterior, conditions: Conditions): MeanRise[] {
  return askedRises(posterior, conditions).asked.map((one) => meanRiseOf(one).rise);
}

/**
 * The mean rise of one cooler at one load and several fan speeds: at each that of {@link meanRises}.
 *
 * @param conditions  with one cooler and one load, and no speed
 */
export function meanRisesAtSpeeds(
  posterior: BenchPosterior,
  conditions: Conditions,
  fan_rpm: readonly number[],
): MeanRise[] {
  const [power_W] = loadsAsked(conditions, () => []);
  const placed = fan_rpm.map(
    (speed) => coolersAtSpeed(posterior, { ...conditions, fan_rpm: speed }).coolers[0],
  );
  const points = placed.map(({ at: { speed, more } }) => ({ power_W, speed, ...(more && { more }) }));
  const of = questionOf(posterior, conditions, placed);
  return distributionsAtPoints(posterior, placed[0].cooler, points).map(
    (distribution, k) => meanRiseOf(of(placed[k], distribution)).rise,
  );
}

/** One cooler at one load: its rise without the shared errors, and what an answer needs besides. */
export interface AskedRise {
  posterior: BenchPosterior;
  cooler: CoolerPosterior;
  at: SpeedCondition;
  distribution: DistributionAtSpeed;
  /** The same if no further limit of the pipes is met, where one is possible. */
  holding?: DistributionAtSpeed;
  /** Standard uncertainties of the errors that all runs share. */
  shared: Float64Array;
  level: number;
  /** Of `stretchesAt` this level. */
  stretch: (freedom: number) => number;
  inlet: InletAir | undefined;
  room_C: number;
}

/** Every cooler asked for at every load asked for. */
function askedRises(
  posterior: BenchPosterior,
  conditions: Conditions,
): { level: number; asked: AskedRise[]; warnings: string[] } {
  const level = levelOf(conditions);
  checkInlet(conditions);
  const { coolers, warnings } = coolersAtSpeed(posterior, conditions);
  const loads = loadsAsked(conditions, () => roundLoads(posterior, 7));
  const of = questionOf(posterior, conditions, coolers);
  const asked = coolers.flatMap((placed) => {
    const { cooler, at } = placed;
    const given = distributionsGiven(posterior, cooler, loads, at);
    const all = given(cooler.limits);
    const isPossible = all.map((one) => limitIsPossible(cooler, one));
    const holding = isPossible.includes(true) ? given([]) : [];
    return all.map((one, l) => of(placed, one, isPossible[l] ? holding[l] : undefined));
  });
  return { level, asked, warnings };
}

/** Puts a distribution beside what is the same for all that is asked. */
function questionOf(
  posterior: BenchPosterior,
  conditions: Conditions,
  coolers: readonly CoolerAtSpeed[],
): (placed: CoolerAtSpeed, distribution: DistributionAtSpeed, holding?: DistributionAtSpeed) => AskedRise {
  const level = levelOf(conditions);
  const shared = sharedUncertainties(posterior, meterErrorsOf(coolers), conditions.paste);
  const room_C = conditions.ambient_C ?? posterior.bench.ambient.setpoint_C;
  const common = { posterior, shared, level, stretch: stretchesAt(level), room_C };
  return ({ cooler, at }, distribution, holding) => {
    const inlet = inletAir(cooler, conditions, distribution.power_W, at.speed);
    return { ...common, cooler, at, distribution, ...(holding && { holding }), inlet };
  };
}

/** The mean of a rise, and what no true rise is below. */
function meanRiseOf(asked: AskedRise): { rise: MeanRise; least_K: number } {
  const { posterior, cooler, at, distribution, holding, shared, level, stretch, inlet } = asked;
  const mean = aboveRoom(meanMixture(distribution, shared, stretch), inlet);
  const tail = (1 - level) / 2;
  const least_K = leastRise(distribution, shared, level, stretch) + (inlet?.rise_K ?? 0);
  const rise = {
    cooler: cooler.data.cooler.cooler,
    source: posterior.source,
    power_W: distribution.power_W,
    fan_rpm: at.fan_rpm,
    sound_dBA: at.sound_dBA,
    rise_K: mixtureMean(mean),
    mean_low_K: Math.max(least_K, mixtureQuantile(mean, tail)),
    mean_high_K: mixtureQuantile(mean, 1 - tail),
    extrapolated: isExtrapolated(cooler, distribution.power_W, at),
  };
  if (!holding) return { rise, least_K };
  const held = aboveRoom(meanMixture(holding, shared, stretch), inlet);
  const if_pipes_hold = {
    rise_K: mixtureMean(held),
    mean_low_K: Math.max(leastRise(holding, shared, level, stretch), mixtureQuantile(held, tail)),
    mean_high_K: mixtureQuantile(held, 1 - tail),
  };
  return { rise: { ...rise, limit_chance: chanceOfLimit(cooler, distribution), if_pipes_hold }, least_K };
}

/** One row of the answer: the mean rise and a fresh run with their intervals, and every note. */
function predictionOf(asked: AskedRise): Prediction {
  const { posterior, cooler, at, distribution, shared, level, stretch, inlet, room_C } = asked;
  const { rise, least_K } = meanRiseOf(asked);
  const { extrapolated, limit_chance, if_pipes_hold, ...mean } = rise;
  const run = aboveRoom(runMixture(distribution, shared, stretch), inlet);
  const notes = [...at.notes, ...extrapolationNotes(cooler, distribution.power_W, at)];
  if (inlet) notes.push(inlet.note);
  const passed = limitsPassed(posterior, distribution.power_W, room_C + mean.rise_K);
  notes.push(...passed);
  const tail = (1 - level) / 2;
  if (!Number.isFinite(mean.rise_K) || !Number.isFinite(mean.mean_high_K)) {
    notes.push('this condition is too far from the runs to predict a rise');
  } else if (mean.rise_K < least_K) {
    notes.push('the rise comes out below zero resistance; check the runs');
  }
  return {
    ...mean,
    run_low_K: mixtureQuantile(run, tail),
    run_high_K: mixtureQuantile(run, 1 - tail),
    extrapolated,
    above_limit: passed.length > 0,
    notes,
    ...(limit_chance !== undefined && { limit_chance }),
    ...(if_pipes_hold && { if_pipes_hold }),
  };
}

/** A limit with less chance than this is no part of the answer (an assumption). */
const WORTH_SAYING = 0.005;

/** Chance that a limit of the pipes not yet shown by the runs lies at or below the load of a distribution. */
function chanceOfLimit(cooler: CoolerPosterior, { loading_W }: DistributionAtSpeed): number {
  return limitChance(cooler.limits, largest(cooler.data.base_W), loading_W);
}

/** Whether a limit is possible enough at a load to be told apart from the rest of the answer. */
export function limitIsPossible(cooler: CoolerPosterior, distribution: DistributionAtSpeed): boolean {
  return chanceOfLimit(cooler, distribution) > WORTH_SAYING;
}

/** The two parts of an answer beyond the loads run, in words: the rise if no further limit is met, and the chance that one is. */
function pipesNotes({ limit_chance, if_pipes_hold: held }: MeanRise): string[] {
  if (limit_chance === undefined || !held) return [];
  const range = `${held.mean_low_K.toFixed(1)} to ${held.mean_high_K.toFixed(1)}`;
  const chance = `${Math.max(1, Math.round(100 * limit_chance))} %`;
  return [
    `if no further limit of its pipes is met ${held.rise_K.toFixed(1)} K (${range}); the chance that one is met by this load is ${chance}`,
  ];
}

/**
 * Share of a tail that a bound on the rise may be wrong with, beside the tail itself. Chosen: small beside
 * the tail.
 */
const BOUND_SHARE = 0.1;

/**
 * What no true rise is below, K: zero, since heat flows from the source to the room, and beyond the loads run the rise at the
 * greatest of them, by the lower limit of its own distribution at a tenth of the tail.
 */
export function leastRise(
  { atGreatest }: DistributionAtSpeed,
  shared: Float64Array,
  level: number,
  stretch = stretchesAt(level),
): number {
  if (!atGreatest) return 0;
  const tail = BOUND_SHARE * ((1 - level) / 2);
  return Math.max(0, mixtureQuantile(meanMixture(atGreatest, shared, stretch), tail));
}

/** A rise above the inlet air as one above the room. */
function aboveRoom(mixture: NormalMixture, inlet: InletAir | undefined): NormalMixture {
  if (!inlet) return mixture;
  return {
    weight: mixture.weight,
    mean: mixture.mean.map((m) => m + inlet.rise_K),
    deviation: mixture.deviation.map((d) => Math.hypot(d, inlet.u_K)),
  };
}

/**
 * True mean rise with the shared errors and the speed's uncertainty in it.
 *
 * @param stretch  of `stretchesAt`
 */
export function meanMixture(
  distribution: DistributionAtSpeed,
  shared: Float64Array,
  stretch: (freedom: number) => number,
): NormalMixture {
  const extra = sharedVariance(distribution.meanSensitivity, shared);
  const mixture = widened(distribution.mean, 0, stretch(distribution.meanFreedom), extra);
  return withSpeedShifts(mixture, distribution.speedShifts);
}

/** Reading of a fresh mount of a fresh sample. */
function runMixture(
  distribution: DistributionAtSpeed,
  shared: Float64Array,
  stretch: (freedom: number) => number,
): NormalMixture {
  const extra = sharedVariance(distribution.runSensitivity, shared);
  const mixture = withSpeedShifts(
    widened(distribution.mean, distribution.freshVariance_K2, stretch(distribution.runFreedom), extra),
    distribution.speedShifts,
  );
  const shift = distribution.runShift_K;
  return shift === 0 ? mixture : { ...mixture, mean: mixture.mean.map((m) => m + shift) };
}

/** Each part's variance plus `inside`, stretched for its few degrees of freedom, plus `outside`, which is known. */
function widened(mixture: NormalMixture, inside: number, stretch: number, outside: number): NormalMixture {
  return {
    weight: mixture.weight,
    mean: mixture.mean,
    deviation: mixture.deviation.map((d) => Math.sqrt((d * d + inside) * stretch * stretch + outside)),
  };
}

/** The fan's own relative speed, without what the density of another room's air does to it. */
export function fanShare(at: SpeedCondition): number {
  return at.speed / (at.density ?? 1);
}

/** Beyond the loads, the speeds or the source that were run on this cooler; metered loads that differ by a trifle count as run. */
export function isExtrapolated(cooler: CoolerPosterior, power_W: number, at: SpeedCondition): boolean {
  if (cooler.notRunOn !== undefined || at.isPumpNotRun) return true;
  return loadIsOutside(cooler, power_W) !== 0 || speedIsOutside(cooler.data, fanShare(at)) !== 0;
}

/** Whether a load lies below (−1) or above (1) those run; 1 % and half a watt count as run. */
function loadIsOutside(cooler: CoolerPosterior, power_W: number): -1 | 0 | 1 {
  const { powerLow_W, powerHigh_W } = cooler.data;
  if (power_W < powerLow_W * 0.99 - 0.5) return -1;
  return power_W > powerHigh_W * 1.01 + 0.5 ? 1 : 0;
}

/** What the point lies beyond: source, loads, fan speeds run. */
function extrapolationNotes(cooler: CoolerPosterior, power_W: number, at: SpeedCondition): string[] {
  const notes: string[] = [];
  if (cooler.notRunOn !== undefined) {
    notes.push(`not run on ${cooler.notRunOn}: its heater runs and the source's term make the prediction`);
  }
  const { powerLow_W, powerHigh_W, speedLow, speedHigh, cooler: described } = cooler.data;
  const load = loadIsOutside(cooler, power_W);
  if (load > 0) {
    const pipes = cooler.limits.length > 0 ? '; a heat-pipe limit above that cannot be seen in the runs' : '';
    notes.push(`beyond the greatest load run, ${round1(powerHigh_W)} W${pipes}`);
  }
  if (load < 0) notes.push(`below the least load run, ${round1(powerLow_W)} W`);
  const speed = speedIsOutside(cooler.data, fanShare(at));
  const rpm = (share: number) => `${Math.round(share * described.fan_max_rpm)} rpm`;
  if (speed > 0) notes.push(`above the highest fan speed run, ${rpm(speedHigh)}`);
  if (speed < 0) notes.push(`below the lowest fan speed run, ${rpm(speedLow)}`);
  return notes;
}

function round1(value: number): string {
  return String(Math.round(value * 10) / 10);
}
