import type { Bench } from '../bench/bench.ts';
import { groupedBy } from '../bench/grouped.ts';
import { sourceOf } from '../bench/source.ts';
import type { Model } from '../formula/model.ts';
import { normalCdf } from '../numerics/distributions.ts';
import { largest } from '../numerics/extremes.ts';
import type { Components, SplitCovariance } from '../numerics/split-covariance.ts';
import { borrowedShifts } from './borrowed-shifts.ts';
import { SESSION } from './components.ts';
import { type CoolerRuns, coolerRuns } from './cooler-runs.ts';
import {
  type CurvePosterior,
  type CurvePrior,
  fitCurve,
  posteriorAt,
  statedPrior,
} from './curve-posterior.ts';
import { fitLimitPlaces, overSlopes } from './limit-places.ts';
import { weighModels } from './model-weights.ts';
import { type LimitNode, type LimitPrior, limitNodes, limitPrior } from './pipe-limit.ts';
import { limitEvidence, pooledLimits } from './pooled-limits.ts';
import { benchPrior, heavyTailed } from './pooling.ts';
import { limitParameter, RiseCurve } from './rise-curve.ts';
import { assumedScatter, type BenchScatter, estimateScatter } from './scatter.ts';
import type { SessionEffects } from './session-effects.ts';
import { SessionStates } from './session-states.ts';
import type { SourceTerm } from './source-term.ts';
import { bestCurve, curveOf, rescaleShape, scatterPart, startWork, useScatter, type Work } from './work.ts';

/** Everything the runs say about one cooler. */
export interface CoolerPosterior {
  readonly data: CoolerRuns;
  /** Median of rise over heat at the runs, K/W: the resistance that departures from formulas are a share of. */
  readonly typical_K_per_W: number;
  /** How many times the bench's own departure from formulas this cooler's is. */
  readonly shapeScale: number;
  /** One per component; see `componentFactors`. */
  readonly factors: Components;
  /** V. */
  readonly covariance: SplitCovariance;
  readonly curves: readonly CurvePosterior[];
  /** For each curve, what the shared errors do to its parameters by way of the other coolers, p × shared errors. */
  readonly borrowedShift: readonly Float64Array[];
  readonly weights: readonly number[];
  readonly limits: readonly LimitNode[];
  /** What its description and the bench's other coolers say of the limit of its pipes. */
  readonly limitPrior?: LimitPrior;
  readonly notes: readonly string[];
  /** The source that answers are for, where this cooler has no runs on it and its heater runs stand in. */
  readonly notRunOn?: string;
  /** Where its curves were fitted, if not in this posterior: `data` are then its runs on the source answered for. */
  readonly fittedIn?: { readonly posterior: BenchPosterior; readonly cooler: CoolerPosterior };
}

/** Everything the runs say about a bench, on one source. */
export interface BenchPosterior {
  readonly bench: Bench;
  readonly source: string;
  readonly scatter: BenchScatter;
  /** Scatters that differ from run to run; a session's is shared by its runs and so is not among them. */
  readonly active: readonly boolean[];
  /** Sensor and paste state of each session, already taken off the runs' rises; absent with one session. */
  readonly sessionEffects?: SessionEffects;
  readonly coolers: readonly CoolerPosterior[];
  readonly sessions: readonly (string | undefined)[];
  readonly warnings: readonly string[];
  /** For a chip that is answered for by curves fitted on the heater: what the chip has more. */
  readonly term?: SourceTerm;
}

/**
 * Fits every model to every cooler of a bench, with the scatters of the bench and what the coolers have in common.
 *
 * Two things depend on each other: the curves (generalised least squares given the scatters) and the scatters (REML
 * given the curves), so they take turns, as in Lindstrom and Bates (1990) Biometrics 46, 673; the bench's prior for the
 * curves (empirical Bayes) is renewed with them. The first round starts from assumed scatters and from the priors of the
 * model files; on most benches three rounds settle it, and where the formulas fit badly, so that scatter and departure are hard to tell apart,
 * there are more.
 *
 * @param models  formula models to try, in order
 * @param source  heat source whose runs are used
 * @param onProgress  called after each cooler of each round with how many of how many are done
 */
