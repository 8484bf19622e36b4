import { BenchError } from '../bench/bench-error.ts';
import { LogClock } from '../bench/dates.ts';
import { BlockStore, type ColumnRoom, type LogBlocks, type LoggedRow } from './log-blocks.ts';
import { findLogHeader, HEAD_LINES, type HeadLine, type LogHeader, type LogReading } from './log-header.ts';

const newline = 10;
const carriageReturn = 13;
const space = 32;
const tab = 9;
const quote = 34;
const powersOfTen = Float64Array.from({ length: 16 }, (_, i) => 10 ** i);
const longestRecord = 1 << 20;
/** In a log that is being written a quotation mark that is not closed must not hold up the rows behind it. */
const longestLiveRecord = 1 << 12;
/** So much of a file tells its separator, its decimal sign and its header. */
const headBytes = 1 << 16;
const mostKept = 8192;
const decimal = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;

/** A log read piece by piece: memory does not grow with its length. */
export interface LogScanner {
  /** Takes the next bytes of the file; they may end anywhere, also inside a number. */
  push(chunk: Uint8Array): void;
  /** Ends the file. */
  finish(): LogBlocks;
}

/**
 * Makes a scanner of one log file.
 *
 * It works on bytes. A decimal number of at most 15 digits is a whole number below 2^53 over a power of ten below
 * 10^16, both exact in double precision, so that one division rounds correctly: the result is the double
 * nearest to what is written, as from `Number()`. Anything longer goes through `Number()`.
 *
 * Accepted: any column order, cells between commas, semicolons or tabs, decimal commas where those part no cells, lines
 * before the header, a clock's times, a byte-order mark, LF or CRLF, quoted cells, empty cells, empty lines, a last line
 * cut off in the middle (left out, with a note).
 *
 * @param file   name for messages
 * @param limit  greatest number of blocks kept; longer logs are averaged (see {@link LogBlocks})
 * @param reading  what is known of the log beside its text
 * @throws BenchError from `push` or `finish`: line and column of the first cell that is not a number
 * @example
 * const scanner = createLogScanner('a.csv');
 * scanner.push(new TextEncoder().encode('time_s,source_C,ambient_C,power_W,fan_rpm\n0,22.5,22,150,1200\n'));
 * scanner.finish().source_C[0] // 22.5
 */
export function createLogScanner(file: string, limit = mostKept, reading: LogReading = {}): LogScanner {
  return new ByteScanner(file, limit, reading);
}

/**
 * Makes a scanner of one log after many: what it gives is valid until the next log is scanned with the same room.
 *
 * @param room  gives the columns
 */
export function scannerWithin(room: ColumnRoom, file: string, reading: LogReading = {}): LogScanner {
  return new ByteScanner(file, mostKept, reading, room);
}

/** A scanner of a log that is still being written: it can be looked into at any time, and a row that is none is passed over. */
export interface LiveScanner extends LogScanner {
  /** The log so far, valid until the next row; `undefined` before the header. */
  peek(): LogBlocks | undefined;
  /** The row taken last. */
  latest(): LoggedRow | undefined;
  /** What goes on in the next file of the same log, where that has the same columns. */
  readonly store: BlockStore | undefined;
}

/**
 * @param onFault  called for each row that is passed over
 * @param before  rows of the same log that were in another file
 */
export function liveScanner(
  file: string,
  reading: LogReading,
  onFault: (fault: BenchError) => void,
  before?: BlockStore,
): LiveScanner {
  return new ByteScanner(file, mostKept, reading, undefined, { onFault, before });
}

/** Scans a whole log held in memory. */
export function scanLog(file: string, bytes: Uint8Array, limit?: number, reading?: LogReading): LogBlocks {
  const scanner = createLogScanner(file, limit, reading);
  scanner.push(bytes);
  return scanner.finish();
}

class ByteScanner implements LiveScanner {
  private readonly file: string;
  private readonly limit: number;
  private readonly room: ColumnRoom | undefined;
  private readonly reading: LogReading;
  private separator = 44;
  private point = 46;
  private clock: LogClock | undefined;
  private rest: Uint8Array | undefined;
  private header: LogHeader | undefined;
  store: BlockStore | undefined;
  private readonly live: { onFault: (fault: BenchError) => void; before?: BlockStore } | undefined;
  private faultyRow = 0;
  private row = new Float64Array(0);
  private line = 1;
  private begun = false;
  private endsInReturns: boolean | undefined;
  private place = 0;
  private value = 0;
  private readonly notes: string[] = [];

  constructor(
    file: string,
    limit: number,
    reading: LogReading,
    room?: ColumnRoom,
    live?: ByteScanner['live'],
  ) {
    this.live = live;
    this.reading = reading;
    this.file = file;
    this.limit = limit;
    this.room = room;
  }

