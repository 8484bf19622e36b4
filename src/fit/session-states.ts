import type { Bench } from '../bench/bench.ts';
import { connected } from '../bench/grouped.ts';
import { sourceOf } from '../bench/source.ts';
import { cholesky, submatrix } from '../numerics/matrix.ts';
import type { SharedEffects } from '../numerics/reml.ts';
import type { Columns } from '../numerics/split-covariance.ts';
import { SESSION } from './components.ts';
import { offsetOn } from './cooler-runs.ts';
import { assumedScatter, type ScatterPart } from './scatter.ts';
import {
  effectOn,
  estimateSessionEffects,
  priorSessionEffects,
  type SessionEffects,
  takeOff,
} from './session-effects.ts';
import { bestCurve, type Work } from './work.ts';

/** The sessions of a bench while curves and scatters settle: their effects are taken off the runs' rises as they get known. */
export class SessionStates {
  effects: SessionEffects;
  /** Whether any cooler was run in more than one session. */
  readonly meet: boolean;
  /** Covariance of the sessions' errors as far as no scatter between sessions is in it, 2S × 2S. */
  readonly #stated: Float64Array;
  readonly #sessionOf = new Map<Work, number[]>();
  /** The rises before any effect was taken off. */
  readonly #rises = new Map<Work, Float64Array>();

