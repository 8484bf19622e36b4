import { type Asymptote, asymptoteOf } from '../response/asymptote.ts';
import { earlyStop } from '../response/early-stop.ts';
import { ExponentialFit } from '../response/exponential-fit.ts';
import { lengthOf, type Response, responseOf } from '../response/response.ts';
import { findLoadSteps, type LoadStep, runsAmong } from './load-steps.ts';
import { type LogBlocks, unlikeSpeed } from './log-blocks.ts';
import { noLoad_W } from './plausible-run.ts';
import { learnReadings, type Readings } from './readings.ts';
import { withoutSpikes } from './spikes.ts';

/** What a log is reduced by. */
export interface ReductionOptions {
  /** Half-width at which the asymptote counts as known for the early stop, K. Default 0.2. */
  readonly early_stop_K?: number;
  /** Length of the last window, s. Default 60. */
  readonly window_s?: number;
  /** Greatest time constant that a response is searched for, s. Default 6000. */
  readonly longest_time_constant_s?: number;
  /** Drift of the load over a run that is worth a word, % of the load. Default 1 (common practice, no source). */
  readonly load_tolerance_percent?: number;
  /** Drift of the fan speed over a run that is worth a word, %. Default 3 (common practice, no source). */
  readonly fan_tolerance_percent?: number;
}

/** A response as it was fitted: about thirty-five blocks, about a row long at first and longer later. */
export interface StepResponse {
  /** Mean time of each block since the load step, s. */
  readonly time_s: Float64Array;
  readonly source_C: Float64Array;
  /** Ambient as the source saw it, through its own lags, °C. */
  readonly lagged_ambient_C: Float64Array;
}

/** What one load step of a log came to. */
export interface StepResult {
  readonly step: LoadStep;
  /** Asymptote of the rise above ambient, K; `null` when the step is too short for any estimate. */
  readonly rise_K: number | null;
  readonly u_K: number | null;
  /** The last window's mean is within 0.1 K of the asymptote with 95 % probability. */
  readonly steady: boolean;
  /** The 95 % half-width of the asymptote is at most 0.3 K. */
  readonly usable: boolean;
  /** Time after the step from which the rise stays within 0.1 K of the asymptote; `null`: not within this log. */
  readonly settled_after_s: number | null;
  readonly time_constants_s: readonly number[];
  /** Amplitudes of the exponentials as resistances of Foster elements would give them: rise still to come, K. */
  readonly amplitudes_K: readonly number[];
  /** Why the run is not steady or not usable. */
  readonly reasons: readonly string[];
  /** Things worth knowing that do not decide. */
  readonly notes: readonly string[];
  readonly early_stop_s: number | null;
  readonly seconds: number;
  readonly power_W: number;
  readonly fan_rpm: number;
  /** Mean ambient over the last window, °C. */
  readonly ambient_C: number;
  /** Asymptote less the mean of the last window, K. */
  readonly short_K: number | null;
  readonly carried: Readonly<Record<string, number>>;
  /** Absent where the step is too short for any estimate. */
  readonly response?: StepResponse;
}

/** What counts as steady and as usable, K, and how sure it has to be (this project's own definitions). */
const steadyWithin_K = 0.1;
const usableWithin_K = 0.3;
const certainty = 0.95;

/** A load step with all that its reduction needs of the log, which may be forgotten. */
export interface LoggedStep {
  /** Absent where the step is too short for any estimate. */
  readonly response?: Response;
  /** Whatever the log says without a fit. */
  readonly seen: Omit<StepResult, 'response'>;
  /** Standard uncertainty that drift of load and fan leaves in the rise, as a share of it. */
  readonly drift: number;
  /** Mean of the source above ambient as read over the last window, K; NaN where the step is too short. */
  readonly end_K: number;
}

/**
 * Reduces one scanned log: finds its load steps and the asymptote of each.
 *
 * @param scanned  scanned log
 * @param ambient  what the bench wants of its room
 * @param readings  what the bench's logs tell of noise and air; without them this log tells what it can
 * @example reduceLog(scanLog('a.csv', bytes), { setpoint_C: 22, tolerance_K: 1 })[0].rise_K
 */
