import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { sharedErrorCount } from '../fit/shared-error-order.ts';
import type { Gaussian } from '../numerics/gaussian.ts';
import { addGram } from '../numerics/matrix.ts';
import { chipRises, errorCount } from './chip-rises.ts';
import { jointRises, riseMoments } from './joint-rises.ts';
import type { RisePoint } from './rise-point.ts';
import { sensitivities } from './sensitivities.ts';

/** Points of one cooler: where its true rise is asked for, and where a reading may be taken (scatters as the points say). */
export interface CoolerPoints {
  readonly cooler: CoolerPosterior;
  readonly rises: readonly RisePoint[];
  readonly readings: readonly RisePoint[];
}

/** Rises and readings of several coolers, cooler by cooler, the rises of each before its readings. */
export interface BenchRises extends Gaussian {
  /** ∂rise/∂(series resistance) of each, W. */
  readonly loading_W: Float64Array;
  /** Effect on each estimate of the errors that no further run tells of, size × `errors`; on a chip there are none. */
  readonly sensitivity: Float64Array;
  readonly errors: number;
}

/**
 * True rises and readings of several coolers as one Gaussian, given the runs there are.
 *
 * On the heater the coolers are independent but for errors that further runs do not tell of, which are left out here as
 * they are in the fit. On a chip they hang together by its term, its sensor, power figure and leak and by the runs done, so
 * that a run of one cooler tells of the others; all of that is here.
 */
export function benchRises(posterior: BenchPosterior, coolers: readonly CoolerPoints[]): BenchRises {
  const { term } = posterior;
  const blocks = coolers.map(({ cooler, rises, readings }) => {
    const points = [...rises, ...readings];
    if (!term) {
      const joint = riseMoments(cooler, jointRises(posterior, cooler, points, { want: 'covariance' }));
      const sensitivity = points.map((point, t) => {
        const { mean, run } = sensitivities(posterior, joint, point, t);
        return t < rises.length ? mean : run;
      });
      return { mean: joint.mean, own: joint.covariance, errors: [], sensitivity, loading_W: joint.loading_W };
    }
    const chip = chipRises(posterior, term, cooler, points);
    const isReading = (t: number) => t >= rises.length;
    return {
      mean: chip.rises.map(({ mean_K, reading_K }, t) => (isReading(t) ? reading_K : mean_K)),
      own: chip.alone,
      errors: chip.rises.map(({ errors, readingErrors }, t) => (isReading(t) ? readingErrors : errors)),
      sensitivity: [],
      loading_W: chip.joint.loading_W.subarray(0, points.length),
    };
  });
  const size = blocks.reduce((sum, { mean }) => sum + mean.length, 0);
  const mean = new Float64Array(size);
  const loading_W = new Float64Array(size);
  const shared = term ? errorCount(term) : 0;
  const errors = new Float64Array(size * shared);
  const standing = term ? 0 : sharedErrorCount(posterior.sessions);
  const sensitivity = new Float64Array(size * standing);
  const covariance = new Float64Array(size * size);
  let first = 0;
  for (const block of blocks) {
    const count = block.mean.length;
    mean.set(block.mean, first);
    loading_W.set(block.loading_W, first);
    block.errors.forEach((row, t) => {
      errors.set(row, (first + t) * shared);
    });
    block.sensitivity.forEach((row, t) => {
      sensitivity.set(row, (first + t) * standing);
    });
    for (let s = 0; s < count; s++) {
      for (let t = 0; t < count; t++) covariance[(first + s) * size + first + t] = block.own[s * count + t];
    }
    first += count;
  }
  const all = addGram(covariance, errors, size, shared);
  return { mean, covariance: all, loading_W, sensitivity, errors: standing };
}
