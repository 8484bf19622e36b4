import type { Bench, LogEntry } from '../bench/bench.ts';
import { type ReduceOptions, type ReduceResult, reduce } from './reduce.ts';

const known = new WeakMap<readonly LogEntry[], ReduceResult>();

/**
 * The logs of a bench reduced in the usual way, once for the bench and its copies.
 *
 * @param onProgress  called after each log, where they have not been reduced before
 * @throws BenchError as `reduce`
 */
export function reductionOf(bench: Bench, onProgress?: ReduceOptions['onProgress']): ReduceResult {
  let result = known.get(bench.logs);
  if (!result) {
    result = reduce(bench, { onProgress });
    known.set(bench.logs, result);
  }
  return result;
}
