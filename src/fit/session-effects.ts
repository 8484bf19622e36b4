import { groupedBy } from '../bench/grouped.ts';
import { softmax } from '../numerics/log-weights.ts';
import { addGram, addScaled, addTransposeProduct, cholesky } from '../numerics/matrix.ts';
import { formOn } from '../numerics/rows-of-covariance.ts';
import type { SplitCovariance } from '../numerics/split-covariance.ts';
import type { CoolerRuns } from './cooler-runs.ts';
import { type CurvePosterior, departureFromPrior, marginalCovariance } from './curve-posterior.ts';
import {
  FAULT_CHANCE,
  type FittingFault,
  isFitting,
  type SessionInformation,
  under,
} from './session-or-fitting.ts';

/**
 * What each session adds to every reading in it: the state of the sensors (K) and of the paste batch (K/W).
 *
 * Coolers that were run in two sessions tie them together: how much the second read higher than the first on the same cooler
 * is known up to its mounts. What all sessions have in common cannot be told from the coolers themselves and keeps the
 * instruments' own uncertainty. S sessions; the errors left are L·z with z standard normal, L of size 2S × 2S, offsets first.
 */
export interface SessionEffects {
  readonly offset_K: Float64Array;
  readonly paste_K_per_W: Float64Array;
  /** L, lower triangular, row-major. */
  readonly root: Float64Array;
  /** Sessions that stand apart from the others by more than sessions do, or in which one fitting does. */
  readonly apart?: readonly SessionApart[];
}

/** A session whose shift is as likely a bad fitting of a cooler that ties it as the session's own. */
export interface SessionApart {
  readonly session: number;
  /** Chance that something is wrong there, the session or a fitting. */
  readonly chance: number;
  /** Its resistance less the mean of the others if the session were at fault, K/W. */
  readonly shift_K_per_W: number;
}

/** What one cooler brings to the estimate. */
export interface SessionPart {
  readonly data: CoolerRuns;
  readonly posterior: CurvePosterior;
  /** V. */
  readonly covariance: SplitCovariance;
  /** Index among the bench's sessions of each run. */
  readonly session: readonly number[];
}

/** Standard deviations so wide that a cooler says nothing of what its own curve could take up instead: K and K/W (chosen). */
const WIDE_OFFSET_K = 30;
const WIDE_PASTE_K_PER_W = 0.5;

/** Chance that sessions differ as their runs say and not as common practice has it. */
const OWN_SCATTER_CHANCE = 0.5;
/** A fault at least as likely as not is told. */
const TOLD_CHANCE = 0.5;

/**
 * Before any run.
 *
 * @param covariance  of the sessions' offsets (K) and then of their pastes (K/W), 2S × 2S, positive definite
 */
export function priorSessionEffects(covariance: Float64Array): SessionEffects {
  const size = Math.sqrt(covariance.length);
  const root = covariance.slice();
  cholesky(root, size);
  return { offset_K: new Float64Array(size / 2), paste_K_per_W: new Float64Array(size / 2), root };
}

/**
 * Sensor and paste state of each session, from the coolers that were run in more than one.
 *
 * Linear Gaussian update: with Ω the precision of a cooler's runs about its prior curve, F their answer to the effects φ
 * and D their covariance before, φ has precision D⁻¹ + ΣFᵀΩF. To each cooler's covariance a wide common offset and a wide common
 * resistance are added first, so that only differences between sessions count, not the shape of a formula.
 *
 * A shift beyond what sessions do may be the session's or that of one fitting of a cooler that ties it, and its runs alone cannot
 * say which. So the estimate is the mean over hypotheses, each weighed by how well it foresees the runs: nothing is wrong, with the
 * scatter between sessions that the runs give or with the usual one; one session is off by far; one fitting is. A session that is off
 * counts by the share of that which the runs can tell: where none ties it to another it is as far from them as it would be without the
 * runs. What the hypotheses differ by stays as uncertainty.
 *
 * @param before  covariance of the effects before any run; see {@link priorSessionEffects}
 * @param usual  the same with no more than the usual scatter of paste between sessions
 * @param current  effects already taken off `data.rise_K`
 */
