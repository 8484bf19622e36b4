import type { LogEntry } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { counted, listed, shown } from '../bench/wording.ts';
import { findLoadSteps } from './load-steps.ts';
import { BlockStore, type LogBlocks } from './log-blocks.ts';

/** One of the files of a run. */
export interface LogPart {
  readonly name: string;
  readonly log: LogBlocks;
}

export const requiredColumns = ['source_C', 'ambient_C', 'power_W', 'fan_rpm'] as const;
type Column = (typeof requiredColumns)[number];

/** The rows of the file with the source, each with what the other files read last. */
const mostBlocks = 8192;
/** A reading of another file holds for so many of its usual intervals, s at least (an assumption). */
const heldIntervals = 10;
const heldAtLeast_s = 30;

/** For how long a reading of a file holds, s. */
export const holdsFor = ({ interval_s }: Pick<LogBlocks, 'interval_s'>): number =>
  Math.max(heldAtLeast_s, heldIntervals * interval_s);

/** The slope of the source is taken over so long before and after a time, s, and over so many readings at least. */
const slope_s = 20;
const slopeRows = 4;
/** Shifts that fit nearly as well as the best one, further than this from it, s, leave it open (an assumption). */
const apart_s = 60;
const nearly = 0.75;
/** A change of load that a shift may be found from, W. */
const leastStep_W = 5;

/**
 * One log of the files of a run whose instruments had clocks of their own.
 *
 * The rows are those of the file that has the source's temperature; the other files give what they read last before each of them. The shift
 * between two clocks is the one that is given, else the one at which the changes of load in one file go best with the bends of the source's
 * temperature in the other; where the load does not stand in another file, or does not change, their clocks are taken as one if both tell the
 * time of day or the date.
 *
 * @param parts  as scanned, each with what it `has`
 * @param entry  their row of logs.csv, for messages, with the shift where it is given and what is held
 * @throws BenchError where no file has the source, a quantity is in none, or the shift cannot be told
 */
export function joinedLog(
  parts: readonly LogPart[],
  entry: Pick<LogEntry, 'line' | 'shift_s' | 'held'> | undefined,
): LogBlocks {
  const held = entry?.held ?? {};
  const names = listed(namesOf(parts), 'and');
  const fault = (what: string) => new BenchError('logs.csv', entry?.line ?? 1, 1, what);
  const main = parts.find((part) => has(part, 'source_C'));
  if (!main) throw fault(`none of ${names} has a column source_C; one of the files of a run needs it`);
  const absent = requiredColumns.find(
    (column) => !parts.some((part) => has(part, column)) && held[column] === undefined,
  );
  if (absent)
    throw fault(`none of ${names} has a column ${absent}; what was set and not logged may stand in logs.csv`);
  const from = (column: Column | string) =>
    has(main, column) ? undefined : parts.find((part) => has(part, column));
  const notes: string[] = [];
  const others = parts
    .filter((part) => part !== main)
    .map((part) => {
      const { shift_s, how } = shiftBetween(main, part, entry?.shift_s, fault);
      notes.push(
        `${part.name} joined to ${main.name} by their times, ${shiftInWords(shift_s, part.log, main.log)}: ${how}`,
      );
      return { ...part, shift_s };
    });
  const carried = [...new Set(parts.flatMap(({ log }) => log.carried.map(({ name }) => name)))];
  const readers = [...requiredColumns, ...carried].map((column) => {
    const part = from(column);
    const own = part ?? (has(main, column) ? main : undefined);
    const shift_s = others.find(({ name }) => name === part?.name)?.shift_s;
    return own ? readerOf(columnOf(own.log, column), own.log, shift_s) : () => held[column];
  });
  const { store, kept } = joinedRows(main.log, carried, readers);
  const lost = main.log.count - kept.length;
  if (store.latest() === undefined)
    throw fault(
      `${names} have no time in common${entry?.shift_s === undefined ? '' : ' with the shift given'}; check their times, or shift_s`,
    );
  if (lost > 0)
    notes.push(`${counted(lost, 'row')} of ${main.name} outside the times of the other files left out`);
  const own = parts.flatMap(({ name, log }) => log.notes.map((note) => `${name}: ${note}`));
  const blocks = store.finish([...own, ...notes]);
  const { sourceStep_K, dropouts } = main.log;
  const air = from('ambient_C')?.log ?? main.log;
  // Rows of a long log are means of many.
  const isOneToOne = blocks.count === kept.length;
  const keptOf = (values: Float64Array) => Float64Array.from(kept, (i) => values[i]);
  return {
    ...blocks,
    ...(isOneToOne && { rows: keptOf(main.log.rows), timeVariance: keptOf(main.log.timeVariance) }),
    totalRows: main.log.totalRows,
    sourceStep_K,
    dropouts,
    ambientStep_K: air.ambientStep_K,
    interval_s: main.log.interval_s,
  };
}

