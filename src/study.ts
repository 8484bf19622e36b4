/** What follows from something that is never changed and is worked out once for it, by name. */
export class Study {
  private readonly kept = new Map<string, unknown>();

  /** What `find` gives, found at the first time of asking; a fault is not kept. */
  once<T>(name: string, find: () => T): T {
    if (!this.kept.has(name)) this.kept.set(name, find());
    return this.kept.get(name) as T;
  }
}

/** The one place that knows which study belongs to what; a study lives as long as that does. */
const studies = new WeakMap<object, Study>();

/**
 * The study of a bench, or of a part of one: its list of logs, a cooler's posterior, a law of fan sound. None of them is ever changed, only
 * copied, so whatever was found of it holds; a copy with other runs has a study of its own.
 *
 * @example studyOf(bench).once('greatest load', () => Math.max(...bench.runs.map((run) => run.power_W)))
 */
export function studyOf(of: object): Study {
  let study = studies.get(of);
  if (!study) {
    study = new Study();
    studies.set(of, study);
  }
  return study;
}