export function reduceLog(
  scanned: LogBlocks,
  ambient: { setpoint_C: number; tolerance_K: number },
  options: ReductionOptions = {},
  readings?: Readings,
): StepResult[] {
  const steps = loggedSteps(scanned, ambient, options);
  const known = readings ?? learnReadings(responsesOf(steps));
  const fit = new ExponentialFit();
  return steps.map((step) => reduceStep(fit, step, known, options));
}

/** The responses among load steps. */
export const responsesOf = (steps: readonly LoggedStep[]): Response[] =>
  steps.flatMap(({ response }) => response ?? []);

/** The load steps of a scanned log. */
export function loggedSteps(
  scanned: LogBlocks,
  ambient: { setpoint_C: number; tolerance_K: number },
  options: ReductionOptions = {},
): LoggedStep[] {
  if (scanned.count === 0) return [];
  const log = withoutSpikes(scanned);
  const steps = findLoadSteps(log);
  const runs = runsAmong(steps);
  if (runs.length === 0) {
    const longest = steps.reduce((a, b) => (b.power_W > 0 && b.seconds > a.seconds ? b : a));
    return [tooShort(log, longest)];
  }
  return runs.map((step) => loggedStep(log, step, ambient, options));
}

/** Most by which the load, and the fan speed, may drift in a run that is to count as one steady state, % (common practice, no source). */
const mostLoadDrift_percent = 10;
const mostFanDrift_percent = 15;
/**
 * What a share of drift does to the rise, as a share of it: of the load, once its linear part has been taken out, through resistances that
 * change with load; of the fan, through the air side's resistance (common practice, no source).
 */
const loadSensitivity = 0.1;
const fanSensitivity = 0.5;

/** One load step of a log without spikes. */
export function loggedStep(
  log: LogBlocks,
  step: LoadStep,
  ambient: { setpoint_C: number; tolerance_K: number },
  options: ReductionOptions = {},
): LoggedStep {
  const { first, end } = step;
  if (end - first < 12) return tooShort(log, step);
  const origin = log.time_s[first] - 0.5 * log.interval_s;
  const total = log.time_s[end - 1] - origin;
  const windowFrom = log.time_s[end - 1] - Math.min(0.25 * total, options.window_s ?? 60);
  const change_W = changeOfLoad(log, step);
  const load = wandering(log.power_W, first, end);
  const fan = wandering(log.fan_rpm, first, end, step.fan_rpm);
  const air = wandering(log.ambient_C, first, end);
  const loadDrift = step.power_W > noLoad_W ? load.drift / step.power_W : 0;
  const fanDrift = step.fan_rpm > 0 ? fan.drift / step.fan_rpm : 0;
  const notes: string[] = [];
  const reasons: string[] = [];
  const ambient_C = meanFrom(log, log.ambient_C, first, end, windowFrom);
  const { setpoint_C, tolerance_K } = ambient;
  if (air.low < setpoint_C - tolerance_K || air.high > setpoint_C + tolerance_K)
    notes.push(
      `ambient ran from ${air.low.toFixed(1)} to ${air.high.toFixed(1)} °C; the bench asks for ${setpoint_C} ± ${tolerance_K} °C`,
    );
  const judge = (what: string, drift: number, accepted: number, most: number) => {
    const percent = 100 * drift;
    if (percent > most)
      reasons.push(
        `${what} drifted by ${figure(percent)} %, more than the ${most} % up to which a run counts as one steady state`,
      );
    else if (percent > accepted)
      notes.push(`${what} drifted by ${figure(percent)} %; ${accepted} % is accepted`);
  };
  judge('the load', loadDrift, options.load_tolerance_percent ?? 1, mostLoadDrift_percent);
  judge('the fan speed', fanDrift, options.fan_tolerance_percent ?? 3, mostFanDrift_percent);
  return {
    response: responseOf(log, first, end, origin, change_W),
    drift:
      Math.hypot((change_W ? loadSensitivity : 1) * loadDrift, fanSensitivity * fanDrift) / Math.sqrt(12),
    end_K: meanFrom(log, log.source_C, first, end, windowFrom) - ambient_C,
    seen: {
      ...nothing,
      step,
      reasons,
      notes: [...notes, ...log.notes],
      seconds: total,
      power_W: step.power_W,
      fan_rpm: step.fan_rpm,
      ambient_C,
      carried: carriedMeans(log, first, end, windowFrom),
    },
  };
}

/**
 * The asymptote of one load step.
 *
 * @param fit  working room, shared by steps one after the other
 */
