import type { Bench } from '../bench/bench.ts';
import { studyOf } from '../study.ts';
import type { Readings } from './readings.ts';
import { type ReduceOptions, type ReduceResult, reduceWith } from './reduce.ts';
import type { StepResult } from './reduce-log.ts';

/**
 * The logs of a bench reduced in the usual way, once for the bench and its copies.
 *
 * @param onProgress  called after each log, where they have not been reduced before
 * @throws BenchError as `reduce`
 */
export function reductionOf(bench: Bench, onProgress?: ReduceOptions['onProgress']): ReduceResult {
  return reductionWith(bench, onProgress).result;
}

/** What the logs of a bench tell together of noise and air. */
export const readingsOf = (bench: Bench): Readings => reductionWith(bench).readings;

/** The response of each run of the reduction, in its order. */
export const stepsOf = (bench: Bench): StepResult[] => reductionWith(bench).steps;

const reductionWith = (bench: Bench, onProgress?: ReduceOptions['onProgress']) =>
  studyOf(bench.logs).once('reduction', () => reduceWith(bench, { onProgress }));