  constructor(
    bench: Bench,
    source: string,
    sessions: readonly (string | undefined)[],
    works: readonly Work[],
  ) {
    for (const work of works) {
      this.#rises.set(work, work.data.rise_K.slice());
      this.#sessionOf.set(
        work,
        work.data.runs.map((run) => sessions.indexOf(run.session)),
      );
    }
    this.meet = [...this.#sessionOf.values()].some((list) => new Set(list).size > 1);
    this.#stated = statedErrors(bench, source, sessions);
    this.effects = priorSessionEffects(withPaste(this.#stated, assumedScatter().sigma[SESSION]));
  }

  /**
   * The coolers' parts in the scatters with the sessions' effects left in, as the session's own scatter has to see them.
   *
   * A session's state is one for all coolers run in it: ten coolers run in two sessions tell how far apart those two are, and of the scatter
   * between sessions no more than two sessions can. So the states are effects that the coolers of several sessions share; on a cooler of one
   * session they are no more than an uncertainty of all its runs.
   */
  asRead(
    works: readonly Work[],
    parts: readonly ScatterPart[],
    paste_K_per_W: number,
  ): { parts: ScatterPart[]; shared: SharedEffects | undefined } {
    const columns = Math.sqrt(this.#stated.length);
    const half = columns / 2;
    const states = withPaste(this.#stated, paste_K_per_W);
    const designs = works.map((work) => this.#designOf(work, columns));
    const read = parts.map((part, c): ScatterPart => {
      const session = this.#sessionOf.get(works[c]) as number[];
      const residual_K = part.residual_K.map(
        (r, i) => r + effectOn(this.effects, session[i], works[c].data.base_W[i]),
      );
      const isTied = new Set(session).size > 1;
      return {
        ...part,
        residual_K,
        ...(isTied ? {} : { sessionState: stateFactor(works[c].data.base_W, states, session[0]) }),
      };
    });
    if (!this.meet) return { parts: read, shared: undefined };
    const scaled = Array.from({ length: half }, (_, k) => half + k);
    const shared: SharedEffects = {
      columns,
      designs: designs.map((design, c) => (read[c].sessionState ? undefined : design)),
      known: this.#stated,
      component: SESSION,
      scaled,
    };
    return { parts: read, shared };
  }

  /** What a reader of any difference across sessions has to know: sessions that nothing ties, and sessions that stand apart. */
  warnings(sessions: readonly (string | undefined)[]): string[] {
    const name = (k: number) => sessions[k] || 'without a name';
    const groups = connected(this.#sessionOf.values());
    const untied =
      groups.length > 1
        ? [
            `no cooler ties these sessions to each other: ${groups.map((group) => group.map(name).join(', ')).join(' | ')}; differences across them rest on the calibration of the sensors and the usual scatter of paste`,
          ]
        : [];
    const apart = (this.effects.apart ?? []).map(
      ({ session, shift_K_per_W }) =>
        `session ${name(session)} lies ${Math.abs(shift_K_per_W).toFixed(3)} K/W ${shift_K_per_W > 0 ? 'above' : 'below'} the others, more than sessions usually differ: a cooler that ties it may be badly fitted, or the session is off. Differences across it allow for both; fit that cooler again in that session`,
    );
    return [...untied, ...apart];
  }

  /** What one unit of each session's offset and resistance adds to each run of a cooler, n × 2S. */
  #designOf(work: Work, columns: number): Float64Array {
    const session = this.#sessionOf.get(work) as number[];
    const design = new Float64Array(session.length * columns);
    session.forEach((k, i) => {
      design[i * columns + k] = 1;
      design[i * columns + columns / 2 + k] = work.data.base_W[i];
    });
    return design;
  }

  /** New estimates of the effects; they are taken off the runs' rises. */
  renew(works: readonly Work[], paste_K_per_W: number): void {
    const parts = works.map((work) => ({
      data: work.data,
      posterior: bestCurve(work),
      covariance: work.covariance,
      session: this.#sessionOf.get(work) as number[],
    }));
    const usual = Math.min(paste_K_per_W, assumedScatter().sigma[SESSION]);
    this.effects = estimateSessionEffects(
      parts,
      withPaste(this.#stated, paste_K_per_W),
      withPaste(this.#stated, usual),
      this.effects,
    );
    for (const work of works) {
      takeOff(
        work.data,
        this.#rises.get(work) as Float64Array,
        this.#sessionOf.get(work) as number[],
        this.effects,
      );
    }
  }
}

/**
 * Covariance of the sessions' offsets and resistances from what is stated of them: the sensors of each on its own, a chip's
 * sensor in all alike, and what a bridge from another procedure leaves open, which all sessions carried over it have in
 * common.
 *
 * A bridge is one step or several, and each has its own error. Where coolers run on this source made a step, their runs are
 * here to say how far apart its sides are, and the step must not say it a second time: then what is thought of it before
 * its runs stands here. Else it is what the step leaves open.
 */
function statedErrors(bench: Bench, source: string, sessions: readonly (string | undefined)[]): Float64Array {
  const half = sessions.length;
  const size = 2 * half;
  const out = new Float64Array(size * size);
  const common = sourceOf(bench, source).sensor_common_K ** 2;
  sessions.forEach((session, k) => {
    for (let other = 0; other < half; other++) out[k * size + other] = common;
    out[k * size + k] = Math.max(offsetOn(bench, source, session).u_K ** 2, common * (1 + 1e-6) + 1e-12);
  });
  for (const { sessions: carried, sources, before, after } of bench.carriedOver ?? []) {
    const own = sessions.flatMap((session, k) => (carried.includes(session ?? '') ? [k] : []));
    const { offset_K, resistance_K_per_W, covariance } = sources.includes(source) ? before : after;
    for (const a of own) {
      for (const b of own) {
        out[a * size + b] += offset_K ** 2;
        out[a * size + half + b] += covariance;
        out[(half + a) * size + b] += covariance;
        out[(half + a) * size + half + b] += resistance_K_per_W ** 2;
      }
    }
  }
  return out;
}

/** Factor of what the offset and the paste of one session add to a cooler's runs, n × 2. */
function stateFactor(base_W: Float64Array, states: Float64Array, session: number): Columns {
  const size = Math.sqrt(states.length);
  const root = submatrix(states, size, [session, size / 2 + session]);
  cholesky(root, 2);
  const z = new Float64Array(base_W.length * 2);
  base_W.forEach((heat, i) => {
    z[2 * i] = root[0] + heat * root[2];
    z[2 * i + 1] = heat * root[3];
  });
  return { z, columns: 2 };
}

/** Covariance of the sessions' errors with the scatter of the paste between them. */
function withPaste(stated: Float64Array, paste_K_per_W: number): Float64Array {
  const size = Math.sqrt(stated.length);
  const out = stated.slice();
  for (let k = size / 2; k < size; k++) out[k * size + k] += paste_K_per_W ** 2;
  return out;
}
