import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { listed } from '../bench/wording.ts';
import { MOUNT, SESSION } from '../fit/components.ts';
import { posteriorOf } from '../fit/posterior-of.ts';
import { ASSUMED } from '../fit/scatter.ts';
import { benchWithRuns } from '../logs/bench-with-runs.ts';
import { normalQuantile, studentTCdf } from '../numerics/distributions.ts';
import { studyOf } from '../study.ts';
import { averageRunLength, type EwmaDesign, ewmaDeviation, limitForRunLength, nextAverage } from './ewma.ts';
import { readingScatter } from './reading-scatter.ts';
import { ReferenceHistory, type ScatterBelief, type WeighedShift } from './reference-history.ts';
import { type ReferenceRuns, type ReferenceSession, referenceRuns } from './reference-runs.ts';
import type { Estimate, InControlScatter } from './session-shift.ts';

/** One session of a control chart. Everything in σ is in standard deviations of the session's own value while nothing drifts. */
export interface ControlPoint {
  session: string;
  runs: number;
  mounts: number;
  /** Deviation from what earlier sessions lead to expect, K, and its standard deviation while nothing drifts; null in a session that sets the target. */
  value_K: number | null;
  u_K: number | null;
  /** The chart's moving average and its limit either side, K. */
  average_K: number | null;
  limit_K: number | null;
  state: 'sets the target' | 'in control' | 'out of control';
  /** A sentence for people. */
  verdict: string;
}

export interface ControlSeries {
  /** `rise`: at the chart's load. `offset`: the part that is the same at every load, the sensors. */
  quantity: 'rise' | 'offset';
  points: ControlPoint[];
  /** Mean number of sessions until a lasting shift of 1 K shows, with as many fittings and runs as in the last session. */
  finds_1_K_after_sessions: number | null;
}

export interface ControlChartResult {
  bench: string;
  cooler: string;
  /** Load at which `rise` is charted: the mean of the reference's loads, W. */
  power_W: number;
  form: 'EWMA' | 'Shewhart';
  weight: number;
  /** Limit in standard deviations of the moving average. */
  limit: number;
  /** Mean number of sessions between false alarms of one series. */
  false_alarm_every: number;
  /** Scatters that the limits stand on. */
  scatter: { mount_K_per_W: number; reading_K: number; session_K_per_W: number; sensor_K: number };
  series: ControlSeries[];
  in_control: boolean;
  verdict: string;
  warnings: string[];
}

export interface ControlChartOptions {
  /** Default: the bench's `reference_cooler`. */
  cooler?: string;
  /** `Shewhart` judges each session alone; the moving average (default) also finds what builds up. */
  form?: 'EWMA' | 'Shewhart';
  /** Weight of the newest session in the moving average, default 0.4: best for shifts of about two standard deviations. */
  weight?: number;
  /** Mean number of sessions between false alarms of one series; default 370.4, that of limits at 3 σ. */
  false_alarm_every?: number;
  /** Scatters that are there while nothing drifts; default: the bench's own, those between sessions from the reference's history. */
  scatter?: Partial<InControlScatter>;
}

/** Three standard deviations either side: one false alarm in 370.4 sessions (ISO 7870-2). */
const THREE_SIGMA = 370.4;

/** How well the sensors' reading settles between sessions, K, before there are any: common practice, no source. */
const SENSOR = { median: 0.1, logDeviation: 0.6 };

/** Fewest degrees of freedom of an estimated scatter: what is assumed rather than measured counts as eight. */
const LEAST_FREEDOM = 8;

/**
 * The control chart of the reference cooler: whether the bench still reads what it used to read.
 *
 * Each session's readings of the reference are compared with those of the earlier sessions that were in control, under the
 * same conditions. Two series are followed: the rise at the mean load, which is what reaches a chart, and the part of the
 * shift that is the same at every load, which is the sensors' and is told far more sharply because fittings do not enter
 * it. Limits come from the bench's scatter of fittings and readings, from how much its sessions in control have differed so
 * far (before there are any: common practice), and from how few of them set the target; an estimated scatter is answered for by
 * Student's t. A session out of control is looked into and left out: neither target, scatter nor average learn from it, so that the
 * sessions after it are judged as if it had not been.
 *
 * Forms: EWMA with the limits of ISO 7870-6, or Shewhart's (ISO 7870-2).
 *
 * @throws BenchError where no reference cooler is named or it has no runs on the heater
 * @example controlChart(bench).verdict // 'cooler-1 reads as it did before in all 4 sessions…'
 */
