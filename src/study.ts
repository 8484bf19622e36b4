import type { Bench } from './bench/bench.ts';

/** What follows from a bench and is worked out once for it, by name: posteriors, laws of sound, the bench on one method. */
export class Study {
  private readonly kept = new Map<string, unknown>();

  /** What `find` gives, found at the first time of asking; a fault is not kept. */
  once<T>(name: string, find: () => T): T {
    if (!this.kept.has(name)) this.kept.set(name, find());
    return this.kept.get(name) as T;
  }
}

/** The one place that knows which study belongs to which bench; it lives as long as the bench does. */
const studies = new WeakMap<Bench, Study>();

/**
 * The study of a bench. A bench is never changed, only copied, so whatever was found of it holds; a copy with other runs has
 * a study of its own.
 *
 * @example studyOf(bench).once('greatest load', () => Math.max(...bench.runs.map((run) => run.power_W)))
 */
export function studyOf(bench: Bench): Study {
  let study = studies.get(bench);
  if (!study) {
    study = new Study();
    studies.set(bench, study);
  }
  return study;
}
