import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { filesOf } from '../bench/logs-index.ts';
import { temperatureLimit } from '../bench/source.ts';
import type { RehearseOptions } from '../design/planned.ts';
import { type Asymptote, asymptoteOf } from '../response/asymptote.ts';
import { StopRule, stopForeseen } from '../response/early-stop.ts';
import { ExponentialFit } from '../response/exponential-fit.ts';
import { lengthOf, type Response } from '../response/response.ts';
import { type Finding, Findings } from './findings.ts';
import { LiveJoinedLog } from './live-joined-log.ts';
import { LiveLog } from './live-log.ts';
import { findLoadSteps, idleBelow, type LoadStep } from './load-steps.ts';
import { type LogBlocks, type LoggedRow, unlikeLoad, unlikeSpeed } from './log-blocks.ts';
import { scannedLog } from './log-source.ts';
import { PlanAtHand, type RunAtHand } from './plan-at-hand.ts';
import { noLoad_W } from './plausible-run.ts';
import { learnReadings, type Readings } from './readings.ts';
import { type LoggedStep, loggedStep, loggedSteps, responsesOf } from './reduce-log.ts';
import { withoutSpikes } from './spikes.ts';

export interface WatchOptions {
  /** What messages call the log. Default `log`. Two files of one run stand with ` + ` between them, as in logs.csv. */
  log?: string;
  /** Seconds to add to the times of the second of two files. Default: as logs.csv says, else found. */
  shift_s?: number;
  /** File of the bench's own `logs/` that is watched: its row of logs.csv holds, and nothing is learnt from it. */
  entry?: string;
  /** Half-width at 95 % at which a rise is known, K. Default 0.3. */
  within_K?: number;
  /** What is heated. Default: as logs.csv says of the entry, else the heater. */
  source?: string;
  /** What is set and not logged. Default: as logs.csv says of the entry. */
  held?: { power_W?: number; fan_rpm?: number; ambient_C?: number };
  /** Runs of a plan, and the first of them that may be in progress, from 1. */
  plan?: RehearseOptions['runs'];
  planRun?: number;
}

/** What a log says at one of its rows; `watch --json` prints it, a line a row. */
export interface WatchState {
  /** By the log. */
  time_s: number;
  /** Source above ambient now. */
  rise_K: number;
  /** Rise at steady state and its standard uncertainty; `null`: not known yet, or no load. */
  asymptote_K: number | null;
  u_K: number | null;
  /** The asymptote is known within what is asked for, at 95 %. */
  can_stop: boolean;
  /** Until it will be; `null`: not foreseen. */
  minutes_left: number | null;
  /** Temperature of the source at steady state, in the room as it is now. */
  source_at_end_C: number | null;
  within_K: number;
  /** Since the load or the speed was changed, s; `null` without load. */
  step_s: number | null;
  source_C: number;
  ambient_C: number;
  power_W: number;
  fan_rpm: number;
  /** Limit of the source, and when it will be passed if nothing is done; `null`: it will not, or there is none. */
  limit_C: number | null;
  minutes_to_limit: number | null;
  wrong: Finding[];
  run: RunAtHand | null;
  next: RunAtHand | null;
}

/** A stretch is a run from so many rows and so long on, s (an assumption). */
const fewestRows = 12;
const shortestRun_s = 60;
/** Further than this nothing is foreseen, s. */
const horizon_s = 6 * 3600;
/** So many load steps of other logs tell noise and air; with fewer, the log tells of itself. */
const enoughSteps = 3;
/** What the log itself has told already counts up to so many steps. */
const mostOwn = 20;
/**
 * Straight on as in the last seconds, the limit is near when it is passed within so long, s: where the source climbs in the later half of
 * them at this share of the pace of the earlier one, nothing takes the heat away.
 */
const nearLimit_s = 60;
const slope_s = 20;
const steadyClimb = 0.8;
/** A word about a changed fan stays so long, s. */
const saidFor_s = 120;
/** A limit is foreseen by a response whose asymptote is known within this share of what is left to it from the room (an assumption). */
const told = 0.1;
/** Chance of passing the limit at which it is said. */
const likely = 1.645;

