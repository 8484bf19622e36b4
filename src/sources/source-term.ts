import type { Bench } from '../bench/bench.ts';
import { knownSource, sourceOf } from '../bench/source.ts';
import { cholesky, invertSpd } from '../numerics/matrix.ts';
import type { BenchPosterior } from '../posterior/bench-posterior.ts';
import { SESSION } from '../posterior/scatter.ts';
import { sharedUncertainties } from '../prediction/shared-errors.ts';
import { type ChipRuns, chipRuns, runsOn, type SharedErrors, sharedErrors } from './chip-runs.ts';
import { likelyScatter, type SourceScatter, sourceScatter } from './source-scatter.ts';
import { type TermPrior, termPrior } from './term-prior.ts';

/** Everything that the runs on a chip say, beside the heater's: n runs, S shared errors. */
export interface SourceTerm {
  readonly heater: BenchPosterior;
  readonly source: string;
  readonly leak_W_per_K: number;
  readonly prior: TermPrior;
  readonly shared: SharedErrors;
  /** Standard uncertainties of the shared errors, S. */
  readonly uncertainty: Float64Array;
  readonly scatter: SourceScatter;
  readonly runs: ChipRuns;
  /** Variance of the term's scatter for each of the heater's coolers, (K/W)². */
  readonly coolerVariance: readonly number[];
  /** Lower factor of the residuals' own covariance, shared errors apart, n × n. */
  readonly ownFactor: Float64Array;
  /** Inverse of the residuals' whole covariance, n × n. */
  readonly inverse: Float64Array;
  /** Inverse times residuals, n. */
  readonly weighted_K: Float64Array;
  /** Session whose paste a fresh run would have. */
  readonly presentSession: string | undefined;
}

/**
 * The term of a chip, the resistance that it has more than the heater, by generalised least squares from the few runs on it.
 *
 * Each run on the chip is compared with what the heater's runs of its cooler predict at the same heat. The differences hold
 * the chip's term Δ, the cooler's own departure from it b, the errors of the heater's prediction, specimen, fitting, reading, and
 * what all runs on the chip share: its sensor's offset, the error of its power figure, its leak. All are normal about zero
 * with known or estimated spread, Δ about what geometry says; so everything asked for is a conditional mean and variance
 * (a best linear unbiased predictor: Searle, Casella and McCulloch 1992, Variance Components, chapter 7).
 *
 * @throws BenchError where the bench has no such chip
 */
export function sourceTerm(heater: BenchPosterior, source: string): SourceTerm {
  const { bench } = heater;
  const chip = sourceOf(bench, knownSource(bench, source));
  const leak = chip.leak_W_per_K;
  const sessions = heater.coolers.flatMap((one) => runsOn(heater, one, source).map((run) => run.session));
  const presentSession = sessions.length > 0 ? sessions[sessions.length - 1] : heater.sessions.at(-1);
  const shared = sharedErrors(heater, [...sessions, presentSession]);
  const uncertainty = new Float64Array(shared.count);
  uncertainty.set(sharedUncertainties(heater));
  uncertainty[shared.sensor] = Math.hypot(chip.sensor_systematic_K, ambientSystematic(bench));
  uncertainty[shared.power] = chip.power_systematic_percent / 100;
  uncertainty[shared.leak] = leak.uncertainty;
  for (const column of shared.pasteOf.values()) {
    if (column > shared.base) uncertainty[column] = heater.scatter.sigma[SESSION];
  }
  const under = (prior: TermPrior) => {
    uncertainty[shared.term] = prior.shared_K_per_W;
    uncertainty[shared.base] = prior.baseSpread;
    const runs = chipRuns(heater, source, leak.value, prior, shared);
    const baseVariance = heater.coolers.map((one) => prior.own_K_per_W(one.data.cooler) ** 2);
    const covarianceAt = (sigma: number): Float64Array => {
      const variance = baseVariance.map((v) => v + sigma * sigma);
      return withShared(ownCovariance(runs, variance), runs, uncertainty);
    };
    return { prior, runs, baseVariance, covarianceAt };
  };
  const first = under(termPrior(bench, source));
  const rough = roughTerm(
    first.runs,
    shared.term,
    first.prior,
    first.covarianceAt(likelyScatter(first.prior.usual_K_per_W)),
  );
  const { prior, runs, baseVariance, covarianceAt } =
    first.prior.from === 'assumed' && first.runs.runs.length > 0
      ? under(termPrior(bench, source, rough))
      : first;
  const scatter = sourceScatter(runs.residual_K, covarianceAt, likelyScatter(rough));
  const coolerVariance = baseVariance.map((v) => v + scatter.value ** 2);
  const ownFactor = ownCovariance(runs, coolerVariance);
  const inverse = withShared(ownFactor, runs, uncertainty);
  const n = runs.residual_K.length;
  if (!cholesky(ownFactor, n) || !invertSpd(inverse, n)) {
    throw new RangeError(`the covariance of the runs on ${source} cannot be inverted`);
  }
  return {
    heater,
    source,
    leak_W_per_K: leak.value,
    prior,
    shared,
    uncertainty,
    scatter,
    runs,
    coolerVariance,
    ownFactor,
    inverse,
    weighted_K: product(inverse, runs.residual_K),
    presentSession,
  };
}

function ambientSystematic(bench: Bench): number {
  return bench.instruments.ambient_temperature.systematic_K;
}

/** The term with the residuals' covariance at a likely scatter, K/W: good enough to say how large a scatter is likely. */
function roughTerm(runs: ChipRuns, column: number, prior: TermPrior, covariance: Float64Array): number {
  const n = runs.residual_K.length;
  const count = n > 0 ? runs.design.length / n : 0;
  if (!invertSpd(covariance, n)) return prior.usual_K_per_W;
  const weighted = product(covariance, runs.residual_K);
  return weighted.reduce(
    (sum, w, i) => sum + w * runs.design[i * count + column] * prior.shared_K_per_W ** 2,
    prior.usual_K_per_W,
  );
}

/** Own covariance with the scatter of the term between coolers, which the runs of one cooler share. */
export function ownCovariance(runs: ChipRuns, variance: readonly number[]): Float64Array {
  const n = runs.residual_K.length;
  const out = runs.own.slice();
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      if (runs.cooler[i] !== runs.cooler[j]) continue;
      out[i * n + j] += variance[runs.cooler[i]] * runs.points[i].base_W * runs.points[j].base_W;
    }
  }
  return out;
}

/** A copy with the shared errors added. */
function withShared(own: Float64Array, runs: ChipRuns, uncertainty: Float64Array): Float64Array {
  const n = runs.residual_K.length;
  const count = uncertainty.length;
  const out = own.slice();
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      let sum = 0;
      for (let k = 0; k < count; k++) {
        sum += runs.design[i * count + k] * runs.design[j * count + k] * uncertainty[k] ** 2;
      }
      out[i * n + j] += sum;
    }
  }
  return out;
}

/** Matrix times vector, n × n row-major. */
export function product(matrix: Float64Array, vector: Float64Array): Float64Array {
  const n = vector.length;
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let sum = 0;
    for (let j = 0; j < n; j++) sum += matrix[i * n + j] * vector[j];
    out[i] = sum;
  }
  return out;
}
