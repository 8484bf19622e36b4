import type { Bench, Run } from '../bench/bench.ts';
import { densityShare } from '../bench/bench-air.ts';
import { isZeroLoad, riseOf } from '../bench/run.ts';
import { knownSource, sourceOf } from '../bench/source.ts';
import { givenReadings } from '../numerics/gaussian.ts';
import { addGram, cholesky } from '../numerics/matrix.ts';
import { errorsOfReading, errorsOfRise } from '../predict/chip-rises.ts';
import { jointRises, riseMoments } from '../predict/joint-rises.ts';
import { otherPaste, sharedUncertainties } from '../predict/shared-errors.ts';
import type { BenchPosterior, CoolerPosterior } from './bench-posterior.ts';
import {
  likelyScatter,
  STATED_UNEVEN_CHANCE,
  sourceScatter,
  unevenChance,
  unevenScatter,
} from './chip-scatter.ts';
import { type TermPrior, termPrior } from './chip-term-prior.ts';
import { SESSION } from './components.ts';
import { relativeSpeed } from './cooler-runs.ts';
import { OTHER_PASTE, PASTE, sharedErrorCount } from './shared-error-order.ts';
import type { RunOnChip, SourceTerm, TermColumns } from './source-term.ts';

/**
 * The term of a chip, the resistance that it has more than the heater, from the few runs on it.
 *
 * Each run on the chip is compared with what the heater's runs of its cooler and the prior of the term predict there. The residuals
 * hold the chip's term Δ, the cooler's own departure from it b, the errors of the heater's curve, specimen, fitting, reading, and
 * what all runs on the chip share: its sensor's offset, the error of its power figure, its leak. All are normal about zero
 * with known or estimated spread, Δ about what geometry says; so everything asked for is a conditional mean and variance
 * (a best linear unbiased predictor: Searle, Casella and McCulloch 1992, Variance Components, chapter 7).
 *
 * @throws BenchError where the bench has no such chip
 */
export function sourceTerm(heater: BenchPosterior, source: string): SourceTerm {
  const { bench } = heater;
  const about = aboutChip(heater, source);
  const { runs } = about;
  const first = underPrior(about, termPrior(bench, source));
  const { value: rough, deviation } = termEstimate(first.at(likelyScatter(first.term.prior.usual_K_per_W)));
  const { term, at } =
    first.term.prior.from === 'assumed' && runs.length > 0
      ? underPrior(about, termPrior(bench, source, rough))
      : first;
  const isStated = term.prior.from === 'geometry';
  const scatter = sourceScatter(
    term.residual_K,
    (sigma) => covarianceOf(at(sigma)),
    likelyScatter(rough),
    unevenScatter(rough, deviation),
    isStated ? STATED_UNEVEN_CHANCE : unevenChance(rough, deviation),
  );
  const open = { ...at(scatter.value), scatter };
  const shared_K_per_W = believedSpread(open);
  if (shared_K_per_W === term.prior.shared_K_per_W) return open;
  return termGiven(heater, source, { prior: { ...term.prior, shared_K_per_W }, scatter });
}

/** The term of a chip whose prior and scatter between coolers are known already. */
export function termGiven(
  heater: BenchPosterior,
  source: string,
  { prior, scatter }: Pick<SourceTerm, 'prior' | 'scatter'>,
): SourceTerm {
  return { ...underPrior(aboutChip(heater, source), prior).at(scatter.value), scatter };
}

/** Chance that a stated geometry is that of the chip, before any run (common practice, no source). */
const RIGHTLY_STATED = 0.5;

/**
 * The prior's spread with which a normal term is as wide after the runs as the two that it may be: that of a geometry rightly stated, and
 * that of one that is not, each weighed by how well it foresaw the runs. Without runs nothing speaks for the statement.
 */
function believedSpread(term: SourceTerm): number {
  const { usual_K_per_W: stated, shared_K_per_W: wide, asStated_K_per_W: narrow } = term.prior;
  const byRuns = termByRuns(term);
  if (!byRuns || narrow >= wide) return wide;
  const { value, deviation } = byRuns;
  const [right, wrong] = [narrow, wide].map((spread) => {
    const total = spread ** 2 + deviation ** 2;
    const chance = spread === narrow ? RIGHTLY_STATED : 1 - RIGHTLY_STATED;
    return {
      weight: (chance / Math.sqrt(total)) * Math.exp(-((value - stated) ** 2) / (2 * total)),
      mean: stated + ((value - stated) * spread ** 2) / total,
      variance: (spread * deviation) ** 2 / total,
    };
  });
  const share = right.weight / (right.weight + wrong.weight);
  const variance =
    share * right.variance +
    (1 - share) * wrong.variance +
    share * (1 - share) * (right.mean - wrong.mean) ** 2;
  const precision = 1 / variance - 1 / deviation ** 2;
  return precision > wide ** -2 ? 1 / Math.sqrt(precision) : wide;
}