/**
 * Follows a log while it is written: bytes in, what each row says out. Times are the log's; the answer depends on the bytes alone, however
 * they are cut. Memory does not grow with the log.
 *
 * Noise and air are learnt from the bench's other logs. When a run may be stopped is decided by the rule that `reduce` asks of a finished log.
 * It is no safety device: a cut-out must not depend on it.
 *
 * @throws BenchError for a half-width out of range; `push` where the first lines are no log's
 * @example
 * const watch = watchLog(bench, { within_K: 0.3 });
 * const [state] = watch.push(new TextEncoder().encode('time_s,source_C,ambient_C,power_W,fan_rpm\n0,22.5,22,150,1200\n'));
 * state.rise_K // 0.5
 */
export function watchLog(bench: Bench, options: WatchOptions = {}): LogWatch {
  return new Following(bench, options);
}

/** A log that is followed, see {@link watchLog}. */
export interface LogWatch {
  /** Faults of logs of the bench that could not be learnt from. */
  readonly warnings: readonly string[];
  /** Why the lines so far are no log yet; `undefined` once a row is read. */
  readonly pending: BenchError | undefined;
  /** What was understood of the log's format, and what was mended in it. */
  readonly notes: readonly string[];
  /** Number of load steps in other logs that noise and air are learnt from. */
  readonly learnt: number;
  /**
   * Takes the next bytes of the log, or of one of its files, which may end anywhere; what each whole row says. Of two files that is said by
   * `allRead`.
   */
  push(chunk: Uint8Array, file?: number): WatchState[];
  /** All files have been read as far as they are written; what that says of two files. */
  allRead(): WatchState[];
  /**
   * Nothing more will come; a last line may lack its end.
   *
   * @throws BenchError where nothing tells how the times of two files go together
   */
  end(): WatchState[];
  /** The file, or one of the files, has been replaced or cut: what comes next is its beginning. */
  replaced(file?: number): void;
  /** Rows that could not be read and were passed over, each with its fault: those since it was asked last. */
  passedOver(): BenchError[];
}

/** A stretch at one load and speed while it lasts. */
interface Present {
  readonly start_s: number;
  readonly step: LoadStep;
  readonly isRun: boolean;
  readonly rule: StopRule;
  asymptote?: Asymptote;
  mayStop: boolean;
  /** When it may be stopped, as foreseen by the last fits, s. */
  stops_s: readonly number[];
}

class Following implements LogWatch {
  private readonly bench: Bench;
  private readonly within_K: number;
  private readonly limit_C: number | undefined;
  private readonly cooler: string | undefined;
  private readonly zeroLoad: boolean;
  private readonly live: LiveLog | LiveJoinedLog;
  private readonly files: number;
  private readonly findings: Findings;
  private readonly plan: PlanAtHand | undefined;
  private readonly fit = new ExponentialFit();
  /** Responses of the bench's other logs, and of this log's finished steps. */
  private readonly others: Response[];
  private readonly own: Response[] = [];
  private readings: Readings;
  private present: Present | undefined;
  private greatest_W = 0;
  private room_C = Number.NaN;
  private last_s = Number.NaN;
  private recent: { time_s: number; source_C: number }[] = [];
  private states: WatchState[] = [];
  readonly warnings: string[] = [];

  constructor(bench: Bench, options: WatchOptions) {
    const { within_K = 0.3, log = 'log' } = options;
    if (!(within_K > 0 && within_K <= 10))
      throw new BenchError(
        '--within',
        0,
        0,
        `${within_K} is not a half-width; give K above 0 and up to 10, such as 0.3`,
      );
    const entry = bench.logs.find((one) => one.log === options.entry);
    const held = { ...entry?.held, ...options.held };
    this.bench = bench;
    this.within_K = within_K;
    this.limit_C = temperatureLimit(bench, options.source ?? entry?.source ?? 'heater');
    this.cooler = entry?.cooler;
    this.zeroLoad = held.power_W === 0;
    const reading = { columns: bench.columns, held };
    const files = filesOf(log);
    this.files = files.length;
    const { shift_s = entry?.shift_s } = options;
    this.live =
      files.length === 1
        ? new LiveLog(log, reading, (row) => this.states.push(this.take(row)))
        : new LiveJoinedLog(
            files,
            reading,
            shift_s,
            (row, silent) => this.states.push(this.take(row, silent)),
            () => this.restart(),
          );
    this.findings = new Findings(bench);
    this.plan = options.plan && new PlanAtHand(options.plan, options.planRun);
    this.others = this.learntFrom(options.entry);
    this.readings = learnReadings(this.others);
  }

