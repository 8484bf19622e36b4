import { BenchError } from '../bench/bench-error.ts';
import { has, holdsFor, type LogPart, requiredColumns, shiftBetween, shiftInWords } from './joined-log.ts';
import { LiveLog } from './live-log.ts';
import { findLoadSteps } from './load-steps.ts';
import { BlockStore, type LogBlocks, type LoggedRow } from './log-blocks.ts';
import type { LogReading } from './log-header.ts';

const mostBlocks = 8192;
/** A change of load tells the shift once the source has been read for so long after it, s; it is looked for so often, s. */
const afterChange_s = 60;
const lookEvery_s = 10;
/** A shift that turns out to be another by more than this is put right in what was joined, of so many rows, s. */
const unlike_s = 2;
const mostKept = 20_000;

interface Part {
  readonly name: string;
  readonly live: LiveLog;
  /** Rows that may still be needed, the last one taken first. */
  rows: LoggedRow[];
  /** From its times, since its first row, to those of the main file, s. */
  shift_s: number | undefined;
  /** Whether nothing later will better it. */
  isSettled: boolean;
}

/**
 * Several files of one run while they are written by instruments with clocks of their own, as {@link joinedLog} joins finished ones.
 *
 * The shift between two clocks is the one that is given, else the one that the changes of load tell or that both clocks show. Until a change
 * tells it, the newest rows of the files are taken as of one time, since both are being written now; what was joined by then is joined anew
 * where that turns out wrong.
 */
export class LiveJoinedLog {
  private readonly parts: readonly Part[];
  private readonly reading: LogReading;
  private readonly given_s: number | undefined;
  private readonly onRow: (row: LoggedRow, silent: string | undefined) => void;
  private readonly onRejoined: () => void;
  private main: Part | undefined;
  /** The file that each quantity is read from; `undefined`: held. */
  private from: (Part | undefined)[] = [];
  private store = new BlockStore([], mostBlocks, 64);
  private waiting: LoggedRow[] = [];
  /** How the files go together, as far as it has been said. */
  private readonly joinings: string[] = [];
  private looked_s = Number.NEGATIVE_INFINITY;
  private dropouts = 0;

  /**
   * @param given_s  seconds to add to the times of the other files
   * @param onRow  called for each joined row; `silent`: the file that has had no row for so long that its readings may be old
   * @param onRejoined  called when the rows so far have been joined anew
   */
  constructor(
    names: readonly string[],
    reading: LogReading,
    given_s: number | undefined,
    onRow: (row: LoggedRow, silent: string | undefined) => void,
    onRejoined: () => void,
  ) {
    this.reading = reading;
    this.given_s = given_s;
    this.onRow = onRow;
    this.onRejoined = onRejoined;
    this.parts = names.map((name): Part => {
      const rows: LoggedRow[] = [];
      const part = { columns: reading.columns, isPart: true };
      return {
        name,
        live: new LiveLog(name, part, (row) => this.taken(name, row)),
        rows,
        shift_s: undefined,
        isSettled: false,
      };
    });
  }

  /** Takes the next bytes of one of the files. */
  push(chunk: Uint8Array, file: number): void {
    this.parts[file].live.push(chunk);
  }

  replaced(file: number): void {
    this.parts[file].live.replaced();
  }

  /**
   * All files have been read as far as they are written: rows that can be joined go out.
   *
   * @param isEnd  nothing more will come
   * @throws BenchError where a quantity is in none of the files; at the end, where nothing tells a shift
   */
  allRead(isEnd = false): void {
    if (!this.main && !this.begin()) return;
    const main = this.main as Part;
    const newest = main.rows.at(-1);
    if (!newest) return;
    const isDue = isEnd || newest.time_s - this.looked_s >= lookEvery_s;
    for (const part of this.parts) {
      if (part === main || part.isSettled || !(isDue || part.shift_s === undefined)) continue;
      this.findShift(part, main, newest, isEnd);
    }
    if (isDue) this.looked_s = newest.time_s;
    if (this.parts.some((part) => part !== main && part.shift_s === undefined)) return;
    const { waiting } = this;
    this.waiting = [];
    for (const row of waiting) {
      const silent = this.join(row);
      if (silent !== 'none') this.onRow(this.store.latest() as LoggedRow, silent);
    }
    this.forget(main);
  }

  get faults(): BenchError[] {
    return this.parts.flatMap(({ live }) => live.faults.splice(0));
  }

  /** Why nothing is joined yet. */
  get pending(): BenchError | undefined {
    const own = this.parts.find(({ live }) => live.pending)?.live.pending;
    const empty = this.parts.find(({ rows, live }) => rows.length === 0 && !live.blocks());
    const isAny = this.parts.some(({ rows }) => rows.length > 0);
    if (own || !empty || !isAny || this.main) return own;
    return new BenchError(
      empty.name,
      1,
      1,
      'has no row yet; the files of a run are joined once each has one',
    );
  }

  /** The log so far; `undefined` before the first row. Valid until the next one. */
  blocks(): LogBlocks | undefined {
    if (!this.store.latest()) return undefined;
    const own = this.parts.flatMap(({ name, live }) =>
      (live.blocks()?.notes ?? []).map((note) => `${name}: ${note}`),
    );
    return this.store.finish([...own, ...this.joinings]);
  }

  private taken(name: string, row: LoggedRow): void {
    const part = this.parts.find((one) => one.name === name) as Part;
    part.rows.push(row);
    if (part === this.main) this.waiting.push(row);
  }

