import type { BenchPosterior } from '../posterior/bench-posterior.ts';
import { type CoolerRuns, offsetUncertainty } from '../posterior/cooler-runs.ts';
import { SESSION } from '../posterior/scatter.ts';
import { effectOn } from '../posterior/session-effects.ts';

/** What the sessions of a cooler's runs add to their readings. */
export interface SessionShifts {
  /** As far as the bench knows it, K. */
  readonly shift_K: Float64Array;
  /** Covariance of what it does not know, n × n, K². */
  readonly covariance: Float64Array;
}

/**
 * The state of the sensors and of the paste in the sessions of these runs.
 *
 * A mount of another session is not strange for what that session did to every reading. The fit has learnt that from the coolers that
 * were run in several sessions and has taken it off; whoever judges runs by the fitted curve has to take it off as well, and to allow for
 * what is left unknown of it. A session that the fit has not seen, all its runs being set aside, is known by its instruments alone.
 *
 * @param clean  posterior of the bench
 * @param data  runs of one cooler with their rises as read
 */
export function sessionShifts(clean: BenchPosterior, data: CoolerRuns): SessionShifts {
  const { runs, base_W } = data;
  const { sessionEffects: effects } = clean;
  const n = runs.length;
  const shift_K = new Float64Array(n);
  const covariance = new Float64Array(n * n);
  const known = runs.map((run) => (effects ? clean.sessions.indexOf(run.session) : -1));
  if (!effects && new Set([...clean.sessions, ...runs.map((run) => run.session)]).size < 2)
    return { shift_K, covariance };
  const half = effects?.offset_K.length ?? 0;
  const size = 2 * half;
  const paste = clean.scatter.sigma[SESSION] ** 2;
  /** Root of the errors left, as they stand in one reading. */
  const rows = known.map((k, i) => {
    const row = new Float64Array(size);
    if (!effects || k < 0) return row;
    shift_K[i] = effectOn(effects, k, base_W[i]);
    for (let z = 0; z < size; z++) {
      row[z] = effects.root[k * size + z] + base_W[i] * effects.root[(half + k) * size + z];
    }
    return row;
  });
  for (let i = 0; i < n; i++) {
    const own = known[i] < 0 ? offsetUncertainty(clean.bench, clean.source, runs[i].session) ** 2 : 0;
    for (let j = 0; j < n; j++) {
      let value = 0;
      for (let z = 0; z < size; z++) value += rows[i][z] * rows[j][z];
      if (known[i] < 0 && runs[i].session === runs[j].session) value += own + paste * base_W[i] * base_W[j];
      covariance[i * n + j] = value;
    }
  }
  return { shift_K, covariance };
}