export function controlChart(whole: Bench, options: ControlChartOptions = {}): ControlChartResult {
  const bench = benchWithRuns(whole);
  const cooler = options.cooler ?? bench.reference_cooler;
  if (cooler === undefined) {
    throw new BenchError(
      'bench.yaml',
      1,
      1,
      'a control chart needs a reference cooler; name one that is run in every session: reference_cooler: NAME',
    );
  }
  const reference = referenceRuns(bench, cooler);
  if (reference.sessions.length === 0) {
    throw new BenchError(
      'runs.csv',
      1,
      1,
      `the reference cooler "${cooler}" has no runs with heat on the heater; run it in every session`,
    );
  }
  const { history: asItGrew, freedom } = inControlHistory(bench, reference, options.scatter);
  const form = options.form ?? 'EWMA';
  const weight = form === 'Shewhart' ? 1 : (options.weight ?? 0.4);
  const every = options.false_alarm_every ?? THREE_SIGMA;
  const design = {
    weight,
    limit: studyOf(whole).once(`limit ${weight} ${every}`, () => limitForRunLength(weight, every)),
  };
  // Once as the history grew, which finds the sessions that are no part of it; then each judged by all of it.
  chartSeries(cooler, reference, asItGrew, freedom, design);
  const history = asItGrew.again();
  const series = chartSeries(cooler, reference, history, freedom, design);
  // Session by session, each in both series: the sessions are told in their own order.
  const out = series[0].points
    .flatMap((_, k) => series.map(({ points }) => points[k]))
    .filter(({ state }) => state === 'out of control');
  const judged = Math.max(
    ...series.map(({ points }) => points.filter(({ value_K }) => value_K !== null).length),
  );
  return {
    bench: bench.name,
    cooler,
    power_W: reference.load_W,
    form,
    weight,
    limit: design.limit,
    false_alarm_every: every,
    scatter: history.scatter(),
    series,
    in_control: out.length === 0,
    verdict: summary(cooler, out, judged),
    warnings: warningsOf(bench, cooler, reference),
  };
}

/**
 * The reference cooler's sessions with the scatters of a bench in control: as given, else found from them.
 */
function inControlHistory(
  bench: Bench,
  reference: ReferenceRuns,
  given: Partial<InControlScatter> = {},
): { history: ReferenceHistory; freedom: { mount: number; reading: number } } {
  const freedom = { mount: Number.POSITIVE_INFINITY, reading: Number.POSITIVE_INFINITY };
  let mount = given.mount_K_per_W;
  if (mount === undefined) {
    const { sigma, logVarianceCovariance } = posteriorOf(bench).scatter;
    mount = sigma[MOUNT];
    freedom.mount = Math.max(2 / logVarianceCovariance[MOUNT * sigma.length + MOUNT], LEAST_FREEDOM);
  }
  let reading = given.reading_K;
  if (reading === undefined) {
    const own = readingScatter(bench);
    reading = own.value;
    freedom.reading = Math.max(own.freedom, LEAST_FREEDOM);
  }
  const { source_temperature, ambient_temperature } = bench.instruments;
  const resolution = Math.hypot(source_temperature.resolution_K, ambient_temperature.resolution_K);
  const within = { mount_K_per_W: mount, reading_K: Math.max(reading, resolution / Math.sqrt(12)) };
  const known = (median: number | undefined, belief: ScatterBelief) =>
    median === undefined ? belief : { median, logDeviation: 0 };
  const { mean, standardDeviation } = ASSUMED[SESSION];
  const paste = { median: Math.exp(mean), logDeviation: standardDeviation };
  const between = {
    sensor_K: known(given.sensor_K, SENSOR),
    session_K_per_W: known(given.session_K_per_W, paste),
  };
  return { history: new ReferenceHistory(reference, within, between), freedom };
}

/** One series as it is filled. */
interface Track {
  readonly quantity: 'rise' | 'offset';
  readonly freedom: number;
  readonly points: ControlPoint[];
  average: number;
  count: number;
}

/**
 * The chart of resistance and of offset over the sessions: each session's shift, the weighted average and its
 * limits.
 */
function chartSeries(
  cooler: string,
  reference: ReferenceRuns,
  history: ReferenceHistory,
  freedom: { mount: number; reading: number },
  design: EwmaDesign,
): ControlSeries[] {
  const tracks: Track[] = [
    { quantity: 'rise', freedom: freedom.mount, points: [], average: 0, count: 0 },
    { quantity: 'offset', freedom: freedom.reading, points: [], average: 0, count: 0 },
  ];
  for (const session of reference.sessions) {
    const shifts = history.shiftOf(session);
    const before = tracks.map(({ average, count }) => ({ average, count }));
    const points = tracks.map((track) =>
      nextPoint(cooler, reference.load_W, session, track, shiftIn(shifts, track), design),
    );
    points.forEach((point, k) => {
      tracks[k].points.push(point);
    });
    if (points.every((point) => point.state !== 'out of control')) history.learn(session);
    else for (const [k, track] of tracks.entries()) Object.assign(track, before[k]);
  }
  return tracks
    .filter((track) => track.quantity === 'rise' || track.points.some(({ value_K }) => value_K !== null))
    .map(({ quantity, points }) => {
      const u_K = points[points.length - 1].u_K;
      return {
        quantity,
        points,
        finds_1_K_after_sessions: u_K === null ? null : averageRunLength(design, 1 / u_K),
      };
    });
}