export function benchPosterior(
  bench: Bench,
  models: readonly Model[],
  source = 'heater',
  onProgress?: (done: number, total: number) => void,
): BenchPosterior {
  const own = bench.runs.filter((run) => run.source === source);
  const runsOf = groupedBy(own, (run) => run.cooler);
  const leak = sourceOf(bench, source).leak_W_per_K.value;
  const sessions = [...new Set([...runsOf.values()].flat().map((run) => run.session))];
  const active = assumedScatter().sigma.map((_, k) => k !== SESSION);
  const works: Work[] = [];
  for (const cooler of bench.coolers) {
    const data = coolerRuns(bench, cooler, source, runsOf.get(cooler.cooler) ?? []);
    if (data) works.push(startWork(data));
  }
  let scatter = assumedScatter();
  if (works.length === 0) {
    return { bench, source, scatter, active, coolers: [], sessions, warnings: [] };
  }
  const states = sessions.length > 1 ? new SessionStates(bench, source, sessions, works) : undefined;
  const curves = models.map((model) => new RiseCurve(model));
  const priorsOf = works.map(() => curves.map(statedPrior));
  let isLast = false;
  for (let round = 0; !isLast; round++) {
    const rounds = Math.max(ROUNDS, round + 1);
    const mayBeLast = round + 1 >= ROUNDS;
    works.forEach((work, c) => {
      useScatter(work, scatter, active);
      fitCurves(work, curves, priorsOf[c], leak, mayBeLast ? ENOUGH_AT_LAST : ENOUGH_ON_THE_WAY);
      onProgress?.(round * works.length + c + 1, rounds * works.length);
    });
    weighModels(works, curves);
    for (const work of works) rescaleShape(work, scatter, active);
    const asFitted = works.map(scatterPart);
    const { parts, shared } = states?.asRead(works, asFitted, scatter.sigma[SESSION]) ?? { parts: asFitted };
    const before = scatter.sigma;
    scatter = estimateScatter(parts, scatter, active, mayBeLast ? 1e-6 : 1e-3, shared);
    states?.renew(works, scatter.sigma[SESSION]);
    const moved = largest(scatter.sigma.map((s, k) => (active[k] ? Math.abs(Math.log(s / before[k])) : 0)));
    isLast = mayBeLast && (moved < SETTLED || round + 1 >= MOST_ROUNDS);
    if (!isLast) pool(works, curves, priorsOf);
    poolLimits(works);
  }
  for (const work of works) {
    useScatter(work, scatter, active);
    const { data, covariance } = work;
    work.curves = work.curves.flatMap((old, m) => {
      const now = posteriorAt(old.curve, data, leak, covariance, old.prior, old.eta, old);
      if (work.weights[m] < IDLE_WEIGHT) return [now];
      return overSlopes(now, data, leak, covariance, { enough: ENOUGH_ON_THE_WAY });
    });
  }
  weighModels(works, curves);
  const shifts = borrowedShifts(works, curves, sessions, states?.effects);
  return {
    bench,
    source,
    scatter,
    active,
    ...(states ? { sessionEffects: states.effects } : {}),
    sessions,
    coolers: works.map((work) => finish(work, shifts.get(work) ?? [])),
    warnings: [
      ...(scatter.converged ? [] : ['The scatter components did not converge; take the intervals as rough.']),
      ...(states?.warnings(sessions) ?? []),
    ],
  };
}

/** Fits every formula that applies to a cooler under its scatters; one that plays no part keeps its first fit, whose spread is renewed at the end. */
function fitCurves(
  work: Work,
  curves: readonly RiseCurve[],
  priors: readonly CurvePrior[],
  leak: number,
  enough: number,
): void {
  work.curves = curves.flatMap((curve, m) => {
    if (!applies(curve.model, work.data)) return [];
    const own = [...work.curves.keys()].filter((k) => work.curves[k].curve === curve);
    const places = own.map((k) => work.curves[k]);
    const before = curveOf(work, curve);
    if (before && own.every((k) => work.weights[k] < IDLE_WEIGHT)) return places;
    const prior = ownPrior(heavyTailed(priors[m], before), curve, work);
    const starts = startsFor(curve, prior, work, before);
    const { data, covariance } = work;
    if (limitParameter(curve) >= 0) {
      return fitLimitPlaces(curve, data, leak, covariance, prior, starts, places, { enough });
    }
    return [fitCurve(curve, data, leak, covariance, prior, starts, { enough, isNear: before?.converged })];
  });
}

/** Rounds of curves and scatters in turn; see {@link benchPosterior}. */
const ROUNDS = 3;
const MOST_ROUNDS = 15;

/** Logarithm by which the scatters may still move in the last round. Chosen: a tenth, which an interval hardly shows. */
const SETTLED = 0.1;

/**
 * Distance to the best parameters, in units of their confidence region, at which a fit ends: at last, where it shows in no digit, and before the
 * scatters have settled, which then move by more.
 */
const ENOUGH_AT_LAST = 1e-9;
const ENOUGH_ON_THE_WAY = 1e-5;

/**
 * A model with less weight than this on a cooler is not fitted again as scatters and priors settle. Chosen:
 * less than a printed digit shows.
 */
const IDLE_WEIGHT = 1e-5;

/** A model with an input that the runs do not carry cannot be used on them. */
function applies(model: Model, data: CoolerRuns): boolean {
  if (model.kind !== undefined && model.kind !== data.cooler.kind) return false;
  if (model.limit !== undefined && !limitPrior(data.cooler)) return false;
  return model.inputs.every((input) => input === 'P' || input === 'n' || data.more.has(input));
}

/**
 * Where a limit lies depends on the number of pipes and their make, and how steep the rise becomes on the cooler's resistance and the rise
 * that it has there: these are not pooled like the other parameters.
 */
