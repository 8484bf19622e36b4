import type { Bench } from '../bench/bench.ts';
import { type BenchPosterior, benchPosterior } from './bench-posterior.ts';
import { modelsOf } from './models-of.ts';

const known = new WeakMap<Bench, Map<string, BenchPosterior>>();

/** The posterior of a bench on a source, computed once for a bench that is asked again. */
export function posteriorOf(bench: Bench, source = 'heater'): BenchPosterior {
  let bySource = known.get(bench);
  if (!bySource) {
    bySource = new Map();
    known.set(bench, bySource);
  }
  let posterior = bySource.get(source);
  if (!posterior) {
    posterior = benchPosterior(bench, modelsOf(bench), source);
    bySource.set(source, posterior);
  }
  return posterior;
}
