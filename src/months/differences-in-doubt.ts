import type { Bench } from '../bench/bench.ts';
import { connected, groupedBy } from '../bench/grouped.ts';
import { listed } from '../bench/wording.ts';
import type { Pair } from '../compare/comparison.ts';
import type { BenchPosterior } from '../fit/bench-posterior.ts';

/** Differences that rest on sessions whose readings are in doubt. */
export interface SessionDoubt {
  /** Sessions in which the reference cooler's control chart is out of control and that a difference rests on. */
  out_of_control: string[];
  /** Sessions in groups that no cooler ties to each other, where a difference rests on that; else empty. */
  untied: string[][];
  /** The pairs concerned: by which sessions out of control, whether across untied ones, and whether the test tells them apart at any load. */
  pairs: { a: string; b: string; out_of_control: string[]; untied: boolean; resolved: boolean }[];
  verdict: string;
}

/** A difference rests on a session where the two coolers have shares of their runs in it that differ by more than this (an assumption). */
const RESTS_ON_SHARE = 0.05;

/**
 * Which differences rest on sessions whose readings are in doubt: those in which the control chart of the reference cooler is out
 * of control, and those that no cooler run in two of them ties.
 *
 * What a session does to all its readings cancels between two coolers that were run in it alike. So a difference rests on a session
 * out of control where the two have unequal shares of their runs in it, and on untied sessions where no session of the one hangs
 * together with one of the other.
 *
 * @param asked  the runs asked for, before they were carried over to one procedure: their sessions have the names in the file
 * @param posterior  what the pairs were compared by
 * @param out  sessions out of control, see {@link sessionsOutOfControl}
 * @returns undefined where nothing is in doubt
 */
export function sessionDoubt(
  asked: Bench,
  posterior: BenchPosterior,
  pairs: readonly Pair[],
  out: readonly string[],
): SessionDoubt | undefined {
  const sessions = posterior.sessions.map((session) => session ?? '');
  const runsOf = new Map(
    posterior.coolers.map(({ data }) => [data.cooler.cooler, data.runs.map((run) => run.session ?? '')]),
  );
  const islands = connected(Array.from(runsOf.values(), (own) => own.map((name) => sessions.indexOf(name))));
  const named = new Map(asked.runs.map((run) => [run.run, run.session ?? '']));
  const shares = new Map(
    posterior.coolers.map(({ data }) => {
      const own = groupedBy(data.runs, (run) => named.get(run.run) ?? run.session ?? '');
      return [data.cooler.cooler, (name: string) => (own.get(name)?.length ?? 0) / data.runs.length];
    }),
  );
  const islandOf = (cooler: string) =>
    islands.findIndex((island) => island.some((k) => runsOf.get(cooler)?.includes(sessions[k])));
  const doubtful = pairs.flatMap(({ a, b, resolved }): SessionDoubt['pairs'] => {
    const shareOf = (cooler: string, name: string) => shares.get(cooler)?.(name) ?? 0;
    const on = out.filter((name) => Math.abs(shareOf(a, name) - shareOf(b, name)) > RESTS_ON_SHARE);
    const untied = islandOf(a) !== islandOf(b);
    if (on.length === 0 && !untied) return [];
    return [{ a, b, out_of_control: on, untied, resolved: resolved.length > 0 }];
  });
  if (doubtful.length === 0) return undefined;
  const untied = doubtful.some((pair) => pair.untied)
    ? islands.map((island) => island.map((k) => sessions[k]))
    : [];
  const outOfControl = out.filter((name) => doubtful.some((pair) => pair.out_of_control.includes(name)));
  const doubt = { out_of_control: outOfControl, untied, pairs: doubtful };
  return { ...doubt, verdict: verdictOf(doubt, asked.reference_cooler ?? '', pairs.length) };
}

const sessionName = (session: string): string => session || 'without a name';

/** The doubt in sentences. */
function verdictOf(
  { out_of_control, untied, pairs }: Omit<SessionDoubt, 'verdict'>,
  reference: string,
  all: number,
): string {
  const resting = (own: readonly SessionDoubt['pairs'][number][]): string => {
    const told = own.filter((pair) => pair.resolved).length;
    const many =
      all === 1
        ? 'the difference rests'
        : `${own.length} of the ${all} differences ${own.length === 1 ? 'rests' : 'rest'}`;
    const of =
      own.length === 1
        ? 'it is'
        : `${told === own.length ? 'all' : told} of them ${told === 1 ? 'is' : 'are'}`;
    return `${many} on that${told > 0 ? `, and ${of} told apart only as far as that holds` : ''}`;
  };
  const sentences: string[] = [];
  if (out_of_control.length > 0) {
    const names = out_of_control.map(sessionName);
    const list = listed(names, 'and');
    const own = pairs.filter((pair) => pair.out_of_control.length > 0);
    sentences.push(
      `${reference} was out of control in ${names.length === 1 ? 'session' : 'sessions'} ${list}: ${resting(own)}. Find the cause before this goes on a chart.`,
    );
  }
  if (untied.length > 0) {
    const groups = untied.map((group) => group.map(sessionName).join(', ')).join(' | ');
    const own = pairs.filter((pair) => pair.untied);
    sentences.push(
      `No cooler was run in two of these sessions: ${groups}. How sensors and paste differ between them is then only assumed; ${resting(own)}. Run one cooler in all of them.`,
    );
  }
  return sentences.join(' ');
}