/** The term by the runs alone: prior and runs are two estimates, weighed by one over their variances, and the prior is taken out again. */
function termByRuns(term: SourceTerm): { value: number; deviation: number } | undefined {
  if (term.runs.length === 0) return undefined;
  const { usual_K_per_W: stated, shared_K_per_W } = term.prior;
  const after = termEstimate(term);
  const told = 1 - (after.deviation / shared_K_per_W) ** 2;
  if (!(told > 0)) return undefined;
  return {
    value: stated + (after.value - stated) / told,
    deviation: after.deviation / Math.sqrt(told),
  };
}

/** Conditional mean and standard deviation of the term on a base of the usual thickness, K/W. */
export function termEstimate({ columns, uncertainty, runs, prior, given }: SourceTerm): {
  value: number;
  deviation: number;
} {
  const quantity = new Float64Array(columns.count + runs.length);
  quantity[columns.term] = uncertainty[columns.term];
  const { mean, errors } = given(quantity);
  return { value: prior.usual_K_per_W + mean, deviation: Math.hypot(...errors) };
}

/** Standard deviations beyond which runs and geometry do not agree: 1 in 100 by chance. */
const CONFLICT = 2.58;

/** The term by the runs alone where they contradict what is stated of the source. */
function conflictWithGeometry(term: SourceTerm): { value: number; deviation: number } | undefined {
  const { usual_K_per_W, asStated_K_per_W, from } = term.prior;
  const byRuns = from === 'geometry' ? termByRuns(term) : undefined;
  if (!byRuns) return undefined;
  const { value, deviation } = byRuns;
  return Math.abs(value - usual_K_per_W) > CONFLICT * Math.hypot(asStated_K_per_W, deviation)
    ? byRuns
    : undefined;
}

/** Says that runs on a chip and its geometry contradict each other; empty where they do not. */
export function conflictSentences(term: SourceTerm, source: string): string[] {
  const byRuns = conflictWithGeometry(term);
  if (!byRuns) return [];
  const { value, deviation } = byRuns;
  return [
    `the runs on ${source} give its term ${value.toFixed(2)} ± ${deviation.toFixed(2)} K/W, its geometry ${term.prior.usual_K_per_W.toFixed(2)} K/W: the answers follow the runs; check the geometry in bench.yaml`,
  ];
}

/** Covariance of the residuals, n × n. */
export function covarianceOf({ errors, runs }: SourceTerm): Float64Array {
  const n = runs.length;
  return addGram(new Float64Array(n * n), errors, n, n === 0 ? 0 : errors.length / n);
}

/** Columns of the shared errors for runs in these sessions. */
function columnsFor(heater: BenchPosterior, sessions: readonly (string | undefined)[]): TermColumns {
  const first = sharedErrorCount(heater.sessions);
  const pasteOf = new Map<string | undefined, number>();
  let next = first + 5;
  for (const session of sessions) {
    if (pasteOf.has(session)) continue;
    // With one session on the bench its paste is in the heater's runs too.
    const common = !heater.sessionEffects && heater.sessions.includes(session);
    pasteOf.set(session, common ? PASTE : next++);
  }
  return {
    sensor: first,
    power: first + 1,
    leak: first + 2,
    term: first + 3,
    base: first + 4,
    pasteOf,
    count: next,
  };
}

/** The chip's runs of coolers that were run on the heater as well, cooler by cooler. */
function runsOnChip({ bench, coolers }: BenchPosterior, source: string): RunOnChip[] {
  return coolers.flatMap(({ data }) =>
    runsOn(bench, data.cooler.cooler, source).map((run) => ({
      run,
      cooler: data.cooler.cooler,
      point: {
        power_W: run.power_W,
        speed: relativeSpeed(data.cooler, run.fan_rpm) * densityShare(bench, run),
        sample: run.sample,
        // A fitting on the chip is none of those on the heater.
        mount: run.mount === undefined ? null : fittingOn(source, run.mount),
        reading_u_K: run.u_K ?? 0,
      },
    })),
  );
}

/** A name for a fitting on a chip that no fitting on the heater has. */
function fittingOn(source: string, mount: string): string {
  return `${source}\u0000${mount}`;
}

/** Runs of a cooler with heat on, on a source. */
export function runsOn(bench: Bench, cooler: string, source: string): Run[] {
  return bench.runs.filter((run) => run.source === source && run.cooler === cooler && !isZeroLoad(run));
}

interface About {
  readonly heater: BenchPosterior;
  readonly source: string;
  readonly runs: readonly RunOnChip[];
  readonly columns: TermColumns;
  readonly presentSession: string | undefined;
}

/**
 * What the term of a chip is found from: its runs, the errors they share, and the session that is present
 * there.
 */
function aboutChip(heater: BenchPosterior, source: string): About {
  const runs = runsOnChip(heater, source);
  const presentSession = runs.length > 0 ? runs[runs.length - 1].run.session : heater.sessions.at(-1);
  const columns = columnsFor(heater, [...runs.map(({ run }) => run.session), presentSession]);
  return { heater, source, runs, columns, presentSession };
}