const namesOf = (parts: readonly LogPart[]): string[] => parts.map(({ name }) => name);

/** The rows of the main file for which every quantity is known, and which they are. */
function joinedRows(
  main: LogBlocks,
  carried: readonly string[],
  readers: readonly ((time_s: number, row: number) => number)[],
): { store: BlockStore; kept: number[] } {
  const store = new BlockStore(carried, mostBlocks, main.count);
  const row = new Float64Array(1 + readers.length);
  const kept: number[] = [];
  for (let i = 0; i < main.count; i++) {
    row[0] = main.begins_s + main.time_s[i];
    readers.forEach((read, k) => {
      row[k + 1] = read(main.time_s[i], i);
    });
    if (requiredColumns.some((_, k) => Number.isNaN(row[k + 1]))) continue;
    kept.push(i);
    store.append(row);
  }
  return { store, kept };
}

export const has = ({ log }: LogPart, column: string): boolean =>
  log.has?.includes(column) === true || log.carried.some(({ name }) => name === column);

/** A column of a log by name, required or carried along. */
function columnOf(log: LogBlocks, column: string): Float64Array {
  if ((requiredColumns as readonly string[]).includes(column)) return log[column as Column];
  return log.carried.find(({ name }) => name === column)?.values ?? new Float64Array(0);
}

/** A column's reading at a time of the main file: its own row's, or the last one of another file before it. */
function readerOf(
  values: Float64Array,
  log: LogBlocks,
  shift_s?: number,
): (time_s: number, i: number) => number {
  if (shift_s === undefined) return (_, i) => values[i];
  const longest = holdsFor(log);
  let k = -1;
  return (time_s) => {
    while (k + 1 < log.count && log.time_s[k + 1] + shift_s <= time_s + 1e-9) k++;
    return k >= 0 && time_s - log.time_s[k] - shift_s <= longest ? values[k] : Number.NaN;
  };
}

/**
 * The shift from a part's times, since its first row, to those of the main file.
 *
 * @param fault  what is thrown where nothing tells it
 */
export function shiftBetween(
  main: LogPart,
  part: LogPart,
  given_s: number | undefined,
  fault: (what: string) => BenchError,
): { shift_s: number; how: string } {
  const byClocks_s = part.log.begins_s - main.log.begins_s;
  if (given_s !== undefined)
    return { shift_s: byClocks_s + given_s, how: `${figure(given_s)} s, as logs.csv says` };
  const found = has(part, 'power_W') ? shiftByLoad(main.log, part.log) : undefined;
  const hint = 'give the seconds to add to its times as shift_s in logs.csv';
  if (found === 'open')
    throw fault(
      `the load of ${shown(part.name)} goes with ${shown(main.name)} at more than one shift; ${hint}`,
    );
  if (found !== undefined)
    return { shift_s: found, how: 'found from the changes of load, good to a few seconds' };
  if (isOfDay(main.log) && isOfDay(part.log))
    return { shift_s: byClocks_s, how: 'by their clocks, which are taken as one' };
  throw fault(
    `no change of load tells how the times of ${shown(part.name)} go with those of ${shown(main.name)}; ${hint}`,
  );
}