  /** Takes bytes of a file in; the states of its new rows. */
  push(chunk: Uint8Array, file = 0): WatchState[] {
    this.live.push(chunk, file);
    return this.said();
  }

  allRead(): WatchState[] {
    if (this.live instanceof LiveJoinedLog) this.live.allRead();
    return this.said();
  }

  /** Word that the log has ended. */
  end(): WatchState[] {
    const { live } = this;
    for (let file = 0; file < this.files; file++) live.push(Uint8Array.of(10), file);
    if (live instanceof LiveJoinedLog) live.allRead(true);
    return this.said();
  }

  private said(): WatchState[] {
    const { states } = this;
    this.states = [];
    return states;
  }

  /** Word that another file stands in its place. */
  replaced(file = 0): void {
    this.live.replaced(file);
    if (this.live instanceof LiveLog) this.restart();
  }

  private restart(): void {
    this.present = undefined;
    this.recent = [];
  }

  passedOver(): BenchError[] {
    return this.live.faults.splice(0);
  }

  get pending(): BenchError | undefined {
    return this.live.pending;
  }

  get notes(): readonly string[] {
    return this.live.blocks()?.notes ?? [];
  }

  get learnt(): number {
    return this.others.length;
  }

  private learntFrom(watched: string | undefined): Response[] {
    return this.bench.logs.flatMap(({ log }) => {
      if (log === watched) return [];
      try {
        const scanned = scannedLog(this.bench, log);
        return scanned ? responsesOf(loggedSteps(scanned, this.bench.ambient)) : [];
      } catch (error) {
        if (!(error instanceof BenchError)) throw error;
        this.warnings.push(`${error.message}; this log is not used to learn from`);
        return [];
      }
    });
  }

  /** Takes a row in: the room's slow mean, findings, the fit where one is due, and the state after it. */
  private take(row: LoggedRow, silent?: string): WatchState {
    const { time_s, source_C, ambient_C, power_W } = row;
    const step = Number.isNaN(this.last_s) ? 0 : Math.max(0, time_s - this.last_s);
    this.last_s = time_s;
    this.greatest_W = Math.max(this.greatest_W, power_W);
    const share = Number.isNaN(this.room_C) ? 1 : -Math.expm1(-step / 30);
    this.room_C = share === 1 ? ambient_C : this.room_C + (ambient_C - this.room_C) * share;
    this.recent.push({ time_s, source_C });
    while (this.recent.length > 2 && this.recent[1].time_s <= time_s - slope_s) this.recent.shift();
    this.findings.take(row, this.foreseen());
    const says = silent && `${silent} has had no row for a while; its last readings are taken as they were`;
    this.findings.set('silent file', row.own_s, says);
    if (this.isDue(row)) this.look(row);
    return this.stateAt(row);
  }

  /** Where the source is to be at a time, by what is known, °C. */
  private foreseen(): ((time_s: number) => number) | undefined {
    const { present } = this;
    const { asymptote, start_s } = present ?? {};
    if (!asymptote || start_s === undefined) return undefined;
    return (time_s) => this.room_C + riseAt(asymptote, time_s - start_s);
  }

  /** Whether steps are to be looked for: at first, where load or speed look changed, and when a fit is due. */
  private isDue({ time_s, power_W, fan_rpm }: LoggedRow): boolean {
    const { present } = this;
    if (!present || time_s - present.start_s >= present.rule.next_s) return true;
    return unlikeLoad(power_W, present.step.power_W, 0) || unlikeSpeed(fan_rpm, present.step.fan_rpm);
  }

  /** Finds the load step that is under way and, where a new one has begun, starts anew. */
  private look(row: LoggedRow): void {
    const scanned = this.live.blocks();
    if (!scanned || scanned.count === 0) return;
    const log = withoutSpikes(scanned);
    const steps = findLoadSteps(log);
    const step = steps[steps.length - 1];
    const start_s = log.time_s[step.first];
    const isSame = this.present && Math.abs(start_s - this.present.start_s) <= 3 * log.interval_s + 1;
    if (!isSame) this.begin(log, steps, row);
    const present = this.present as Present;
    const since = row.time_s - present.start_s;
    if (since < present.rule.next_s) return;
    if (!present.isRun || step.rows < fewestRows) present.rule.look(undefined);
    else this.refit(present, loggedStep(log, step, this.bench.ambient), row.own_s);
  }