  /** Takes bytes in; whole rows are read at once, the rest is kept. */
  push(chunk: Uint8Array): void {
    let bytes = chunk;
    if (this.rest) {
      bytes = new Uint8Array(this.rest.length + chunk.length);
      bytes.set(this.rest);
      bytes.set(chunk, this.rest.length);
      this.rest = undefined;
    }
    if (!this.begun) {
      if (bytes.length < headBytes && !hasLines(bytes, HEAD_LINES)) {
        this.rest = bytes.slice();
        return;
      }
      bytes = this.begin(this.withLineFeeds(bytes, false), false);
    } else bytes = this.withLineFeeds(bytes, false);
    const used = this.records(bytes, bytes.lastIndexOf(newline) + 1);
    if (used < bytes.length) {
      this.rest = bytes.slice(used);
      if (this.rest.length > (this.live ? longestLiveRecord : longestRecord)) {
        throw new BenchError(
          this.file,
          this.line,
          1,
          'a row of more than a million characters; is a quotation mark not closed?',
        );
      }
    }
  }

  /** The log once its file has ended; a last line that is cut off is left out. */
  finish(): LogBlocks {
    let bytes = this.rest ?? new Uint8Array(0);
    if (!this.begun) {
      bytes = this.begin(this.withLineFeeds(bytes, true), true);
      if (this.header) bytes = bytes.subarray(this.records(bytes, bytes.lastIndexOf(newline) + 1));
    }
    if (bytes.length > 0) {
      const ended = new Uint8Array(bytes.length + 1);
      ended.set(bytes);
      ended[bytes.length] = newline;
      if (!this.header || !this.isCutOff(ended)) {
        const used = this.records(ended, ended.length);
        if (used < ended.length) {
          throw new BenchError(
            this.file,
            this.line,
            1,
            'a quotation mark is not closed before the end of the file',
          );
        }
      } else this.notes.push('the last line is cut off and was left out');
    }
    this.rest = undefined;
    if (!this.store) {
      throw new BenchError(
        this.file,
        1,
        1,
        'the file is empty; a header time_s,source_C,ambient_C,power_W,fan_rpm is expected',
      );
    }
    this.notes.push(...(this.clock?.notes ?? []));
    const blocks = this.store.finish(this.notes);
    return this.asPart(blocks);
  }

  /** The log so far. */
  peek(): LogBlocks | undefined {
    const blocks = this.store?.finish([...this.notes, ...(this.clock?.notes ?? [])]);
    return blocks && this.asPart(blocks);
  }

  /** With what joining it to another file takes. */
  private asPart(blocks: LogBlocks): LogBlocks {
    const begins_s = this.clock ? this.clock.begins_s : blocks.begins_s;
    return { ...blocks, begins_s, ...(this.reading.isPart && { has: this.header?.has }) };
  }

  /** The last whole row. */
  latest(): LoggedRow | undefined {
    return this.store?.latest();
  }

  /** Finds the header; what is left of the bytes follows it. */
  private begin(bytes: Uint8Array, whole: boolean): Uint8Array {
    this.begun = true;
    if ((bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff)) {
      throw new BenchError(this.file, 1, 1, 'the file is UTF-16; save it as UTF-8');
    }
    const text = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? bytes.subarray(3) : bytes;
    const lines = headLines(text, whole);
    if (!lines.some((line) => line.text.trim() !== '')) {
      const open = text.some((byte) => byte > space);
      if (!open) return new Uint8Array(0);
      throw new BenchError(this.file, 1, 1, 'a quotation mark is not closed before the end of the file');
    }
    const { header, format, end, line } = findLogHeader(this.file, lines, this.reading);
    this.separator = format.separator.charCodeAt(0);
    this.point = format.decimal.charCodeAt(0);
    if (header.clock >= 0) this.clock = new LogClock();
    this.notes.push(...header.understood);
    this.line = line;
    this.header = header;
    this.row = header.blank.slice();
    const expected = Math.ceil(bytes.length / 20);
    const before = this.live?.before;
    this.store = before?.carries(header.carried)
      ? before.copy()
      : new BlockStore(header.carried, this.limit, expected, this.room);
    return text.subarray(Math.min(end, text.length));
  }

  /** Lines may end with a carriage return alone: the first line end of a file says how all of them are written. */
  private withLineFeeds(bytes: Uint8Array, whole: boolean): Uint8Array {
    if (this.endsInReturns === undefined) {
      const at = bytes.indexOf(carriageReturn);
      const feed = bytes.indexOf(newline);
      if (feed >= 0 && !(at >= 0 && at < feed - 1)) this.endsInReturns = false;
      else if (at >= 0 && (at + 1 < bytes.length || whole)) this.endsInReturns = true;
    }
    return this.endsInReturns ? bytes.map((byte) => (byte === carriageReturn ? newline : byte)) : bytes;
  }

