import type { Bench, LogEntry, Run } from '../bench/bench.ts';
import { optionalNumberNames, optionalRunTexts } from '../bench/runs-table.ts';

/** Rows of runs.csv after a reduction, and the rows of before that are not among them. */
export interface MergedRuns {
  rows: Run[];
  /** Rows that the reduction would drop, each with the run that takes its place where there is one. */
  lost: { row: Run; by?: Run }[];
}

/**
 * Rows of runs.csv after a reduction: those that people typed stay as and where they are, those that logs made are
 * replaced, new ones follow at the end.
 *
 * A row was made by a log when its column `log` names one of the index and its run is that log's. Every other row counts as typed. What
 * was typed onto a row that a log made (a note, a torque) stays on it where neither log nor index says anything of it.
 *
 * Lost are: a typed row whose run a log makes too, unless it says the same; and a row made by a log that no longer makes it.
 * A row without an id of its own is never lost, it only gets another line's name.
 *
 * @param bench  as read, its runs those of runs.csv
 * @param made  of `reducedRuns` with the same bench
 */
export function mergeRuns(bench: Bench, made: readonly Run[]): MergedRuns {
  const fresh = new Map(made.map((run) => [run.run, run]));
  const taken = new Set([...fresh.keys(), ...bench.runs.map((run) => run.run)]);
  const indexed = new Set(bench.logs.flatMap((entry) => Object.keys(entry.extra)));
  const entries = new Map(bench.logs.map((entry) => [entry.log, entry]));
  const rows: Run[] = [];
  const lost: MergedRuns['lost'] = [];
  for (const run of bench.runs) {
    const by = fresh.get(run.run);
    if (madeBy(entries.get(run.log ?? ''), run)) {
      if (by === undefined) lost.push({ row: run });
      else rows.push(withTyped(by, run, indexed));
    } else if (by === undefined) {
      rows.push(run);
      continue;
    } else if (run.unnamed) {
      rows.push({ ...run, run: freeName(run.run, taken) });
      continue;
    } else {
      if (cellsOf(run) !== cellsOf(by)) lost.push({ row: run, by });
      rows.push(by);
    }
    fresh.delete(run.run);
  }
  return { rows: [...rows, ...fresh.values()], lost };
}

function madeBy(entry: LogEntry | undefined, { run }: Run): boolean {
  if (entry === undefined || !run.startsWith(entry.run)) return false;
  return /^(\.\d+)?$/.test(run.slice(entry.run.length));
}

/** A row of a log with what a person added to it. */
function withTyped(made: Run, old: Run, indexed: ReadonlySet<string>): Run {
  const typed = [...optionalRunTexts, ...optionalNumberNames].filter(
    (name) => made[name] === undefined && old[name] !== undefined && !indexed.has(name),
  );
  const extra = Object.entries(old.extra).filter(
    ([name]) => !Object.hasOwn(made.extra, name) && !indexed.has(name),
  );
  return {
    ...made,
    ...Object.fromEntries(typed.map((name) => [name, old[name]])),
    extra: { ...made.extra, ...Object.fromEntries(extra) },
  };
}

/** What a row says, its place and its log apart. */
function cellsOf({ line: _line, log: _log, extra, ...cells }: Run): string {
  const said = Object.entries({ ...extra, ...cells }).filter(
    ([, value]) => value !== undefined && value !== '',
  );
  return JSON.stringify(said.sort(([a], [b]) => (a < b ? -1 : 1)));
}

function freeName(name: string, taken: Set<string>): string {
  let free = name;
  for (let n = 2; taken.has(free); n++) free = `${name}-${n}`;
  taken.add(free);
  return free;
}
