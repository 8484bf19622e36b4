import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { OTHER_PASTE, PASTE } from '../fit/shared-error-order.ts';
import type { SourceTerm, TermColumns } from '../fit/source-term.ts';
import { dot, solveLower } from '../numerics/matrix.ts';
import { jointRises, type RiseMoments, riseMoments } from './joint-rises.ts';
import type { RisePoint } from './rise-point.ts';
import { sensitivities } from './sensitivities.ts';

/**
 * Effect of each shared error of a chip on a true rise there, S: of the heater bench by way of the curve, of the leak, of the term and
 * of what the base's thickness does to it.
 *
 * @param t  the point in `joint`
 */
export function errorsOfRise(
  { columns, prior }: Pick<SourceTerm, 'columns' | 'prior'>,
  cooler: CoolerPosterior,
  joint: RiseMoments,
  t: number,
): Float64Array {
  const out = new Float64Array(columns.count);
  const ofHeater = joint.sensitivity.length / joint.mean.length;
  for (let k = 0; k < ofHeater; k++) out[k] = -joint.sensitivity[t * ofHeater + k];
  out[columns.leak] = joint.leakSlope[t];
  out[columns.term] = joint.loading_W[t];
  out[columns.base] = joint.loading_W[t] * prior.baseEffect_K_per_W(cooler.data.cooler);
  return out;
}

/** Effect of each shared error on a reading: those on the true rise, the sensor's, the power figure's and the session's paste. */
export function errorsOfReading(
  columns: TermColumns,
  rise: Float64Array,
  joint: RiseMoments,
  t: number,
  power_W: number,
  session: string | undefined,
): Float64Array {
  const out = rise.slice();
  out[columns.sensor] += 1;
  out[columns.power] += power_W * joint.slope_K_per_W[t];
  out[columns.pasteOf.get(session) ?? PASTE] += joint.loading_W[t];
  return out;
}

/**
 * Effect of each shared error on a reading on the heater: those of the heater bench less what they have done to its curve, nothing of
 * the chip's own.
 */
function errorsOnHeater(
  posterior: BenchPosterior,
  columns: TermColumns,
  joint: RiseMoments,
  point: RisePoint,
  t: number,
): Float64Array {
  const out = new Float64Array(columns.count);
  out.set(sensitivities(posterior, joint, point, t).run.map((slope) => -slope));
  return out;
}

/**
 * The effects on a true rise with the batch of paste in it that the runs were done with, and with what another batch differs by. A batch
 * that no run shows is left out.
 */
function withPaste({ columns, presentSession, runs }: SourceTerm, rise: Float64Array, loading_W: number) {
  const out = rise.slice();
  const batch = columns.pasteOf.get(presentSession) ?? PASTE;
  if (batch === PASTE || runs.length > 0) out[batch] += loading_W;
  out[OTHER_PASTE] = loading_W;
  return out;
}

/** A point on a chip given the runs there, its error in independent standard normal ones. */
export interface ChipRise {
  readonly mean_K: number;
  /** Expected reading of a fresh run, K. */
  readonly reading_K: number;
  /** Of the true rise and of a reading, fresh scatters apart, S + n. */
  readonly errors: Float64Array;
  readonly readingErrors: Float64Array;
  /** Effect of the runs' own errors on this cooler's rise before they are known, n. */
  readonly own: Float64Array;
  /** Variance before the chip's runs, shared errors apart, K². */
  readonly before_K2: number;
}

/** Rises of one cooler at some points on a chip. */
export interface ChipRises {
  /** Before the chip's runs. */
  readonly joint: RiseMoments;
  readonly rises: readonly ChipRise[];
  /** Covariance of what is neither the shared errors' nor the chip's runs', T × T. */
  readonly alone: Float64Array;
}

/**
 * Rises of one cooler on a chip given the heater's runs and the chip's: the heater's curve with the term in series, its error a sum of
 * the shared errors, of the runs' own and of what is this cooler's alone.
 *
 * A cooler's own runs on the chip hold its curve's error and the difference of its term from the others': the part of its
 * rise that goes with them is written in the independent errors of which the runs' own are made (L·ε for a covariance L·Lᵀ,
 * so the part is (L⁻¹k)ᵀε with k the covariance with the runs). Runs and rises are then sums of the same errors and
 * what the runs say is `givenReadings`. A point that is a reading on the heater hangs together with the others by the curve alone.
 */
export function chipRises(
  posterior: BenchPosterior,
  term: SourceTerm,
  cooler: CoolerPosterior,
  points: readonly RisePoint[],
): ChipRises {
  const { columns, uncertainty, runs, ownFactor } = term;
  const name = cooler.data.cooler.cooler;
  const own = runs.flatMap((run, i) => (run.cooler === name ? [i] : []));
  const all = [...points, ...own.map((i) => runs[i].point)];
  const joint = riseMoments(cooler, jointRises(posterior, cooler, all, { want: 'covariance' }));
  const size = all.length;
  const n = runs.length;
  const between = term.coolerVariance.get(name) ?? 0;
  /** Heat through the chip's term, W: none where the run is on the heater. */
  const throughTerm = (t: number) => (all[t].onHeater ? 0 : joint.loading_W[t]);
  const scaled = (errors: Float64Array, white: Float64Array): Float64Array => {
    const out = new Float64Array(columns.count + n);
    for (let k = 0; k < columns.count; k++) out[k] = errors[k] * uncertainty[k];
    out.set(white, columns.count);
    return out;
  };
  const rises = points.map((point, t): ChipRise => {
    const white = new Float64Array(n);
    own.forEach((i, k) => {
      const s = points.length + k;
      white[i] = joint.covariance[t * size + s] + between * throughTerm(t) * throughTerm(s);
    });
    solveLower(ownFactor, n, white);
    const ofRise = errorsOfRise(term, cooler, joint, t);
    const ofReading = point.onHeater
      ? errorsOnHeater(posterior, columns, joint, point, t)
      : errorsOfReading(columns, ofRise, joint, t, point.power_W, term.presentSession);
    const mean = term.given(scaled(withPaste(term, ofRise, joint.loading_W[t]), white));
    const reading = term.given(scaled(ofReading, white));
    return {
      mean_K: joint.mean[t] + mean.mean,
      reading_K: joint.mean[t] + reading.mean,
      errors: mean.errors,
      readingErrors: reading.errors,
      own: white,
      before_K2: joint.covariance[t * size + t] + between * throughTerm(t) ** 2,
    };
  });
  const count = points.length;
  const alone = Float64Array.from({ length: count * count }, (_, k) => {
    const [s, t] = [Math.floor(k / count), k % count];
    const before = joint.covariance[s * size + t] + between * throughTerm(s) * throughTerm(t);
    return before - dot(rises[s].own, rises[t].own);
  });
  return { joint, rises, alone };
}

/** How many independent errors the answers on a chip are made of. */
export function errorCount({ columns, runs, states }: SourceTerm): number {
  return columns.count + runs.length + (states ? Math.sqrt(states.root.length) : 0);
}
