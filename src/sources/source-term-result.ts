import { riseOf } from '../bench/run.ts';
import { normalQuantile } from '../numerics/distributions.ts';
import { invertSpd } from '../numerics/matrix.ts';
import type { BenchPosterior } from '../posterior/bench-posterior.ts';
import type { LeftOutCooler, SourceTermResult } from '../results.ts';
import type { SourceTerm } from './source-term.ts';
import type { ChipPosterior } from './swapped-posterior.ts';

/** The chip's term behind a posterior; `undefined` for the heater's or for one of chip runs alone. */
export function termOf(posterior: BenchPosterior): SourceTerm | undefined {
  return (posterior as Partial<ChipPosterior>).term;
}

/**
 * A chip's term for people and scripts, and how well it has predicted so far.
 *
 * @example sourceTermResult(termOf(posteriorFor(bench, 'chip-a'))!).value_K_per_W
 */
export function sourceTermResult(term: SourceTerm): SourceTermResult {
  const { prior, runs, scatter } = term;
  const { value, deviation } = termEstimate(term);
  const half = normalQuantile(0.975) * deviation;
  const coolers = new Set(runs.cooler).size;
  const left = leaveOneCoolerOut(term);
  const inside = left.filter((one) => one.inside).length;
  const rms_K = left.length
    ? Math.sqrt(left.reduce((sum, one) => sum + one.error_K ** 2, 0) / left.length)
    : null;
  return {
    source: term.source,
    value_K_per_W: value,
    standard_uncertainty_K_per_W: deviation,
    low_K_per_W: value - half,
    high_K_per_W: value + half,
    before: prior.from,
    coolers,
    runs: runs.runs.length,
    scatter_K_per_W: scatter,
    cross_validation: { coolers: left, rms_K, inside, count: left.length },
    notes: termNotes(term, coolers, rms_K, inside),
  };
}

/** A result with the term of the chip that it is for. */
export function withSourceTerm<Result extends { source_term?: SourceTermResult }>(
  result: Result,
  posterior: BenchPosterior,
): Result {
  const term = termOf(posterior);
  return term ? { ...result, source_term: sourceTermResult(term) } : result;
}

/** Conditional mean and standard deviation of the term on a base of the usual thickness, K/W. */
function termEstimate(term: SourceTerm): { value: number; deviation: number } {
  const { runs, shared, uncertainty, weighted_K, inverse } = term;
  const n = runs.residual_K.length;
  const prior = uncertainty[shared.term] ** 2;
  let value = term.prior.usual_K_per_W;
  let variance = prior;
  for (let i = 0; i < n; i++) {
    const k = runs.design[i * shared.count + shared.term] * prior;
    value += k * weighted_K[i];
    for (let j = 0; j < n; j++) {
      variance -= k * inverse[i * n + j] * runs.design[j * shared.count + shared.term] * prior;
    }
  }
  return { value, deviation: Math.sqrt(Math.max(variance, 0)) };
}

/**
 * Each cooler's chip runs predicted from its heater runs and from the chip runs of the other coolers.
 *
 * With V the covariance of all residuals and c the runs of one cooler, what is left out is off by [(V⁻¹)_cc]⁻¹·(V⁻¹r)_c with
 * covariance [(V⁻¹)_cc]⁻¹: no refit is needed (Rasmussen and Williams 2006, Gaussian Processes, 5.4.2, for blocks). The scatters
 * are those of all runs.
 */
export function leaveOneCoolerOut(term: SourceTerm): LeftOutCooler[] {
  const { runs, heater, inverse, weighted_K } = term;
  const n = runs.residual_K.length;
  const indices = [...new Set(runs.cooler)];
  if (indices.length < 2) return [];
  return indices.map((index) => {
    const own = runs.cooler.flatMap((c, i) => (c === index ? [i] : []));
    const m = own.length;
    const covariance = new Float64Array(m * m);
    own.forEach((i, a) => {
      own.forEach((j, b) => {
        covariance[a * m + b] = inverse[i * n + j];
      });
    });
    if (!invertSpd(covariance, m))
      throw new RangeError('a cooler cannot be left out: its runs are not independent');
    let error_K = 0;
    let variance = 0;
    let rise_K = 0;
    own.forEach((i, a) => {
      rise_K += riseOf(runs.runs[i]) / m;
      for (let b = 0; b < m; b++) {
        error_K += (covariance[a * m + b] * weighted_K[own[b]]) / m;
        variance += covariance[a * m + b] / (m * m);
      }
    });
    const u_K = Math.sqrt(variance);
    return {
      cooler: heater.coolers[index].data.cooler.cooler,
      runs: m,
      rise_K,
      error_K,
      u_K,
      inside: Math.abs(error_K) <= normalQuantile(0.975) * u_K,
    };
  });
}

function termNotes(term: SourceTerm, coolers: number, rms_K: number | null, inside: number): string[] {
  const notes: string[] = [];
  const { source, prior, scatter } = term;
  if (prior.from === 'assumed') {
    notes.push(
      `nothing is known of the shape of ${source}: before its runs 0.05 ± 0.08 K/W is assumed; a geometry in bench.yaml says more`,
    );
  } else {
    notes.push(`before its runs the term of ${source} is that of its geometry`);
  }
  if (coolers === 0) notes.push(`no cooler was run on ${source} and on the heater: the term is not measured`);
  if (scatter.assumed) {
    notes.push('how much the term differs from cooler to cooler is assumed: too few coolers tell');
  }
  if (rms_K === null) {
    notes.push(
      'how well the term predicts a cooler not run on it cannot be told yet: that needs two coolers run on it',
    );
  } else {
    notes.push(
      `left out one at a time, the runs of ${coolers} coolers on ${source} were predicted within ${rms_K.toFixed(1)} K (root mean square); ${inside} of ${coolers} inside their 95 % interval`,
    );
  }
  return notes;
}
