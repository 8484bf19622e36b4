import type { Bench, Cooler, Run } from '../bench/bench.ts';
import { invertSpd } from '../fitting/dense.ts';
import type { Model } from '../model/model.ts';
import { addProduct, type ComponentFactor } from '../statistics/reml.ts';
import { type CoolerRuns, coolerRuns, leakOf, offsetUncertainty } from './cooler-runs.ts';
import {
  type CurvePosterior,
  type CurvePrior,
  factorOf,
  fitCurve,
  posteriorAt,
  statedPrior,
} from './curve-posterior.ts';
import { aiccSkill, leaveLoadOut, modelWeights } from './model-weights.ts';
import { type LimitNode, limitNodes, limitPrior } from './pipe-limit.ts';
import { benchPrior, heavyTailed, pooledShift } from './pooling.ts';
import { RiseCurve } from './rise-curve.ts';
import {
  assumedScatter,
  type BenchScatter,
  componentFactors,
  estimateScatter,
  runCovariance,
  type ScatterPart,
  SESSION,
  SHAPE,
} from './scatter.ts';
import {
  effectOn,
  estimateSessionEffects,
  priorSessionEffects,
  type SessionEffects,
  takeOff,
} from './session-effects.ts';
import { shapeScale } from './shape-scale.ts';
import { sharedErrorCount, sharedErrorSlopes } from './shared-error-order.ts';

/** Everything the runs say about one cooler. */
export interface CoolerPosterior {
  readonly data: CoolerRuns;
  /**
   * The resistance that the shape scatter is a share of, K/W: the cooler's own, enlarged where its runs depart from every
   * formula more than those of the bench's other coolers do.
   */
  readonly typical_K_per_W: number;
  /** One per component; see `componentFactors`. */
  readonly factors: readonly ComponentFactor[];
  /** V⁻¹, n × n. */
  readonly inverse: Float64Array;
  readonly curves: readonly CurvePosterior[];
  /** For each curve, what the shared errors do to its parameters by way of the other coolers, p × shared errors. */
  readonly borrowedShift: readonly Float64Array[];
  readonly weights: readonly number[];
  readonly limits: readonly LimitNode[];
  readonly notes: readonly string[];
  /** The source that answers are for, where this cooler has no runs on it and its heater runs stand in. */
  readonly notRunOn?: string;
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
}

/** Working state of one cooler while the passes go on. */
interface Work {
  readonly data: CoolerRuns;
  /** Median of rise over heat at the runs, K/W. */
  readonly typical: number;
  /** How many times the bench's own departure from the formulas this cooler's is. */
  shapeScale: number;
  factors: readonly ComponentFactor[];
  factor: Float64Array;
  inverse: Float64Array;
  curves: CurvePosterior[];
  skill: number[];
  weights: number[];
}

/**
 * Fits every model to every cooler of a bench, with the scatters of the bench and what the coolers have in common.
 *
 * Two things depend on each other: the curves (generalised least squares given the scatters) and the scatters (REML
 * given the curves), so they take turns, as in Lindstrom and Bates (1990) Biometrics 46, 673; the bench's prior for the
 * curves (empirical Bayes) is renewed with them. The first round starts from assumed scatters and from the priors of the
 * model files; after three rounds nothing moves that would show in a printed digit.
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
  const runsOf = groupRuns(bench, source);
  const leak = leakOf(bench, source).value;
  const sessions = [...new Set([...runsOf.values()].flat().map((run) => run.session))];
  const active = assumedScatter().sigma.map((_, k) => k !== SESSION);
  // Only coolers that were run in several sessions say how far apart sessions are.
  const learnt = active.map((yes, k) => yes || k === SESSION);
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
  const meet = states?.meet ?? false;
  const curves = models.map((model) => new RiseCurve(model));
  const priorsOf = works.map(() => curves.map(statedPrior));
  for (let round = 0; round < ROUNDS; round++) {
    works.forEach((work, c) => {
      useScatter(work, scatter, active);
      work.curves = curves.flatMap((curve, m) => {
        if (!applies(curve.model, work.data)) return [];
        const at = work.curves.findIndex((posterior) => posterior.curve === curve);
        const before = work.curves[at];
        const prior = ownPrior(heavyTailed(priorsOf[c][m], before), curve, work.data.cooler);
        // A model that plays no part keeps its first fit; only its spread is renewed at the end.
        if (before && work.weights[at] < IDLE_WEIGHT) return [before];
        return [fitCurve(curve, work.data, leak, work.factor, prior, startsFor(curve, prior, work, before))];
      });
      onProgress?.(round * works.length + c + 1, ROUNDS * works.length);
    });
    judge(works, curves);
    for (const work of works) rescaleShape(work, scatter, active);
    scatter = estimateScatter(
      works.map((work) => states?.asRead(work, scatterPart(work)) ?? scatterPart(work)),
      scatter,
      meet ? learnt : active,
      round < ROUNDS - 1 ? 1e-3 : 1e-6,
    );
    states?.renew(works, scatter.sigma[SESSION]);
    if (round < ROUNDS - 1) pool(works, curves, priorsOf);
  }
  for (const work of works) {
    useScatter(work, scatter, active);
    work.curves = work.curves.map((old) =>
      posteriorAt(old.curve, work.data, leak, work.factor, old.prior, old.eta, old),
    );
  }
  judge(works, curves);
  const shifts = borrowedShifts(works, curves, sessions, states?.effects);
  return {
    bench,
    source,
    scatter,
    active,
    ...(states ? { sessionEffects: states.effects } : {}),
    sessions,
    coolers: works.map((work) => finish(work, shifts.get(work) ?? [])),
    warnings: scatter.converged
      ? []
      : ['The scatter components did not settle; take the intervals as rough.'],
  };
}

const ROUNDS = 3;

/** A model with less weight than this on a cooler is not fitted again as scatters and priors settle. */
const IDLE_WEIGHT = 1e-5;