/** Whether a log's times are those of a clock: nobody counts seconds from a start so long ago. */
const isOfDay = ({ begins_s }: LogBlocks): boolean => begins_s > 3600;

/**
 * The shift at which changes of load and bends of the source's temperature go together best: the greatest sum, over the changes, of the
 * change times the bend there.
 *
 * @returns `undefined` without a change, `'open'` where others do nearly as well
 */
function shiftByLoad(main: LogBlocks, part: LogBlocks): number | 'open' | undefined {
  const steps = findLoadSteps(part);
  const changes = steps
    .slice(1)
    .map((step, k) => ({
      time_s: 0.5 * (part.time_s[step.first] + part.time_s[step.first - 1]),
      watts: step.power_W - steps[k].power_W,
    }))
    .filter(({ watts }) => Math.abs(watts) > leastStep_W);
  if (changes.length === 0) return undefined;
  const grid_s = Math.max(0.5, Math.min(main.interval_s, part.interval_s));
  const bends = bendsOf(main, grid_s);
  const size = Math.hypot(...changes.map(({ watts }) => watts));
  const first = changes[0].time_s;
  const last = changes[changes.length - 1].time_s;
  const shifts: { shift_s: number; score: number }[] = [];
  const length = main.time_s[main.count - 1];
  for (let shift_s = -last; shift_s <= length - first; shift_s += grid_s) {
    let score = 0;
    for (const { time_s, watts } of changes)
      score += (watts / size) * (bends[Math.round((time_s + shift_s) / grid_s)] ?? 0);
    shifts.push({ shift_s, score });
  }
  const best = shifts.reduce((a, b) => (b.score > a.score ? b : a));
  if (!(best.score > 0)) return undefined;
  const isOpen = shifts.some(
    ({ shift_s, score }) => Math.abs(shift_s - best.shift_s) > apart_s && score > nearly * best.score,
  );
  return isOpen ? 'open' : best.shift_s;
}

/** By how much the source climbs faster after each time of a grid than before it, K/s. */
function bendsOf({ time_s, source_C, count, interval_s }: LogBlocks, grid_s: number): Float64Array {
  const length = time_s[count - 1];
  const n = Math.floor(length / grid_s) + 1;
  const values = new Float64Array(n);
  for (let k = 0, i = 0; k < n; k++) {
    const t = k * grid_s;
    while (i + 2 < count && time_s[i + 1] < t) i++;
    const span = time_s[i + 1] - time_s[i];
    const share = span > 0 ? (t - time_s[i]) / span : 0;
    values[k] = source_C[i] + share * (source_C[i + 1] - source_C[i]);
  }
  const w = Math.ceil(Math.max(slope_s, slopeRows * interval_s) / grid_s);
  return values.map((value, k) => {
    const before = Math.min(k, w);
    if (2 * before < w || k + w >= n) return 0;
    return (values[k + w] - value) / (w * grid_s) - (value - values[k - before]) / (before * grid_s);
  });
}

const figure = (value: number): string => String(Number(value.toFixed(1)));

/** How two clocks go together, as a person would say it. */
export function shiftInWords(shift_s: number, part: LogBlocks, main: LogBlocks): string {
  if (isOfDay(part) !== isOfDay(main))
    return `its first row ${figure(Math.abs(shift_s))} s ${shift_s < 0 ? 'before' : 'after'} the first one there`;
  const ahead_s = part.begins_s - main.begins_s - shift_s;
  if (Math.abs(ahead_s) < 0.05) return 'its clock being the same';
  return `its clock being ${figure(Math.abs(ahead_s))} s ${ahead_s > 0 ? 'ahead' : 'behind'}`;
}