  /** Another stretch has begun. */
  private begin(log: LogBlocks, steps: readonly LoadStep[], { own_s, time_s }: LoggedRow): void {
    const step = steps[steps.length - 1];
    const before = this.present && steps.length > 1 ? steps[steps.length - 2] : undefined;
    if (before && this.present?.isRun && before.seconds >= shortestRun_s && before.rows >= fewestRows)
      this.keep(loggedStep(log, before, this.bench.ambient));
    // A supply that is off may read a little: before any load that little is the greatest.
    const idle = Math.max(noLoad_W, idleBelow(this.greatest_W));
    const isLoaded = step.power_W > idle;
    const start_s = log.time_s[step.first];
    const wasOff = !before || before.power_W <= idle;
    const rise_W = step.power_W - (before?.power_W ?? 0);
    const rule = new StopRule(this.within_K);
    rule.skipTo(time_s - start_s);
    this.present = {
      start_s,
      step,
      isRun: isLoaded || this.zeroLoad,
      rule,
      mayStop: false,
      stops_s: [],
    };
    this.recent = this.recent.slice(-1);
    this.findings.begin(start_s, log.source_C[step.first], wasOff && before ? rise_W : 0);
    this.findings.set('fan changed', own_s, undefined);
    if (!isLoaded) return;
    if (before && !wasOff && unlikeSpeed(before.fan_rpm, step.fan_rpm))
      this.findings.set(
        'fan changed',
        own_s,
        `the fan has changed from ${Math.round(before.fan_rpm)} to ${Math.round(step.fan_rpm)} rpm; what follows is another run`,
      );
    const { plan } = this;
    if (!plan) return;
    const isPlanned = plan.begin(step.power_W, step.fan_rpm, wasOff, this.cooler);
    const says = `${step.power_W.toFixed(0)} W at ${Math.round(step.fan_rpm)} rpm is not in what is left of the plan`;
    this.findings.set('not planned', own_s, isPlanned ? undefined : says);
  }

  /** What a finished step of this log tells of noise and air. */
  private keep({ response }: LoggedStep): void {
    if (!response) return;
    this.own.push(response);
    if (this.own.length > mostOwn) this.own.shift();
    this.readings = learnReadings([...this.others, ...this.own]);
  }

  /** Fits the response so far with what other logs and earlier steps tell of noise and air. */
  private refit(present: Present, { response, seen, drift }: LoggedStep, own_s: number): void {
    const { rule } = present;
    if (!response) {
      rule.look(undefined);
      return;
    }
    const known = [...this.others, ...this.own];
    if (known.length < enoughSteps) this.readings = learnReadings([...known, response]);
    const { readings } = this;
    const isReady = readings.noises.length > 0;
    const asymptote = isReady ? asymptoteOf(this.fit, response, readings, { drift }) : undefined;
    present.asymptote = asymptote;
    this.findings.set('drift', own_s, seen.reasons[0]);
    if (rule.look(seen.reasons.length === 0 ? asymptote : undefined)) present.mayStop = true;
    if (!asymptote || asymptote.halfWidth_K > this.within_K) present.mayStop = false;
    if (!asymptote || present.mayStop) present.stops_s = [];
    else {
      // What is not excluded of a slow end comes and goes from look to look, and the time with it.
      const until = lengthOf(response) + horizon_s;
      const stop = stopForeseen(rule, response, readings, asymptote, until);
      present.stops_s = [...present.stops_s.slice(-2), stop ?? Number.POSITIVE_INFINITY];
    }
  }

  /**
   * The state as it is told: rise, asymptote, minutes left by the median of the last estimates, the limit.
   */
  private stateAt(row: LoggedRow): WatchState {
    const { own_s, time_s, source_C, ambient_C, power_W, fan_rpm } = row;
    const { present, plan, limit_C } = this;
    const asymptote = present?.asymptote;
    const since = present ? time_s - present.start_s : 0;
    const stops = [...(present?.stops_s ?? [])].sort((a, b) => a - b);
    const left = Math.max(0, (stops[stops.length >> 1] ?? Number.POSITIVE_INFINITY) - since);
    const toLimit = this.minutesToLimit(row, since);
    this.sayLimit(own_s, toLimit);
    const fanSaid = this.findings.all.find(({ what }) => what === 'fan changed');
    if (fanSaid && since > saidFor_s) this.findings.set('fan changed', own_s, undefined);
    const canStop = present?.mayStop === true;
    return {
      time_s: own_s,
      rise_K: source_C - ambient_C,
      asymptote_K: asymptote?.rise_K ?? null,
      u_K: asymptote?.u_K ?? null,
      can_stop: canStop,
      minutes_left: canStop ? 0 : left <= horizon_s ? left / 60 : null,
      source_at_end_C: asymptote ? this.room_C + asymptote.rise_K : null,
      within_K: this.within_K,
      step_s: present?.isRun ? since : null,
      source_C,
      ambient_C,
      power_W,
      fan_rpm,
      limit_C: limit_C ?? null,
      minutes_to_limit: toLimit,
      wrong: [...this.findings.all],
      run: plan?.present ?? null,
      next: plan?.next ?? null,
    };
  }

