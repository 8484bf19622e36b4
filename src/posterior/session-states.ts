import type { Bench } from '../bench/bench.ts';
import { offsetUncertainty } from './cooler-runs.ts';
import { assumedScatter, type ScatterPart, SESSION } from './scatter.ts';
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
  private readonly offset_K: readonly number[];
  private readonly sessionOf = new Map<Work, number[]>();
  /** The rises before any effect was taken off. */
  private readonly rises = new Map<Work, Float64Array>();

  constructor(
    bench: Bench,
    source: string,
    sessions: readonly (string | undefined)[],
    works: readonly Work[],
  ) {
    this.offset_K = sessions.map((session) => Math.max(offsetUncertainty(bench, source, session), 1e-6));
    this.effects = priorSessionEffects(this.offset_K, assumedScatter().sigma[SESSION]);
    for (const work of works) {
      this.rises.set(work, work.data.rise_K.slice());
      this.sessionOf.set(
        work,
        work.data.runs.map((run) => sessions.indexOf(run.session)),
      );
    }
    this.meet = [...this.sessionOf.values()].some((list) => new Set(list).size > 1);
  }

  /** A cooler's part in the scatters with the sessions' effects left in, as the session's own scatter has to see them. */
  asRead(work: Work, part: ScatterPart): ScatterPart {
    const session = this.sessionOf.get(work) as number[];
    const n = session.length;
    const sensorStates = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) {
        if (session[i] === session[j]) sensorStates[i * n + j] = this.offset_K[session[i]] ** 2;
      }
    }
    const residual_K = part.residual_K.map(
      (r, i) => r + effectOn(this.effects, session[i], work.data.base_W[i]),
    );
    return { ...part, residual_K, sensorStates };
  }

  /** New estimates of the effects; they are taken off the runs' rises. */
  renew(works: readonly Work[], paste_K_per_W: number): void {
    const parts = works.map((work) => ({
      data: work.data,
      posterior: bestCurve(work),
      inverse: work.inverse,
      session: this.sessionOf.get(work) as number[],
    }));
    this.effects = estimateSessionEffects(parts, this.offset_K, paste_K_per_W, this.effects);
    for (const work of works) {
      takeOff(
        work.data,
        this.rises.get(work) as Float64Array,
        this.sessionOf.get(work) as number[],
        this.effects,
      );
    }
  }
}