export function reduceStep(
  fit: ExponentialFit,
  { response, seen, drift }: LoggedStep,
  readings: Readings,
  options: ReductionOptions = {},
): StepResult {
  if (!response) return seen;
  const found = asymptoteOf(fit, response, readings, {
    longest_s: options.longest_time_constant_s,
    window_s: options.window_s,
    drift,
  });
  if (!found)
    return {
      ...seen,
      reasons: ['the readings follow no thermal response; check the sensors and the log'],
    };
  const steady = found.within(steadyWithin_K) >= certainty;
  const known = found.halfWidth_K <= usableWithin_K;
  const usable = known && seen.reasons.length === 0;
  const total = lengthOf(response);
  const reasons: string[] = [...seen.reasons];
  if (!steady) reasons.push(...whyNotSteady(found, total));
  if (!known)
    reasons.push(
      `the asymptote is only known within ±${figure(found.halfWidth_K)} K at 95 %; ${usableWithin_K} K is needed`,
    );
  if (reasons.length > 0) reasons.push(...seen.notes);
  const settled = settledAfter(found, steadyWithin_K);
  const limit = options.early_stop_K ?? 0.2;
  return {
    ...seen,
    rise_K: found.rise_K,
    u_K: found.u_K,
    steady,
    usable,
    settled_after_s: settled <= total ? settled : null,
    time_constants_s: found.timeConstants_s,
    amplitudes_K: found.amplitudes_K.map((a) => -a),
    reasons,
    early_stop_s:
      (usable && limit > 0 ? earlyStop(fit, response, readings, found, limit, drift) : null) ?? null,
    short_K: found.short_K,
    response: stepResponse(response, found),
  };
}

/** Lagged ambient is worked out where it is asked for, as a bench of runs has no use for it. */
function stepResponse({ time_s, source_C }: Response, { ambientSeen }: Asymptote): StepResponse {
  let lagged: Float64Array | undefined;
  return {
    time_s,
    source_C,
    get lagged_ambient_C() {
      lagged ??= ambientSeen();
      return lagged;
    },
  };
}

/** What the load rose or fell by at the step; `undefined` when it is too little for its own drift to be scaled by. */
function changeOfLoad(log: LogBlocks, step: LoadStep): number | undefined {
  const before = step.first > 0 ? log.power_W[step.first - 1] : 0;
  const change = step.power_W - before;
  return Math.abs(change) > 0.2 * step.power_W ? change : undefined;
}

const nothing = {
  rise_K: null,
  u_K: null,
  steady: false,
  usable: false,
  settled_after_s: null,
  time_constants_s: [],
  amplitudes_K: [],
  early_stop_s: null,
  short_K: null,
};

function tooShort(log: LogBlocks, step: LoadStep): LoggedStep {
  return {
    drift: 0,
    end_K: Number.NaN,
    seen: {
      ...nothing,
      step,
      reasons: [
        `only ${Math.round(step.seconds)} s and ${step.rows} rows at ${figure(step.power_W)} W; at least 60 s and 12 rows are needed`,
      ],
      notes: [],
      seconds: step.seconds,
      power_W: step.power_W,
      fan_rpm: step.fan_rpm,
      ambient_C: log.ambient_C[step.end - 1],
      carried: {},
    },
  };
}

/**
 * What keeps the end of a run from being steady: the rate, the rest to the asymptote, the length of the log.
 */
function whyNotSteady(fit: Asymptote, total_s: number): string[] {
  const rate = fit.rate_K_per_min;
  const reasons: string[] = [];
  if (Math.abs(fit.short_K) + 1.645 * fit.shortU_K < steadyWithin_K) {
    reasons.push('whether the last window is within 0.1 K of the asymptote is not certain at 95 %');
  } else if (Math.abs(fit.short_K) > 1.645 * fit.shortU_K && Math.abs(fit.short_K) > 0.5 * steadyWithin_K) {
    const moving = fit.short_K > 0 ? 'rising' : 'falling';
    reasons.push(
      `still ${moving} ${figure(Math.abs(rate))} K per minute; the last window is ${figure(Math.abs(fit.short_K))} K ${fit.short_K > 0 ? 'below' : 'above'} the asymptote`,
    );
  } else {
    reasons.push(
      `the end of the response is not seen: the last window may be ${figure(Math.abs(fit.short_K) + 1.96 * fit.shortU_K)} K from the asymptote`,
    );
  }
  const slowest = fit.timeConstants_s[fit.timeConstants_s.length - 1];
  if (slowest !== undefined && total_s < 5 * slowest) {
    reasons.push(
      `the log covers ${(total_s / slowest).toFixed(1)} times the slowest time constant of ${Math.round(slowest)} s`,
    );
  }
  return reasons;
}

