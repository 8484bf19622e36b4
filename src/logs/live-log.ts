import { BenchError } from '../bench/bench-error.ts';
import { type LogBlocks, type LoggedRow, unlikeLoad, unlikeSpeed } from './log-blocks.ts';
import { HEAD_LINES, type LogReading } from './log-header.ts';
import { type LiveScanner, liveScanner } from './log-scanner.ts';

const newline = 10;
const carriageReturn = 13;
/** Without a line end in so many bytes, a carriage return alone ends the lines. */
const lineWithoutEnd = 512;
/** A file that goes on with the run of the one before begins no further from its last reading, K. */
const sameRun_K = 2;

/**
 * A log that grows: bytes come in as they are written, whole rows go out one by one. Its first lines are read anew with each line that
 * comes, until there are so many that the scanner may settle how the file is written; memory does not grow with its length.
 */
export class LiveLog {
  private readonly name: string;
  private readonly reading: LogReading;
  private readonly onRow: (row: LoggedRow) => void;
  private rest = new Uint8Array(0);
  private head = new Uint8Array(0);
  private lines = 0;
  private lineEnd = newline;
  private scanner: LiveScanner | undefined;
  private seen = 0;
  private before: LiveScanner | undefined;
  private isSettled = false;
  /** Rows passed over, each with its fault. */
  readonly faults: BenchError[] = [];
  private readonly faultyLines = new Set<number>();
  private fault: BenchError | undefined;

  constructor(name: string, reading: LogReading, onRow: (row: LoggedRow) => void) {
    this.name = name;
    this.reading = reading;
    this.onRow = onRow;
  }

  /**
   * Takes the next bytes, which may end anywhere: what is not a whole line waits for its end.
   *
   * @throws BenchError where the first lines are no log's
   */
  push(chunk: Uint8Array, _file = 0): void {
    const bytes = joinedBytes(this.rest, chunk);
    let from = 0;
    for (;;) {
      if (this.lineEnd === newline && bytes.length > lineWithoutEnd && !bytes.includes(newline))
        if (bytes.includes(carriageReturn)) this.lineEnd = carriageReturn;
      const end = bytes.indexOf(this.lineEnd, from);
      if (end < 0) break;
      const line = bytes.slice(from, end + 1);
      line[line.length - 1] = newline;
      from = end + 1;
      this.takeLine(line);
    }
    this.rest = bytes.slice(from);
  }

  /** The file has been replaced or cut: what comes next is its beginning. Rows that go on with the run before are joined to it. */
  replaced(_file = 0): void {
    if (this.scanner?.latest()) this.before = this.scanner;
    this.scanner = undefined;
    this.seen = 0;
    this.rest = new Uint8Array(0);
    this.head = new Uint8Array(0);
    this.lines = 0;
    this.isSettled = false;
    this.faultyLines.clear();
  }

  /** Why the lines so far are no log, once there are more of them than a logger writes of itself. */
  get pending(): BenchError | undefined {
    return this.lines >= puzzlingLines ? this.fault : undefined;
  }

  /** The log so far; `undefined` before the first row. Valid until the next one. */
  blocks(): LogBlocks | undefined {
    return this.scanner?.peek();
  }

  private takeLine(line: Uint8Array): void {
    this.lines++;
    if (this.isSettled) this.scanner?.push(line);
    else this.settle(line);
    const row = this.scanner?.latest();
    if (!row || row.rows === this.seen) return;
    this.seen = row.rows;
    this.onRow(row);
  }

  /** Reads the head with one line more. */
  private settle(line: Uint8Array): void {
    this.head = joinedBytes(this.head, line);
    const isWhole = this.lines >= HEAD_LINES;
    // What is no log after so many lines is not tried anew with each of them.
    if (this.fault && this.lines > puzzlingLines && this.lines % puzzlingLines !== 0) return;
    try {
      const scanner = this.scan(this.headGoesOn() ? this.before : undefined, !isWhole);
      this.fault = undefined;
      if (scanner.latest()) this.scanner = scanner;
      if (isWhole) {
        this.isSettled = true;
        this.head = new Uint8Array(0);
        this.before = undefined;
      }
    } catch (error) {
      if (!(error instanceof BenchError) || isWhole) throw error;
      this.fault = error;
    }
  }

  private scan(before: LiveScanner | undefined, isPart: boolean): LiveScanner {
    const onFault = (fault: BenchError) => {
      if (!this.faultyLines.has(fault.line)) this.faults.push(fault);
      this.faultyLines.add(fault.line);
      if (this.faultyLines.size > mostKept) this.faultyLines.clear();
      if (this.faults.length > mostKept) this.faults.shift();
    };
    const scanner = liveScanner(this.name, this.reading, onFault, before?.store);
    scanner.push(this.head);
    if (isPart) scanner.finish();
    return scanner;
  }

  /** Whether the first row of a file goes on with the run in the file before it. */
  private headGoesOn(): boolean {
    const old = this.before?.latest();
    if (!old) return false;
    const first = this.scan(undefined, this.lines < HEAD_LINES).peek();
    if (!first || first.count === 0) return false;
    return (
      Math.abs(first.source_C[0] - old.source_C) <= sameRun_K &&
      !unlikeLoad(first.power_W[0], old.power_W, 0) &&
      !unlikeSpeed(first.fan_rpm[0], old.fan_rpm)
    );
  }
}

const mostKept = 1000;
const puzzlingLines = 15;

function joinedBytes(a: Uint8Array, b: Uint8Array): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(a.length + b.length);
  out.set(a);
  out.set(b, a.length);
  return out;
}
