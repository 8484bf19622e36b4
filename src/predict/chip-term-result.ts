import { riseOf } from '../bench/run.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { covarianceOf, termEstimate } from '../fit/chip-term.ts';
import type { ScatterComponent } from '../fit/scatter.ts';
import type { SourceTerm } from '../fit/source-term.ts';
import { normalQuantile } from '../numerics/distributions.ts';
import { given } from '../numerics/gaussian.ts';
import { submatrix } from '../numerics/matrix.ts';

/** One cooler's runs on a chip as predicted without them. */
export interface LeftOutCooler {
  cooler: string;
  runs: number;
  /** Mean rise as read, K. */
  rise_K: number;
  /** Reading less prediction, mean over its runs, and the standard uncertainty that the prediction gave itself. */
  error_K: number;
  u_K: number;
  /** Inside the prediction's 95 % interval. */
  inside: boolean;
}

/** What a chip adds to a cooler's heater resistance, and how well that has predicted so far. */
export interface SourceTermResult {
  source: string;
  value_K_per_W: number;
  standard_uncertainty_K_per_W: number;
  /** 95 % interval. */
  low_K_per_W: number;
  high_K_per_W: number;
  /** Where the expectation before any run on it comes from. */
  before: 'geometry' | 'assumed';
  /** Coolers run on the chip and on the heater, and their runs on the chip. */
  coolers: number;
  runs: number;
  /** How much the term differs from cooler to cooler. */
  scatter_K_per_W: ScatterComponent;
  /** Each cooler left out in turn; empty and null with fewer than two. */
  cross_validation: { coolers: LeftOutCooler[]; rms_K: number | null; inside: number; count: number };
  notes: string[];
}

/**
 * A chip's term for people and scripts, and how well it has predicted so far.
 *
 * @example sourceTermResult(posteriorFor(bench, 'chip-a'))?.value_K_per_W
 */
export function sourceTermResult({ term, source }: BenchPosterior): SourceTermResult | undefined {
  if (!term) return undefined;
  const { prior, runs, scatter } = term;
  const { value, deviation } = termEstimate(term);
  const half = normalQuantile(0.975) * deviation;
  const coolers = new Set(runs.map(({ cooler }) => cooler)).size;
  const left = leaveOneCoolerOut(term);
  const inside = left.filter((one) => one.inside).length;
  const rms_K = left.length
    ? Math.sqrt(left.reduce((sum, one) => sum + one.error_K ** 2, 0) / left.length)
    : null;
  return {
    source,
    value_K_per_W: value,
    standard_uncertainty_K_per_W: deviation,
    low_K_per_W: value - half,
    high_K_per_W: value + half,
    before: prior.from,
    coolers,
    runs: runs.length,
    scatter_K_per_W: { value: scatter.value, low: scatter.low, high: scatter.high, assumed: scatter.assumed },
    cross_validation: { coolers: left, rms_K, inside, count: left.length },
    notes: termNotes(term, source, coolers, rms_K, inside),
  };
}

/** A result with the term of the chip that it is for. */
export function withSourceTerm<Result extends { source_term?: SourceTermResult }>(
  result: Result,
  posterior: BenchPosterior,
): Result {
  const source_term = sourceTermResult(posterior);
  return source_term ? { ...result, source_term } : result;
}

/**
 * Each cooler's chip runs predicted from its heater runs and from the chip runs of the other coolers; the scatters are those of all runs.
 */
export function leaveOneCoolerOut(term: SourceTerm): LeftOutCooler[] {
  const { runs, residual_K } = term;
  const coolers = [...new Set(runs.map(({ cooler }) => cooler))];
  if (coolers.length < 2) return [];
  const all = { mean: new Float64Array(runs.length), covariance: covarianceOf(term) };
  return coolers.map((cooler) => {
    const own = runs.flatMap((run, i) => (run.cooler === cooler ? [i] : []));
    const others = runs.flatMap((run, i) => (run.cooler === cooler ? [] : [i]));
    const { mean, covariance } = given(all, others, submatrix(residual_K, 1, others, [0]), { of: own });
    const m = own.length;
    const average = (of: (i: number, k: number) => number) =>
      own.reduce((sum, i, k) => sum + of(i, k) / m, 0);
    const error_K = average((i, k) => residual_K[i] - mean[k]);
    const u_K = Math.sqrt(covariance.reduce((sum, value) => sum + value, 0)) / m;
    return {
      cooler,
      runs: m,
      rise_K: average((i) => riseOf(runs[i].run)),
      error_K,
      u_K,
      inside: Math.abs(error_K) <= normalQuantile(0.975) * u_K,
    };
  });
}

/** What the term rests on: its prior, how many coolers, how well it foretold those left out. */
function termNotes(
  { prior, scatter }: SourceTerm,
  source: string,
  coolers: number,
  rms_K: number | null,
  inside: number,
): string[] {
  const notes: string[] = [];
  if (prior.from === 'assumed') {
    notes.push(
      `the shape of ${source} is not known: before its runs 0.05 ± 0.08 K/W is assumed; a geometry in bench.yaml says more`,
    );
  } else {
    notes.push(
      `before its runs the term of ${source} is that of its geometry, which may be stated wrongly: ± ${prior.shared_K_per_W.toFixed(2)} K/W`,
    );
  }
  if (coolers === 0) notes.push(`no cooler was run on ${source} and on the heater: the term is not measured`);
  if (scatter.assumed) {
    notes.push(
      'how much the term differs from cooler to cooler is assumed: too few coolers were run to tell',
    );
  }
  if (rms_K === null) {
    notes.push(
      'how well the term predicts a cooler not run on it cannot be said yet: that needs two coolers run on it',
    );
  } else {
    notes.push(
      `left out one at a time, the runs of ${coolers} coolers on ${source} were predicted within ${rms_K.toFixed(1)} K (root mean square); ${inside} of ${coolers} inside their 95 % interval`,
    );
  }
  return notes;
}