/** Runs of a source by cooler, in file order. */
function groupRuns(bench: Bench, source: string): Map<string, Run[]> {
  const groups = new Map<string, Run[]>();
  for (const run of bench.runs) {
    if (run.source !== source) continue;
    const list = groups.get(run.cooler);
    if (list) list.push(run);
    else groups.set(run.cooler, [run]);
  }
  return groups;
}

function startWork(data: CoolerRuns): Work {
  const ratios = Array.from(data.rise_K, (rise, i) => rise / data.base_W[i]).sort((a, b) => a - b);
  const typical = Math.max(ratios[Math.floor(ratios.length / 2)], 1e-4);
  return {
    data,
    typical,
    shapeScale: 1,
    factors: componentFactors(data, typical),
    factor: new Float64Array(0),
    inverse: new Float64Array(0),
    curves: [],
    skill: [],
    weights: [],
  };
}

function useScatter(work: Work, scatter: BenchScatter, active: readonly boolean[]): void {
  const n = work.data.runs.length;
  const sigma = scatter.sigma.map((s, k) => (active[k] ? s : 0));
  const covariance = runCovariance(work.data, work.factors, sigma);
  work.factor = factorOf(covariance, n);
  work.inverse = covariance;
  if (!invertSpd(work.inverse, n)) throw new RangeError('the covariance of the runs cannot be inverted');
}

/** A model with an input that the runs do not carry cannot be used on them. */
function applies(model: Model, data: CoolerRuns): boolean {
  if (model.limit !== undefined && !limitPrior(data.cooler)) return false;
  return model.inputs.every((input) => input === 'P' || input === 'n' || data.more.has(input));
}

/** A limit is the cooler's own: its pipes say where, not the other coolers. */
function ownPrior(prior: CurvePrior, curve: RiseCurve, cooler: Cooler): CurvePrior {
  const limit = curve.model.limit;
  if (limit === undefined) return prior;
  const own = limitPrior(cooler);
  const j = curve.model.parameters.findIndex((parameter) => parameter.name === limit);
  if (!own || !curve.scales[j].logarithmic) return prior;
  const mean = prior.mean.slice();
  const deviation = prior.deviation.slice();
  mean[j] = Math.log(own.limit_W);
  deviation[j] = own.spread;
  return { mean, deviation };
}

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

function scatterPart(work: Work): ScatterPart {
  const best = bestCurve(work);
  const p = best.eta.length;
  const precision = new Float64Array(p * p);
  for (let j = 0; j < p; j++) precision[j * p + j] = 1 / best.prior.deviation[j] ** 2;
  // Residuals about the prior mean, since the restricted likelihood integrates over the whole prior.
  const residual_K = best.residual_K.map((r, i) => {
    let sum = r;
    for (let j = 0; j < p; j++) sum += best.at.jacobian[i * p + j] * (best.eta[j] - best.prior.mean[j]);
    return sum;
  });
  return {
    data: work.data,
    factors: work.factors,
    residual_K,
    jacobian: best.at.jacobian,
    columns: p,
    priorPrecision: precision,
  };
}