/** A shift in one series over the scatters that are likely: estimate, standard deviation, and the normal value with the same tail. */
interface JudgedShift extends Estimate {
  readonly score: number;
}

/** Mean over models of a session's shift with its uncertainty; `undefined` where no model tells it. */
function shiftIn(
  shifts: readonly WeighedShift[],
  { quantity, freedom }: Pick<Track, 'quantity' | 'freedom'>,
): JudgedShift | undefined {
  const parts = shifts.flatMap(({ weight, shift }) => {
    const estimate = shift[quantity];
    return estimate ? [{ weight, ...estimate }] : [];
  });
  if (parts.length === 0) return undefined;
  const value = parts.reduce((sum, part) => sum + part.weight * part.value, 0);
  const variance = parts.reduce((sum, part) => sum + part.weight * part.deviation ** 2, 0);
  const side = value < 0 ? -1 : 1;
  const tail = parts.reduce(
    (sum, part) => sum + part.weight * studentTCdf((-side * part.value) / part.deviation, freedom),
    0,
  );
  const score = tail > 1e-15 ? -normalQuantile(tail) : 8;
  return { value, deviation: Math.sqrt(variance), score: side * score };
}

/** One session's point: average z = λ·shift + (1 − λ)·z before, its limit, the state in words. */
function nextPoint(
  cooler: string,
  load_W: number,
  session: ReferenceSession,
  track: Track,
  shift: JudgedShift | undefined,
  design: EwmaDesign,
): ControlPoint {
  const common = { session: session.session, runs: session.runs.length, mounts: session.mounts };
  const name = session.session === '' ? 'The unnamed session' : `Session ${session.session}`;
  if (!shift) {
    return {
      ...common,
      value_K: null,
      u_K: null,
      average_K: null,
      limit_K: null,
      state: 'sets the target',
      verdict: `${name} sets the target: no earlier session ran ${cooler} under these conditions.`,
    };
  }
  track.average = nextAverage(design, shift.score, track.average);
  track.count++;
  const limit = design.limit * ewmaDeviation(design.weight, track.count);
  const isOut = Math.abs(track.average) > limit;
  const what = track.quantity === 'offset' ? 'at every load alike' : `at ${Math.round(load_W)} W`;
  const side = track.average > 0 ? 'high' : 'low';
  const size = Math.abs(shift.value).toFixed(2);
  const verdict = isOut
    ? `${name}: ${cooler} reads ${size} K ${shift.value > 0 ? 'high' : 'low'} ${what}; the chart is out of control on the ${side} side.${causes(track.quantity)}`
    : `${name}: ${cooler} reads within the limits ${what} (${size} K ${shift.value > 0 ? 'high' : 'low'}).`;
  return {
    ...common,
    value_K: shift.value,
    u_K: shift.deviation,
    average_K: track.average * shift.deviation,
    limit_K: limit * shift.deviation,
    state: isOut ? 'out of control' : 'in control',
    verdict,
  };
}

/** What to check where a chart is out of control. */
function causes(quantity: Track['quantity']): string {
  return quantity === 'offset'
    ? ' Check the sensors and the place of the ambient probe before publishing results of this session.'
    : ' Check the paste, the fitting and the sensors before publishing results of this session.';
}

/** The verdict on all sessions, in a sentence. */
function summary(cooler: string, out: readonly ControlPoint[], judged: number): string {
  if (judged === 0)
    return `${cooler} was run in one session only, which sets the target; nothing can be judged yet.`;
  if (out.length === 0)
    return `${cooler} reads as it did before in ${judged === 1 ? 'the session' : `all ${judged} sessions`} judged.`;
  const names = [...new Set(out.map(({ session }) => (session === '' ? 'the unnamed one' : session)))];
  const list = listed(names, 'and');
  return `${cooler} is out of control in ${names.length === 1 ? 'session' : 'sessions'} ${list}: find the cause before ${names.length === 1 ? 'it goes' : 'they go'} on a chart.`;
}

/** Sessions in which the reference cooler was not run. */
function warningsOf(bench: Bench, cooler: string, reference: ReferenceRuns): string[] {
  const charted = new Set(reference.sessions.map(({ session }) => session));
  const missing = [...new Set(bench.runs.map((run) => run.session ?? ''))].filter(
    (session) => !charted.has(session),
  );
  if (missing.length === 0) return [];
  const names = missing.map((session) => (session === '' ? 'the unnamed one' : session)).join(', ');
  return [`${cooler} was not run in ${missing.length === 1 ? 'session' : 'sessions'} ${names}: not charted`];
}