export function estimateSessionEffects(
  parts: readonly SessionPart[],
  before: Float64Array,
  usual: Float64Array,
  current: SessionEffects,
): SessionEffects {
  const sessions = Math.sqrt(before.length) / 2;
  const told = informationOf(parts, current, sessions);
  const all = Array.from({ length: sessions }, (_, k) => k);
  const hypotheses = [
    ...under(told, before, OWN_SCATTER_CHANCE),
    ...under(told, usual, 1 - OWN_SCATTER_CHANCE),
    ...(told.fittings.length > 0
      ? all.flatMap((session) => under(told, usual, FAULT_CHANCE, { session }))
      : []),
    ...told.fittings.flatMap((fitting) => under(told, usual, FAULT_CHANCE, fitting)),
  ];
  if (hypotheses.length === 0) return priorSessionEffects(before);
  const weights = softmax(hypotheses.map(({ log }) => log));
  const mean = new Float64Array(2 * sessions);
  hypotheses.forEach((one, h) => {
    addScaled(mean, one.mean, weights[h]);
  });
  const root = new Float64Array(before.length);
  hypotheses.forEach((one, h) => {
    const off = one.mean.map((value, a) => value - mean[a]);
    addScaled(root, addGram(one.covariance, off, off.length, 1), weights[h]);
  });
  if (!cholesky(root, mean.length)) return priorSessionEffects(before);
  const apart = all.flatMap((session): SessionApart[] => {
    const chance = hypotheses.reduce(
      (sum, { fault }, h) => sum + (fault?.session === session ? weights[h] : 0),
      0,
    );
    const own = hypotheses.find(({ fault }) => fault && !isFitting(fault) && fault.session === session);
    if (chance < TOLD_CHANCE || !own) return [];
    const others = all.filter((k) => k !== session).reduce((sum, k) => sum + own.mean[sessions + k], 0);
    return [
      { session, chance, shift_K_per_W: own.mean[sessions + session] - others / Math.max(sessions - 1, 1) },
    ];
  });
  return { offset_K: mean.slice(0, sessions), paste_K_per_W: mean.slice(sessions), root, apart };
}

/**
 * Sums over the coolers that were run in several sessions; a cooler in one session says nothing of their
 * differences.
 */
function informationOf(
  parts: readonly SessionPart[],
  current: SessionEffects,
  sessions: number,
): SessionInformation {
  const size = 2 * sessions;
  const precision = new Float64Array(size * size);
  const pull = new Float64Array(size);
  const fittings: FittingFault[] = [];
  for (const { data, posterior, covariance, session } of parts) {
    if (new Set(session).size < 2) continue;
    const n = session.length;
    const marginal = withCommonShift(marginalCovariance(posterior, covariance), data.base_W);
    const departure = departureFromPrior(posterior);
    const design = new Float64Array(n * size);
    session.forEach((k, i) => {
      departure[i] += effectOn(current, k, data.base_W[i]);
      design[i * size + k] = 1;
      design[i * size + sessions + k] = data.base_W[i];
    });
    const weighted = marginal.solve(design, size);
    const weightedDeparture = marginal.solve(departure);
    addTransposeProduct(precision, design, weighted, n, size, size);
    addTransposeProduct(pull, design, weightedDeparture, n, size, 1);
    for (const rows of groupedBy(data.mount.keys(), (i) => data.mount[i]).values()) {
      if (data.mount[rows[0]] < 0) continue;
      const onEffects = new Float64Array(size);
      let pulled = 0;
      for (const i of rows) {
        for (let a = 0; a < size; a++) onEffects[a] += data.base_W[i] * weighted[i * size + a];
        pulled += data.base_W[i] * weightedDeparture[i];
      }
      const heats = rows.map((i) => data.base_W[i]);
      const square = formOn(marginal, rows, heats);
      fittings.push({ session: session[rows[0]], onEffects, square, pull: pulled });
    }
  }
  return { precision, pull, fittings };
}

/** What a session adds to a reading at a heat into the base, K. */
export function effectOn(effects: SessionEffects, session: number, base_W: number): number {
  return effects.offset_K[session] + effects.paste_K_per_W[session] * base_W;
}

/** Leaves in `data.rise_K` the rises as read less what each run's session adds. */
export function takeOff(
  data: CoolerRuns,
  asRead_K: Float64Array,
  session: readonly number[],
  effects: SessionEffects,
): void {
  for (let i = 0; i < asRead_K.length; i++) {
    data.rise_K[i] = asRead_K[i] - effectOn(effects, session[i], data.base_W[i]);
  }
}

/** Covariance with a wide common offset and a wide common resistance. */
function withCommonShift(covariance: SplitCovariance, base_W: Float64Array): SplitCovariance {
  const z = new Float64Array(base_W.length * 2);
  base_W.forEach((heat, i) => {
    z[i * 2] = WIDE_OFFSET_K;
    z[i * 2 + 1] = WIDE_PASTE_K_PER_W * heat;
  });
  const out = covariance.with({ z, columns: 2 });
  if (!out) throw new RangeError('the covariance of the runs is not positive definite');
  return out;
}