/** Finds the cooler's own scale of shape and lays its factors out anew. */
function rescaleShape(work: Work, scatter: BenchScatter, active: readonly boolean[]): void {
  const { residual_K, jacobian, columns, priorPrecision } = scatterPart(work);
  const n = residual_K.length;
  const plain = componentFactors(work.data, work.typical);
  const only = (k: (component: number) => boolean) =>
    scatter.sigma.map((sigma, component) => (active[component] && k(component) ? sigma : 0));
  const covariance = runCovariance(
    work.data,
    plain,
    only((k) => k !== SHAPE),
  );
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      for (let q = 0; q < columns; q++) {
        const variance = 1 / priorPrecision[q * columns + q];
        covariance[i * n + j] += variance * jacobian[i * columns + q] * jacobian[j * columns + q];
      }
    }
  }
  const shape = new Float64Array(n * n);
  addProduct(shape, plain[SHAPE], scatter.sigma[SHAPE] ** 2, n);
  const scale = shapeScale(residual_K, covariance, shape);
  if (scale === work.shapeScale) return;
  work.shapeScale = scale;
  work.factors = componentFactors(work.data, scale * work.typical);
}

/** The sessions of a bench while curves and scatters settle: their effects are taken off the runs' rises as they get known. */
class SessionStates {
  effects: SessionEffects;
  /** Whether any cooler was run in more than one session. */
  readonly meet: boolean;
  private readonly offset_K: readonly number[];
  private readonly sessionOf = new Map<Work, number[]>();
  /** The rises before any effect was taken off. */
  private readonly rises = new Map<Work, Float64Array>();

  constructor(
    bench: Bench,
    source: string,
    sessions: readonly (string | undefined)[],
    works: readonly Work[],
  ) {
    this.offset_K = sessions.map((session) => Math.max(offsetUncertainty(bench, source, session), 1e-6));
    this.effects = priorSessionEffects(this.offset_K, assumedScatter().sigma[SESSION]);
    for (const work of works) {
      this.rises.set(work, work.data.rise_K.slice());
      this.sessionOf.set(
        work,
        work.data.runs.map((run) => sessions.indexOf(run.session)),
      );
    }
    this.meet = [...this.sessionOf.values()].some((list) => new Set(list).size > 1);
  }

  /** A cooler's part in the scatters with the sessions' effects left in, as the session's own scatter has to see them. */
  asRead(work: Work, part: ScatterPart): ScatterPart {
    const session = this.sessionOf.get(work) as number[];
    const n = session.length;
    const sensorStates = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) {
        if (session[i] === session[j]) sensorStates[i * n + j] = this.offset_K[session[i]] ** 2;
      }
    }
    const residual_K = part.residual_K.map(
      (r, i) => r + effectOn(this.effects, session[i], work.data.base_W[i]),
    );
    return { ...part, residual_K, sensorStates };
  }

  /** New estimates of the effects; they are taken off the runs' rises. */
  renew(works: readonly Work[], paste_K_per_W: number): void {
    const parts = works.map((work) => ({
      data: work.data,
      posterior: bestCurve(work),
      inverse: work.inverse,
      session: this.sessionOf.get(work) as number[],
    }));
    this.effects = estimateSessionEffects(parts, this.offset_K, paste_K_per_W, this.effects);
    for (const work of works) {
      takeOff(
        work.data,
        this.rises.get(work) as Float64Array,
        this.sessionOf.get(work) as number[],
        this.effects,
      );
    }
  }
}

function bestCurve(work: Work): CurvePosterior {
  return work.curves[work.weights.indexOf(Math.max(...work.weights))];
}

/** Skill of every model on every cooler and the weights that follow. */
function judge(works: readonly Work[], curves: readonly RiseCurve[]): void {
  for (const work of works) {
    const judged = work.curves.map((posterior) => {
      if (!posterior.covariance.every(Number.isFinite))
        return { leftOut: Number.NEGATIVE_INFINITY, together: Number.NEGATIVE_INFINITY };
      const { leftOut, together } = leaveLoadOut(work.data, posterior, work.inverse);
      if (work.data.loadGroups < 2) return { leftOut: aiccSkill(posterior), together };
      return { leftOut: leftOut.reduce((a, b) => a + b, 0), together };
    });
    const likeliest = Math.max(...judged.map(({ together }) => together));
    const skill = judged.map(({ leftOut, together }) =>
      together < likeliest - OUT_OF_THE_QUESTION ? Number.NEGATIVE_INFINITY : leftOut,
    );
    const hasLimit = (m: number) => work.curves[m].curve.model.limit !== undefined;
    const without = Math.max(...skill.filter((_, m) => !hasLimit(m)));
    // A model with a pipe limit counts only where the runs show one. Where they do not, its limit is only a prior, and that
    // prior is carried, whole, by the limit nodes that continue every other model.
    work.skill = skill.map((value, m) =>
      hasLimit(m) && value < without + SEEN ? Number.NEGATIVE_INFINITY : value,
    );
  }
  const table = works.map((work) =>
    curves.map((curve) => {
      const m = work.curves.findIndex((posterior) => posterior.curve === curve);
      return m < 0 ? Number.NEGATIVE_INFINITY : work.skill[m];
    }),
  );
  const weights = modelWeights(table);
  works.forEach((work, c) => {
    work.weights = work.curves.map((posterior) => weights[c][curves.indexOf(posterior.curve)]);
    const total = work.weights.reduce((a, b) => a + b, 0);
    work.weights = work.weights.map((w) => w / total);
  });
}

