import type { Bench, Run } from '../bench/bench.ts';
import { groupedBy } from '../bench/grouped.ts';
import { smallest } from '../numerics/extremes.ts';

/** A stretch of bench work with one paste batch and one sensor state. */
export interface Session {
  /** The name in the file; empty where the runs name none. */
  readonly session: string;
  readonly runs: readonly Run[];
}

/**
 * The sessions of a bench in order of time: by the earliest `started` where every session has one, otherwise in the order
 * in which the file first names them.
 */
export function sessionsOf(bench: Bench): Session[] {
  const byName = groupedBy(bench.runs, (run) => run.session ?? '');
  const sessions = Array.from(byName, ([session, runs]) => ({ session, runs, first: earliest(runs) }));
  if (sessions.every(({ first }) => first !== undefined)) {
    sessions.sort((a, b) => (a.first as number) - (b.first as number));
  }
  return sessions.map(({ session, runs }) => ({ session, runs }));
}

function earliest(runs: readonly Run[]): number | undefined {
  const times = runs.flatMap((run) => (run.started === undefined ? [] : [Date.parse(run.started)]));
  const finite = times.filter(Number.isFinite);
  return finite.length > 0 ? smallest(finite) : undefined;
}