  /** Whether the last line has fewer cells than the header, as one that was still being written. */
  private isCutOff(line: Uint8Array): boolean {
    let cells = 1;
    for (const byte of line) {
      if (byte === quote) return false;
      if (byte === this.separator) cells++;
    }
    return cells < this.header!.names.length && line.some((byte) => byte > space);
  }

  /** Reads whole records from `bytes[0, end)`, which ends with a newline; gives how many bytes it used. */
  private records(bytes: Uint8Array, end: number): number {
    const { header, store, row, live } = this;
    for (let from = 0; ; ) {
      try {
        return this.rows(bytes, from, end, header as LogHeader, store as BlockStore, row);
      } catch (error) {
        if (!live || !(error instanceof BenchError)) throw error;
        live.onFault(error);
        this.line++;
        from = bytes.indexOf(newline, this.faultyRow) + 1;
      }
    }
  }

  /** Whole rows from `from` on; where the next one begins. */
  private rows(
    bytes: Uint8Array,
    from: number,
    end: number,
    { slot, factor, offset }: LogHeader,
    store: BlockStore,
    row: Float64Array,
  ): number {
    const columns = slot.length;
    const { separator, point } = this;
    const blank = separator === tab ? space : tab;
    let p = from;
    while (p < end) {
      const start = p;
      let b = bytes[p];
      if (b === newline || (b === carriageReturn && bytes[p + 1] === newline)) {
        p += b === newline ? 1 : 2;
        this.line++;
        continue;
      }
      let c = 0;
      let inner = 0;
      for (; ; c++) {
        const target = c < columns ? slot[c] : -1;
        if (target >= 0) {
          b = bytes[p];
          while (b === space || b === blank) b = bytes[++p];
          const cell = p;
          let negative = false;
          if (b === 45) {
            negative = true;
            b = bytes[++p];
          }
          let mantissa = 0;
          let scale = 0;
          const first = p;
          let d = b - 48;
          while (d >= 0 && d <= 9) {
            mantissa = mantissa * 10 + d;
            b = bytes[++p];
            d = b - 48;
          }
          scale = p;
          let dot = 0;
          if (b === point) {
            dot = 1;
            b = bytes[++p];
            d = b - 48;
            while (d >= 0 && d <= 9) {
              mantissa = mantissa * 10 + d;
              b = bytes[++p];
              d = b - 48;
            }
            scale = p - scale - 1;
          } else scale = 0;
          const digits = p - first - dot;
          if (digits > 0 && digits <= 15 && (b === separator || b === newline || b === carriageReturn)) {
            const magnitude = scale === 0 ? mantissa : mantissa / powersOfTen[scale];
            row[target] = (negative ? -magnitude : magnitude) * factor[c] + offset[c];
          } else {
            if (!this.oddCell(bytes, start, cell, end, c)) return start;
            row[target] = this.value * factor[c] + offset[c];
            p = this.place;
            b = bytes[p];
          }
        } else {
          b = bytes[p];
          if (b === quote) {
            const open = p;
            p = closingQuote(bytes, p, end);
            if (p < 0) return start;
            for (let i = open; i < p; i++) if (bytes[i] === newline) inner++;
            b = bytes[p];
          }
          const cell = p;
          while (b !== separator && b !== newline) b = bytes[++p];
          if (c >= columns && !isBlank(bytes, cell, p)) {
            throw this.fault(
              bytes,
              start,
              cell,
              `more cells than the header's ${columns}; each row needs one cell a column`,
            );
          }
        }
        if (b === separator) p++;
        else break;
      }
      if (b === carriageReturn) {
        b = bytes[++p];
        if (b !== newline)
          throw this.fault(
            bytes,
            start,
            p - 1,
            'a carriage return inside the row; lines end with LF or CRLF',
          );
      }
      p++;
      if (c + 1 < columns) {
        if (c === 0 && isBlank(bytes, start, p)) {
          this.line++;
          continue;
        }
        throw this.fault(
          bytes,
          start,
          p - 1,
          `the row has ${c + 1} cells, the header ${columns}; each row needs one cell a column`,
        );
      }
      this.check(bytes, start);
      store.append(row);
      this.line += 1 + inner;
    }
    return p;
  }

  /** Refuses a row without a time or below absolute zero. */
  private check(bytes: Uint8Array, start: number): void {
    const { row } = this;
    if (Number.isNaN(row[0]))
      throw this.fault(
        bytes,
        start,
        this.cellStart(bytes, start, 0),
        `the time is empty; every row needs one`,
      );
    if (row[1] < -273.15 || row[2] < -273.15) {
      const which = row[1] < -273.15 ? 1 : 2;
      throw this.fault(
        bytes,
        start,
        this.cellStart(bytes, start, which),
        'a temperature below absolute zero; leave the cell empty if there was no reading',
      );
    }
  }