  /** When the source will pass its limit: by the response where it is known, by the slope of the last seconds where that says sooner. */
  private minutesToLimit({ time_s, source_C, power_W }: LoggedRow, since_s: number): number | null {
    const { limit_C, present } = this;
    if (limit_C === undefined) return null;
    if (source_C >= limit_C) return 0;
    if (!present?.isRun || power_W <= idleBelow(this.greatest_W)) return null;
    const [first] = this.recent;
    const middle = this.recent.find((one) => one.time_s >= (first.time_s + time_s) / 2) ?? first;
    const earlier = (middle.source_C - first.source_C) / Math.max(1e-9, middle.time_s - first.time_s);
    const later = (source_C - middle.source_C) / Math.max(1e-9, time_s - middle.time_s);
    const isSteady =
      time_s - first.time_s >= 0.9 * slope_s && later > 0 && later >= steadyClimb * earlier && earlier > 0;
    const straight = isSteady ? (limit_C - source_C) / later : Number.POSITIVE_INFINITY;
    const { asymptote } = present;
    const isTold = asymptote && asymptote.u_K <= told * (limit_C - this.room_C);
    const byResponse = isTold
      ? timeAbove(asymptote, limit_C - this.room_C, since_s) - since_s
      : Number.POSITIVE_INFINITY;
    const seconds = straight <= nearLimit_s ? Math.min(straight, byResponse) : byResponse;
    return seconds <= horizon_s ? seconds / 60 : null;
  }

  /** Tells when the source is past its limit, or will or may pass it. */
  private sayLimit(own_s: number, minutes: number | null): void {
    const { limit_C, present } = this;
    if (limit_C === undefined) return;
    const { asymptote } = present ?? {};
    const end = asymptote && this.room_C + asymptote.rise_K;
    let says: string | undefined;
    if (minutes === 0) says = `the source is past its limit of ${limit_C} °C; switch the load off`;
    else if (minutes !== null)
      says = `the source will pass its limit of ${limit_C} °C in about ${timeInWords(minutes)}; lower the load`;
    else if (
      asymptote &&
      end !== undefined &&
      end + likely * asymptote.u_K > limit_C &&
      asymptote.u_K <= told * (limit_C - this.room_C)
    )
      says = `the source may pass its limit of ${limit_C} °C: ${end.toFixed(1)} ± ${(1.96 * asymptote.u_K).toFixed(1)} °C at steady state`;
    this.findings.set('limit', own_s, says);
  }
}

const timeInWords = (minutes: number): string =>
  minutes < 1.5 ? `${Math.max(1, Math.round(60 * minutes))} s` : `${Math.round(minutes)} min`;

/** Rise at a time after the step, K. */
function riseAt({ rise_K, timeConstants_s, amplitudes_K }: Asymptote, time_s: number): number {
  let rise = rise_K;
  for (let i = 0; i < timeConstants_s.length; i++)
    rise += amplitudes_K[i] * Math.exp(-time_s / timeConstants_s[i]);
  return rise;
}

/** First time from `from_s` on at which the rise is above a limit, s; `Infinity`: never within {@link horizon_s}. */
function timeAbove(asymptote: Asymptote, limit_K: number, from_s: number): number {
  let low = from_s;
  let high = from_s;
  for (let step = 5; riseAt(asymptote, high) < limit_K; step *= 1.3) {
    low = high;
    high += step;
    if (high - from_s > horizon_s) return Number.POSITIVE_INFINITY;
  }
  for (let i = 0; i < 20 && high > low; i++) {
    const middle = 0.5 * (low + high);
    if (riseAt(asymptote, middle) < limit_K) low = middle;
    else high = middle;
  }
  return high;
}