/** The time after which `|Σ a exp(−t/τ)|` stays below the limit, by bisection from the end of a doubling search. */
function settledAfter(fit: Asymptote, limit_K: number): number {
  if (fit.timeConstants_s.length === 0) return 0;
  let high = 1;
  while (high < 1e7 && (stillAway(fit, high) > limit_K || stillAway(fit, 1.5 * high) > limit_K)) high *= 2;
  let low = high === 1 ? 0 : high / 2;
  if (stillAway(fit, low) <= limit_K) return low;
  for (let i = 0; i < 30; i++) {
    const middle = 0.5 * (low + high);
    if (stillAway(fit, middle) > limit_K) low = middle;
    else high = middle;
  }
  return 0.5 * (low + high);
}

/** How far the response is from its asymptote a time after the step, K. */
function stillAway({ timeConstants_s, amplitudes_K }: Asymptote, time_s: number): number {
  let sum = 0;
  for (let i = 0; i < timeConstants_s.length; i++)
    sum += amplitudes_K[i] * Math.exp(-time_s / timeConstants_s[i]);
  return Math.abs(sum);
}

/**
 * Lowest and highest mean over twentieths of a run, and how far it drifted: the range that a uniform drift of the same variance would
 * have, once what the readings' own scatter gives the means is taken out. A single reading is noise, not drift.
 *
 * @param speed_rpm  speeds unlike this one are drop-outs of the signal and left out
 */
function wandering(
  column: Float64Array,
  first: number,
  end: number,
  speed_rpm?: number,
): { low: number; high: number; drift: number } {
  const parts = 20;
  const means: number[] = [];
  let low = Infinity;
  let high = -Infinity;
  let jumps = 0;
  let rows = 0;
  let before = Number.NaN;
  for (let p = 0; p < parts; p++) {
    const from = first + Math.floor((p * (end - first)) / parts);
    const to = first + Math.floor(((p + 1) * (end - first)) / parts);
    let sum = 0;
    let count = 0;
    for (let i = from; i < to; i++) {
      const value = column[i];
      if (speed_rpm !== undefined && unlikeSpeed(value, speed_rpm)) continue;
      sum += value;
      count++;
      if (!Number.isNaN(before)) jumps += (value - before) ** 2;
      before = value;
    }
    rows += count;
    if (count === 0) continue;
    means.push(sum / count);
    low = Math.min(low, sum / count);
    high = Math.max(high, sum / count);
  }
  if (means.length < 2) return { low: 0, high: 0, drift: 0 };
  const mean = means.reduce((sum, value) => sum + value, 0) / means.length;
  const variance = means.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (means.length - 1);
  const ofNoise = ((jumps / 2 / rows) * means.length) / rows;
  return { low, high, drift: Math.sqrt(12 * Math.max(0, variance - 2 * ofNoise)) };
}

/** Mean of a column from a time on, rows weighed by their readings; of the last row at least. */
function meanFrom(log: LogBlocks, column: Float64Array, first: number, end: number, from_s: number): number {
  let sum = 0;
  let weight = 0;
  for (let i = end - 1; i >= first && (log.time_s[i] >= from_s || weight === 0); i--) {
    if (Number.isNaN(column[i])) continue;
    sum += log.rows[i] * column[i];
    weight += log.rows[i];
  }
  return sum / weight;
}

function carriedMeans(log: LogBlocks, first: number, end: number, from_s: number): Record<string, number> {
  const out: Record<string, number> = {};
  for (const { name, values } of log.carried) {
    const value = meanFrom(log, values, first, end, from_s);
    if (Number.isFinite(value)) out[name] = value;
  }
  return out;
}

/** Two significant digits, without powers of ten. */
function figure(value: number): string {
  const digits = value === 0 ? 0 : Math.max(0, 1 - Math.floor(Math.log10(Math.abs(value))));
  return value.toFixed(Math.min(6, digits));
}