  /** Which file has what, once each has a row. */
  private begin(): boolean {
    const logs = this.parts.map(({ name, live }) => ({ name, log: live.blocks() }));
    if (logs.some(({ log }) => !log || log.count === 0)) return false;
    const whole = logs as LogPart[];
    const at = whole.findIndex((part) => has(part, 'source_C'));
    const names = this.parts.map(({ name }) => name).join(' and ');
    const lacks = (column: string) =>
      new BenchError('--log', 0, 0, `none of ${names} has a column ${column}; one of the files needs it`);
    if (at < 0) throw lacks('source_C');
    const main = this.parts[at];
    this.from = [...requiredColumns, 'pump_rpm'].map((column) => {
      if (has(whole[at], column)) return main;
      const other = this.parts[whole.findIndex((part) => has(part, column))];
      if (!other && column !== 'pump_rpm' && this.reading.held?.[column] === undefined) throw lacks(column);
      return other;
    });
    const hasPump = this.from[requiredColumns.length] !== undefined;
    this.store = new BlockStore(hasPump ? ['pump_rpm'] : [], mostBlocks, 64);
    this.main = main;
    this.waiting = [...main.rows];
    return true;
  }

  /**
   * The shift of a part's clock to the main one: from a change of load once both have seen it, else by
   * arrival.
   */
  private findShift(part: Part, main: Part, newest: LoggedRow, isEnd: boolean): void {
    const [mainLog, log] = [main.live.blocks(), part.live.blocks()];
    const last = part.rows.at(-1);
    if (!mainLog || !log || !last) return;
    // Both are being written now.
    const byArrival_s = newest.time_s - last.time_s;
    const change = findLoadSteps(log).at(-1);
    const seen_s =
      change && change.first > 0
        ? newest.time_s - log.time_s[change.first] - (part.shift_s ?? byArrival_s)
        : Number.POSITIVE_INFINITY;
    const fault = (what: string) =>
      new BenchError('--log', 0, 0, what.replaceAll('shift_s in logs.csv', '--shift'));
    let found: { shift_s: number; how: string } | undefined;
    try {
      if (isEnd || this.given_s !== undefined || seen_s >= afterChange_s)
        found = shiftBetween(
          { name: main.name, log: mainLog },
          { name: part.name, log },
          this.given_s,
          fault,
        );
    } catch (error) {
      if (isEnd || !(error instanceof BenchError)) throw error;
    }
    const before_s = part.shift_s;
    part.shift_s = found?.shift_s ?? before_s ?? byArrival_s;
    part.isSettled = found !== undefined && (this.given_s !== undefined || seen_s < Number.POSITIVE_INFINITY);
    const how =
      found?.how.replace('as logs.csv says', 'as given') ?? 'their newest rows taken as of one time';
    if (before_s === undefined || part.isSettled)
      this.joinings.push(
        `${part.name} joined to ${main.name} by their times, ${shiftInWords(part.shift_s, log, mainLog)}: ${how}`,
      );
    if (before_s !== undefined && Math.abs(part.shift_s - before_s) > unlike_s) this.joinAnew(main);
  }

  /** Joins all rows so far again, since a shift has changed. */
  private joinAnew(main: Part): void {
    if (!this.store.latest()) return;
    const isWaiting = new Set(this.waiting);
    this.store = new BlockStore(
      this.from[requiredColumns.length] ? ['pump_rpm'] : [],
      mostBlocks,
      main.rows.length,
    );
    this.dropouts = 0;
    for (const row of main.rows) if (!isWaiting.has(row)) this.join(row);
    this.onRejoined();
  }

  /**
   * Appends a row of the main file with what the others had read by then.
   *
   * @returns the file that is silent; `'none'` where another file had read nothing yet, and the row is left out
   */
  private join(row: LoggedRow): string | undefined {
    let silent: string | undefined;
    const lacks = row.dropouts > this.dropouts;
    this.dropouts = row.dropouts;
    const values = new Float64Array(this.from[requiredColumns.length] ? 6 : 5);
    values[0] = row.own_s;
    for (const [k, column] of [...requiredColumns, 'pump_rpm' as const].entries()) {
      const part = this.from[k];
      if (!part) {
        if (column !== 'pump_rpm') values[k + 1] = this.reading.held?.[column] as number;
        continue;
      }
      if (part === this.main) {
        values[k + 1] = column === 'source_C' && lacks ? Number.NaN : (row[column] ?? Number.NaN);
        continue;
      }
      const time_s = row.time_s - (part.shift_s as number);
      const at = lastBefore(part.rows, time_s);
      if (at < 0) return 'none';
      const read = part.rows[at];
      const isOld = time_s - read.time_s > holdsFor(part.live.blocks() ?? { interval_s: 1 });
      if (isOld && at + 1 < part.rows.length) return 'none';
      if (isOld) silent = part.name;
      values[k + 1] = read[column] ?? Number.NaN;
    }
    this.store.append(values);
    return this.store.latest() ? silent : 'none';
  }

  /** Drops rows that nothing needs any more: all that are joined once the shift is settled, and what is too much. */
  private forget(main: Part): void {
    const others = this.parts.filter((part) => part !== main);
    const most = others.every(({ isSettled }) => isSettled) ? 1 : mostKept;
    if (main.rows.length > 2 * most) main.rows = main.rows.slice(-most);
    const first = main.rows[0];
    for (const part of others) {
      const at = lastBefore(part.rows, first.time_s - (part.shift_s as number));
      if (at > mostKept / 10 || (most === 1 && at > 0)) part.rows = part.rows.slice(at);
    }
  }
}

/** Place of the last row not later than a time; −1 before the first. */
function lastBefore(rows: readonly LoggedRow[], time_s: number): number {
  let [low, high] = [0, rows.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (rows[middle].time_s <= time_s + 1e-9) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}