function ownPrior(prior: CurvePrior, curve: RiseCurve, { limitPrior: own, typical, data }: Work): CurvePrior {
  const j = limitParameter(curve);
  if (!own || j < 0) return prior;
  const mean = prior.mean.slice();
  const deviation = prior.deviation.slice();
  const { scales, model } = curve;
  model.parameters.forEach((parameter, k) => {
    if (!parameter.own || !scales[k].logarithmic) return;
    if (parameter.unit === 'K/W') mean[k] += Math.log(typical / TYPICAL_K_PER_W);
    if (parameter.unit === 'K') mean[k] += Math.log((typical * largest(data.base_W)) / TYPICAL_K);
  });
  mean[j] = Math.log(own.limit_W);
  deviation[j] = own.spread;
  return { mean, deviation };
}

/**
 * Where a fit begins: at its last optimum, else at the model's own start, that scaled to the cooler's size,
 * and the prior's mean.
 */
function startsFor(
  curve: RiseCurve,
  prior: CurvePrior,
  work: Work,
  before: CurvePosterior | undefined,
): ArrayLike<number>[] {
  if (before?.converged) return [before.eta];
  // The model's own start with every resistance scaled to the size of this cooler's.
  const stated = Float64Array.from(curve.scales, (scale) => scale.start);
  const scaled = stated.map((eta, j) =>
    curve.scales[j].logarithmic && curve.model.parameters[j].unit === 'K/W'
      ? eta + Math.log(work.typical / TYPICAL_K_PER_W)
      : eta,
  );
  return before ? [scaled, prior.mean] : [scaled];
}

/** Resistance for which the shipped models' starting values are written, K/W. */
const TYPICAL_K_PER_W = 0.22;

/** Rise at the greatest load run for which their priors of a step are written, K. */
const TYPICAL_K = 40;

/** New bench priors for every formula, air and liquid coolers apart. */
function pool(works: readonly Work[], curves: readonly RiseCurve[], priorsOf: CurvePrior[][]): void {
  for (const kind of ['air', 'liquid'] as const) {
    curves.forEach((curve, m) => {
      const members = works
        .map((work, c) => ({
          work,
          c,
          posterior: curveOf(work, curve),
        }))
        .filter(({ work, posterior }) => work.data.cooler.kind === kind && posterior);
      const pooled = curve.model.parameters.map(({ name, own }) => !own && name !== curve.model.limit);
      const prior = benchPrior(
        curve,
        members.map(({ posterior }) => posterior as CurvePosterior),
        pooled,
      );
      for (const { c } of members) priorsOf[c][m] = prior;
    });
  }
}

/** New beliefs about the limits of the pipes, from what the other coolers' runs show of theirs. */
function poolLimits(works: readonly Work[]): void {
  const piped = works.filter((work) => limitPrior(work.data.cooler));
  const beliefs = pooledLimits(piped.map(limitEvidence));
  piped.forEach((work, c) => {
    work.limitPrior = beliefs[c];
  });
}

/**
 * The cooler's posterior as all questions use it: curves with weights, limits of its pipes, notes on what is
 * borrowed.
 */
function finish(work: Work, borrowedShift: readonly Float64Array[]): CoolerPosterior {
  const { data } = work;
  const seen = largest(data.base_W);
  const best = bestCurve(work);
  const seesLimit = best.curve.model.limit !== undefined;
  return {
    data,
    typical_K_per_W: work.typical,
    shapeScale: work.shapeScale,
    factors: work.factors,
    covariance: work.covariance,
    curves: work.curves,
    borrowedShift,
    weights: work.weights,
    limits: limitNodes(work.limitPrior, seen, work.typical, limitMet(work, seen)),
    limitPrior: work.limitPrior,
    notes: coolerNotes(work, best, seesLimit),
  };
}

/** Chance that the pipes' limit was met within the runs: that of the formulas which have one, and of its lying there in each. */
function limitMet(work: Work, seen_W: number): number {
  return work.curves.reduce((sum, { curve, eta, covariance }, m) => {
    const j = limitParameter(curve);
    if (j < 0) return sum;
    const deviation = Math.sqrt(covariance[j * eta.length + j]);
    return sum + work.weights[m] * normalCdf((Math.log(seen_W) - eta[j]) / Math.max(deviation, 1e-3));
  }, 0);
}

/** What was borrowed and what cannot be told, in words. */
function coolerNotes(work: Work, best: CurvePosterior, seesLimit: boolean): string[] {
  const notes: string[] = [];
  const { data } = work;
  const p = best.eta.length;
  const limit = limitParameter(best.curve);
  const borrowed = best.curve.model.parameters
    .filter((_, j) => j !== limit && best.covariance[j * p + j] > 0.5 * best.prior.deviation[j] ** 2)
    .map((parameter) => parameter.name);
  if (borrowed.length > 0) {
    const from = best.curve.model.name;
    notes.push(
      `borrowed from the bench or from the model's prior more than from its own runs: ${borrowed.join(', ')} of ${from}`,
    );
  }
  if (data.loadGroups < 2)
    notes.push('run at one load only: how its resistance changes with load is borrowed');
  if (data.speedHigh - data.speedLow < 0.02) {
    notes.push('run at one fan speed only: how it responds to speed is borrowed');
  }
  if (seesLimit) notes.push('its runs show the onset of a heat-pipe limit');
  return notes;
}