/**
 * A model under which a cooler's runs as a whole are e¹⁰ times less likely than under another is out of the question there. Left-out
 * loads alone would not see it: what a wrong curve misses at every load alike passes for the mounts' own resistance.
 */
const OUT_OF_THE_QUESTION = 10;

/** Log predictive density by which a model with a limit has to beat the others for the limit to count as seen. */
const SEEN = 2;

/** New bench priors for every formula, air and liquid coolers apart. */
function pool(works: readonly Work[], curves: readonly RiseCurve[], priorsOf: CurvePrior[][]): void {
  for (const kind of ['air', 'liquid'] as const) {
    curves.forEach((curve, m) => {
      const members = works
        .map((work, c) => ({
          work,
          c,
          posterior: work.curves.find((posterior) => posterior.curve === curve),
        }))
        .filter(({ work, posterior }) => work.data.cooler.kind === kind && posterior);
      const pooled = curve.model.parameters.map((parameter) => parameter.name !== curve.model.limit);
      const prior = benchPrior(
        curve,
        members.map(({ posterior }) => posterior as CurvePosterior),
        pooled,
      );
      for (const { c } of members) priorsOf[c][m] = prior;
    });
  }
}

/** For every cooler and curve, how the pooled prior moves with the errors that all runs share. */
function borrowedShifts(
  works: readonly Work[],
  curves: readonly RiseCurve[],
  sessions: readonly (string | undefined)[],
  effects: SessionEffects | undefined,
): Map<Work, Float64Array[]> {
  const out = new Map<Work, Float64Array[]>(works.map((work) => [work, []]));
  const count = sharedErrorCount(sessions);
  for (const kind of ['air', 'liquid'] as const) {
    for (const curve of curves) {
      const members = works.flatMap((work) => {
        const posterior = work.curves.find((one) => one.curve === curve);
        return posterior && work.data.cooler.kind === kind ? [{ work, posterior }] : [];
      });
      const own = members.map(({ work, posterior }) => {
        const slopes = sharedErrorSlopes(work.data, posterior, sessions, effects);
        return parameterShift(posterior, slopes, count);
      });
      const shifts = pooledShift(
        members.map(({ posterior }) => posterior),
        own,
      );
      members.forEach(({ work, posterior }, c) => {
        (out.get(work) as Float64Array[])[work.curves.indexOf(posterior)] = shifts[c];
      });
    }
  }
  return out;
}

/** C·JᵀV⁻¹·∂y/∂error, p × count. */
function parameterShift(posterior: CurvePosterior, slopes: Float64Array, count: number): Float64Array {
  const p = posterior.eta.length;
  const n = posterior.residual_K.length;
  const pull = new Float64Array(p * count);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < p; j++) {
      const w = posterior.weightedJacobian[i * p + j];
      for (let e = 0; e < count; e++) pull[j * count + e] += w * slopes[i * count + e];
    }
  }
  const out = new Float64Array(p * count);
  for (let j = 0; j < p; j++) {
    for (let q = 0; q < p; q++) {
      for (let e = 0; e < count; e++)
        out[j * count + e] += posterior.covariance[j * p + q] * pull[q * count + e];
    }
  }
  return out;
}

function finish(work: Work, borrowedShift: readonly Float64Array[]): CoolerPosterior {
  const { data } = work;
  const seen = Math.max(...data.base_W);
  const best = work.curves[work.weights.indexOf(Math.max(...work.weights))];
  const seesLimit = best.curve.model.limit !== undefined;
  return {
    data,
    typical_K_per_W: work.shapeScale * work.typical,
    factors: work.factors,
    inverse: work.inverse,
    curves: work.curves,
    borrowedShift,
    weights: work.weights,
    limits: limitNodes(data.cooler, seen, work.typical),
    notes: coolerNotes(work, best, seesLimit),
  };
}

/** What was borrowed and what cannot be told, in words. */
function coolerNotes(work: Work, best: CurvePosterior, seesLimit: boolean): string[] {
  const notes: string[] = [];
  const { data } = work;
  const p = best.eta.length;
  const borrowed = best.curve.model.parameters
    .filter((_, j) => best.covariance[j * p + j] > 0.5 * best.prior.deviation[j] ** 2)
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
    notes.push('run at one fan speed only: how it answers to speed is borrowed');
  }
  if (seesLimit) notes.push('its runs show the onset of a heat-pipe limit');
  return notes;
}