/** Before anything is known of it. */
const NO_SCATTER = {
  ...{ value: 0, low: 0, high: 0, assumed: true },
  own: { weight: [1], mean: [0], deviation: [0] },
};

/** The term under a prior before it is known how much it differs between coolers, and with such a scatter in K/W. */
function underPrior(
  about: About,
  prior: TermPrior,
): { term: SourceTerm; at: (scatter_K_per_W: number) => SourceTerm } {
  const { heater, source, runs, columns, presentSession } = about;
  const n = runs.length;
  const size = columns.count + n;
  const none = new Float64Array(0);
  const before: SourceTerm = {
    prior,
    columns,
    uncertainty: uncertaintiesOf(heater, source, columns, prior),
    scatter: NO_SCATTER,
    coolerVariance: new Map(),
    runs: [],
    residual_K: none,
    ownFactor: none,
    errors: none,
    given: givenReadings(none, none),
    presentSession,
  };
  const { residual_K, errors, own, loading_W } = foreseen(about, before);
  const ofBase = new Map(
    heater.coolers.map(({ data }) => [data.cooler.cooler, prior.own_K_per_W(data.cooler) ** 2]),
  );
  const at = (scatter_K_per_W: number): SourceTerm => {
    const coolerVariance = new Map([...ofBase].map(([name, v]) => [name, v + scatter_K_per_W ** 2]));
    const ownFactor = own.slice();
    for (let i = 0; i < n; i++) {
      const between = coolerVariance.get(runs[i].cooler) as number;
      for (let j = 0; j < n; j++) {
        if (runs[i].cooler === runs[j].cooler) ownFactor[i * n + j] += between * loading_W[i] * loading_W[j];
      }
    }
    if (!cholesky(ownFactor, n))
      throw new RangeError(`the covariance of the runs on ${source} cannot be inverted`);
    const all = errors.slice();
    for (let i = 0; i < n; i++) all.set(ownFactor.subarray(i * n, (i + 1) * n), i * size + columns.count);
    const given = givenReadings(all, residual_K);
    return { ...before, coolerVariance, runs, residual_K, ownFactor, errors: all, given };
  };
  return { term: { ...before, residual_K }, at };
}

/**
 * The runs on a chip beside what the heater's curves and the term before any run foresee of them: what was read less that, what each
 * shared error by its uncertainty does to it, the covariance of what is each cooler's own, and the loading.
 */
function foreseen({ heater, source, runs, columns }: About, before: SourceTerm) {
  const n = runs.length;
  const size = columns.count + n;
  const posterior = { ...heater, source, term: before };
  const residual_K = new Float64Array(n);
  const errors = new Float64Array(n * size);
  const own = new Float64Array(n * n);
  const loading_W = new Float64Array(n);
  for (let start = 0; start < n; ) {
    const name = runs[start].cooler;
    const mine = runs.filter(({ cooler }) => cooler === name);
    const cooler = onChip(
      heater,
      heater.coolers.find(({ data }) => data.cooler.cooler === name) as CoolerPosterior,
    );
    const points = mine.map(({ point }) => point);
    const joint = riseMoments(cooler, jointRises(posterior, cooler, points, { want: 'covariance' }));
    mine.forEach(({ run }, t) => {
      const i = start + t;
      residual_K[i] = riseOf(run) - joint.mean[t];
      loading_W[i] = joint.loading_W[t];
      const ofRise = errorsOfRise(before, cooler, joint, t);
      const ofReading = errorsOfReading(columns, ofRise, joint, t, run.power_W, run.session);
      ofReading.forEach((effect, k) => {
        errors[i * size + k] = effect * before.uncertainty[k];
      });
      for (let s = 0; s < mine.length; s++) own[i * n + start + s] = joint.covariance[t * mine.length + s];
    });
    start += mine.length;
  }
  return { residual_K, errors, own, loading_W };
}

/** A cooler with the heater's curves, on a chip. */
export function onChip(heater: BenchPosterior, cooler: CoolerPosterior): CoolerPosterior {
  return { ...cooler, fittedIn: { posterior: heater, cooler } };
}

/** Standard uncertainties of the shared errors of runs on a chip. */
function uncertaintiesOf(
  heater: BenchPosterior,
  source: string,
  columns: TermColumns,
  prior: TermPrior,
): Float64Array {
  const { bench } = heater;
  const chip = sourceOf(bench, knownSource(bench, source));
  const out = new Float64Array(columns.count);
  out.set(sharedUncertainties(heater));
  out[OTHER_PASTE] = otherPaste(heater);
  out[columns.sensor] = Math.hypot(
    chip.sensor_systematic_K,
    bench.instruments.ambient_temperature.systematic_K,
  );
  out[columns.power] = chip.power_systematic_percent / 100;
  out[columns.leak] = chip.leak_W_per_K.uncertainty;
  out[columns.term] = prior.shared_K_per_W;
  out[columns.base] = prior.baseSpread;
  for (const column of columns.pasteOf.values()) {
    if (column > columns.base) out[column] = heater.scatter.sigma[SESSION];
  }
  return out;
}
