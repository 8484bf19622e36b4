import type { BenchPosterior } from '../fit/bench-posterior.ts';
import { SESSION } from '../fit/components.ts';
import { type CoolerRuns, offsetOn } from '../fit/cooler-runs.ts';
import { effectOn } from '../fit/session-effects.ts';
import { rootOf } from '../numerics/matrix.ts';
import type { Columns } from '../numerics/split-covariance.ts';

/** What the sessions of a cooler's runs add to their readings. */
export interface SessionShifts {
  /** As far as the bench knows it, K. */
  readonly shift_K: Float64Array;
  /** Factor of the covariance of what it does not know. */
  readonly unknown: Columns;
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
  const names = [...new Set(runs.map((run) => run.session))];
  if (!effects && new Set([...clean.sessions, ...names]).size < 2)
    return { shift_K, unknown: { z: new Float64Array(0), columns: 0 } };
  const half = effects?.offset_K.length ?? 0;
  const size = 2 * half;
  const paste = clean.scatter.sigma[SESSION] ** 2;
  const known = names.map((name) => (effects ? clean.sessions.indexOf(name) : -1));
  // Offsets and then pastes of the sessions of these runs.
  const own = names.length;
  const covariance = new Float64Array(4 * own * own);
  known.forEach((k, a) => {
    if (!effects || k < 0) {
      covariance[a * (2 * own + 1)] = offsetOn(clean.bench, clean.source, names[a]).u_K ** 2;
      covariance[(own + a) * (2 * own + 1)] = paste;
      return;
    }
    const { root } = effects;
    known.forEach((l, b) => {
      if (l < 0) return;
      for (const [s, t] of [
        [0, 0],
        [0, 1],
        [1, 0],
        [1, 1],
      ]) {
        let sum = 0;
        for (let z = 0; z < size; z++)
          sum += root[(s * half + k) * size + z] * root[(t * half + l) * size + z];
        covariance[(s * own + a) * 2 * own + t * own + b] = sum;
      }
    });
  });
  const factor = rootOf(covariance, 2 * own);
  const z = new Float64Array(n * 2 * own);
  runs.forEach((run, i) => {
    const a = names.indexOf(run.session);
    if (effects && known[a] >= 0) shift_K[i] = effectOn(effects, known[a], base_W[i]);
    for (let c = 0; c < 2 * own; c++) {
      z[i * 2 * own + c] = factor[a * 2 * own + c] + base_W[i] * factor[(own + a) * 2 * own + c];
    }
  });
  return { shift_K, unknown: { z, columns: 2 * own } };
}
