import { realpathSync, statSync } from 'node:fs';
import path from 'node:path';
import type { Growth, WatchedLog } from '../answers/options/command.ts';
import { fault } from '../answers/options/conditions.ts';
import type { Bench } from '../bench/bench.ts';
import { filesOf } from '../bench/logs-index.ts';
import { growthOf } from './follow-file.ts';

const STANDARD_INPUT = '-';

/**
 * Which log an option names: a path, or else a name in the bench's `logs/`; or two of them.
 *
 * @param isWhole  whether it has to be there already
 */
export function watchedLog(
  log: string | true | undefined,
  folder: string,
  bench: Bench,
  isWhole: boolean,
): WatchedLog {
  if (typeof log !== 'string')
    throw fault('log', 'the log is missing; give the file that the logger writes, or - for standard input');
  if (log === STANDARD_INPUT) return { name: 'standard input', places: [], entry: undefined };
  const places = filesOf(log).map((name) => ({ name, place: placeOf(name, folder) }));
  for (const { place, name } of isWhole ? places : [])
    if (!statSync(place, { throwIfNoEntry: false }))
      throw fault('log', `there is no file "${name}"; give a log that is there`);
  const real = (one: string) => {
    try {
      return realpathSync(one);
    } catch {
      return path.resolve(one);
    }
  };
  const together = (all: readonly string[]) => all.map(real).join();
  const own = together(places.map(({ place }) => place));
  const entry = bench.logs.find(
    (one) => together(filesOf(one.log).map((name) => path.join(folder, 'logs', name))) === own,
  );
  return { name: log, places, entry: entry?.log };
}

function placeOf(log: string, folder: string): string {
  const inside = path.join(folder, 'logs', log);
  const isThere = (place: string) => statSync(place, { throwIfNoEntry: false })?.isDirectory() === false;
  const place = !isThere(log) && isThere(inside) ? inside : log;
  if (!isThere(place) && !statSync(path.dirname(place), { throwIfNoEntry: false })?.isDirectory())
    throw fault('log', `there is no folder "${path.dirname(place)}"; give the file that the logger writes`);
  return place;
}

/** What is added to a log, until it ends or the signal comes. */
export function growthOfLog(
  { places }: WatchedLog,
  signal: AbortSignal,
  goesOn: boolean,
): AsyncIterable<Growth> {
  return places.length === 0 ? standardInput(signal) : growthOf(places, signal, goesOn);
}

async function* standardInput(signal: AbortSignal): AsyncGenerator<Growth, void> {
  signal.addEventListener('abort', () => process.stdin.destroy());
  try {
    for await (const bytes of process.stdin) yield { file: 0, bytes };
  } catch (error) {
    if (!signal.aborted) throw error;
  }
}

/** Does something that a person ends with Ctrl-C, or the system with a signal. */
export async function untilStopped(task: (signal: AbortSignal) => Promise<void>): Promise<void> {
  const stopping = new AbortController();
  const stop = () => stopping.abort();
  const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
  for (const name of signals) process.once(name, stop);
  try {
    await task(stopping.signal);
  } finally {
    for (const name of signals) process.off(name, stop);
  }
}
