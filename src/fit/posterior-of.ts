import type { Bench } from '../bench/bench.ts';
import { studyOf } from '../study.ts';
import { type BenchPosterior, benchPosterior } from './bench-posterior.ts';
import { modelsOf } from './models-of.ts';

/**
 * The posterior of a bench on a source, computed once for a bench that is asked again.
 *
 * @param onProgress  as for `benchPosterior`
 */
export function posteriorOf(
  bench: Bench,
  source = 'heater',
  onProgress?: (done: number, total: number) => void,
): BenchPosterior {
  return studyOf(bench).once(`fit ${source}`, () =>
    benchPosterior(bench, modelsOf(bench), source, onProgress),
  );
}
