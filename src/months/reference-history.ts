import { softmax } from '../numerics/log-weights.ts';
import type { ReferenceRuns, ReferenceSession } from './reference-runs.ts';
import { type InControlScatter, ReferenceState, type SessionShift } from './session-shift.ts';

/** What is thought of a scatter between sessions before any: its median, and the standard deviation of its logarithm. */
export interface ScatterBelief {
  readonly median: number;
  readonly logDeviation: number;
}

/** A shift as one set of scatters has it, with the chance of that set. */
export interface WeighedShift {
  readonly weight: number;
  readonly shift: SessionShift;
}

/** Standard deviations of the logarithm at which a scatter is looked at. */
const STEPS = { sensor_K: [-1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5], session_K_per_W: [-1.5, 0, 1.5] };

/**
 * The reference cooler's history while nothing drifts: what it reads, and how much sessions differ on this bench.
 *
 * How well the sensors settle and how alike paste batches are is first what common practice has, and then what the sessions show: each
 * set of the two scatters follows the history on its own and counts by how well it foresaw it (prequential weighing: Dawid
 * 1984, J. R. Statist. Soc. A 147, 278). So a new session is judged by the bench's own history, and widely while there is little of it.
 */
export class ReferenceHistory {
  private readonly nodes: { scatter: InControlScatter; state: ReferenceState; log: number }[];
  /** What each session learnt added to ln of the nodes' chances. */
  private readonly told = new Map<ReferenceSession, number[]>();

  /**
   * @param between  beliefs; without spread the scatter is known
   * @param before  a history of the same sessions that is complete: each is then judged by all others that were in control
   */
  constructor(
    private readonly reference: ReferenceRuns,
    private readonly within: Pick<InControlScatter, 'mount_K_per_W' | 'reading_K'>,
    private readonly between: { sensor_K: ScatterBelief; session_K_per_W: ScatterBelief },
    private readonly before?: ReferenceHistory,
  ) {
    const steps = (key: keyof typeof between) => {
      const { median, logDeviation } = between[key];
      return (logDeviation > 0 ? STEPS[key] : [0]).map((z) => ({
        value: median * Math.exp(logDeviation * z),
        log: -0.5 * z * z,
      }));
    };
    this.nodes = steps('sensor_K').flatMap((sensor) =>
      steps('session_K_per_W').map((paste) => {
        const scatter = { ...within, sensor_K: sensor.value, session_K_per_W: paste.value };
        return { scatter, state: new ReferenceState(reference, scatter), log: sensor.log + paste.log };
      }),
    );
  }

  /** The same sessions once more, each judged by all the others. */
  again(): ReferenceHistory {
    return new ReferenceHistory(this.reference, this.within, this.between, this);
  }

  /** Shift of a session under every set of scatters; none where no earlier session ran a condition with heat. */
  shiftOf(session: ReferenceSession): WeighedShift[] {
    const weights = this.before ? this.before.weights(session) : this.weights();
    return this.nodes.flatMap(({ state }, k) => {
      const shift = state.shiftOf(session);
      return shift ? [{ weight: weights[k], shift }] : [];
    });
  }

  /** Takes a session that is in control into the history. */
  learn(session: ReferenceSession): void {
    const told = this.nodes.map(({ state }) => state.learn(session));
    told.forEach((log, k) => {
      this.nodes[k].log += log;
    });
    this.told.set(session, told);
  }

  /** The scatters as the history leaves them: geometric means. */
  scatter(): InControlScatter {
    const weights = this.weights();
    const mean = (key: 'sensor_K' | 'session_K_per_W') =>
      Math.exp(this.nodes.reduce((sum, { scatter }, k) => sum + weights[k] * Math.log(scatter[key]), 0));
    return { ...this.nodes[0].scatter, sensor_K: mean('sensor_K'), session_K_per_W: mean('session_K_per_W') };
  }

  /** Chances of the nodes, with what one session told of them left out. */
  private weights(without?: ReferenceSession): number[] {
    const own = without && this.told.get(without);
    return softmax(this.nodes.map(({ log }, k) => log - (own?.[k] ?? 0)));
  }
}