  /** Where a column's cell begins in a row. */
  private cellStart(bytes: Uint8Array, start: number, target: number): number {
    const column = this.header!.slot.indexOf(target);
    let p = start;
    for (let c = 0; c < column; c++) {
      if (bytes[p] === quote) p = Math.max(p, closingQuote(bytes, p, bytes.length));
      while (bytes[p] !== this.separator && p < bytes.length) p++;
      p++;
    }
    return p;
  }

  /** A cell that is empty, quoted, signed, in powers of ten, long, or wrong. False: it runs on beyond `end`. */
  private oddCell(bytes: Uint8Array, start: number, cell: number, end: number, column: number): boolean {
    let p = cell;
    let text: string;
    if (bytes[p] === quote) {
      const close = closingQuote(bytes, p, end);
      if (close < 0) return false;
      text = decode(bytes, p + 1, close - 1);
      p = close;
      while (bytes[p] === space || (bytes[p] === tab && this.separator !== tab)) p++;
      if (bytes[p] !== this.separator && bytes[p] !== newline && bytes[p] !== carriageReturn) {
        throw this.fault(
          bytes,
          start,
          p,
          'text after a closing quotation mark; a separator or the end of the row is expected',
        );
      }
    } else {
      while (bytes[p] !== this.separator && bytes[p] !== newline) p++;
      let stop = p;
      if (bytes[stop - 1] === carriageReturn && bytes[stop] === newline && stop > cell) stop--;
      text = decode(bytes, cell, stop);
      p = stop;
    }
    this.place = p;
    text = text.trim();
    if (text === '') {
      this.value = Number.NaN;
      return true;
    }
    if (this.clock && column === this.header!.clock) {
      this.value = this.clock.seconds(text) ?? Number.NaN;
      if (Number.isFinite(this.value)) return true;
      const accepted = 'ISO 8601 (2024-05-31T14:05:30), hh:mm:ss or a date and time';
      throw this.fault(
        bytes,
        start,
        cell,
        `${JSON.stringify(text.slice(0, 40))} is not a time; ${accepted} is read`,
      );
    }
    if (this.point === 44) text = text.includes('.') ? `${text} ` : text.replace(',', '.');
    this.value = decimal.test(text) ? Number(text) : Number.NaN;
    if (!Number.isFinite(this.value)) {
      const shown = JSON.stringify(text.length > 40 ? `${text.slice(0, 40)}…` : text);
      throw this.fault(
        bytes,
        start,
        cell,
        `${shown} is not a number; ${this.header!.names[column]} needs one such as 45.25 (leave the cell empty if there was no reading)`,
      );
    }
    return true;
  }

  private fault(bytes: Uint8Array, start: number, at: number, what: string): BenchError {
    this.faultyRow = start;
    return new BenchError(this.file, this.line, [...decode(bytes, start, at)].length + 1, what);
  }
}

function hasLines(bytes: Uint8Array, wanted: number): boolean {
  let at = -1;
  for (let found = 0; found < wanted; found++) {
    at = bytes.indexOf(newline, at + 1);
    if (at < 0) return false;
  }
  return true;
}

/** The whole lines at the beginning of a file, a line end in quotes being none. */
function headLines(bytes: Uint8Array, whole: boolean): HeadLine[] {
  const lines: HeadLine[] = [];
  let quoted = false;
  let inner = 0;
  let line = 1;
  for (let from = 0, p = 0; p <= bytes.length && lines.length < HEAD_LINES; p++) {
    if (bytes[p] === quote) quoted = !quoted;
    if (p < bytes.length && bytes[p] !== newline) continue;
    if (quoted && p < bytes.length) {
      inner++;
      continue;
    }
    if (p === bytes.length && (!whole || quoted || p === from)) break;
    lines.push({ text: decode(bytes, from, p).replace(/\r$/, ''), line, end: p + 1 });
    line += 1 + inner;
    [from, inner] = [p + 1, 0];
  }
  return lines;
}

/** The place after the quotation mark that closes the one at `p`; −1 when there is none before `end`. */
function closingQuote(bytes: Uint8Array, p: number, end: number): number {
  for (let i = p + 1; i < end; i++) {
    if (bytes[i] === quote) {
      if (bytes[i + 1] !== quote) return i + 1;
      i++;
    }
  }
  return -1;
}

function isBlank(bytes: Uint8Array, from: number, to: number): boolean {
  for (let i = from; i < to; i++) if (bytes[i] > space) return false;
  return true;
}

function decode(bytes: Uint8Array, from: number, to: number): string {
  return new TextDecoder().decode(bytes.subarray(from, to));
}
