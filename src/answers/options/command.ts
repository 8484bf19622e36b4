/**
 * What a command of the command line is: its place on the line, its options, and what it does with them.
 *
 * Values come in as text and are read by the command, so that a fault can be told with the column it stands in.
 */
import type { Bench } from '../../bench/bench.ts';

export interface OptionSpec {
  /** One letter that stands for the option as well. */
  alias?: string;
  /** What follows the option, as the help shows it; none for a switch. */
  value?: string;
  describe: string;
}

export type OptionTable = Readonly<Record<string, OptionSpec>>;

/** Options as given: text, or `true` for a switch. An option that was not given is absent. */
export type GivenOptions = Readonly<Record<string, string | true>>;

export interface Invocation {
  /** The folder, or table, that follows the command. */
  folder: string;
  options: GivenOptions;
  output: Output;
  /** The bench of a folder as commands that answer need it. */
  open: (folder: string) => Promise<Bench>;
  files: Files;
}

/** The files and the clock of the machine, which a command reaches through this alone. Every member throws BenchError. */
export interface Files {
  /** The bench of a folder as its files give it; its logs stay where they are until they are asked for. */
  openFolder: (folder: string, options?: { allowEmpty?: boolean }) => Promise<Bench>;
  /** A bench that has logs and no runs with the runs of its logs. */
  reduced: (bench: Bench) => Promise<Bench>;
  /** Content of a bench's file, `undefined` where there is none. */
  contentOf: (folder: string, name: string) => Uint8Array | undefined;
  /** The table that an operand names, - for standard input. */
  table: (place: string) => { name: string; bytes: Uint8Array };
  /** The file that an option names. @param wanted  what would be accepted */
  given: (
    option: string,
    name: string | true | undefined,
    wanted: string,
  ) => { name: string; bytes: Uint8Array };
  /** The place that -o names, - for standard output; looked at before the work starts. */
  placeOf: (given: string | true | undefined) => string | undefined;
  /** Writes a file whole or not at all. @param option  what gave its place */
  write: (place: string, text: string, option: string) => void;
  /** The same for a file of the bench, which whoever has changed it since `before` keeps as it is. */
  replace: (folder: string, name: string, text: string, before: Uint8Array | undefined) => void;
  /** Writes a new folder whole or not at all. */
  writeFolder: (place: string, files: ReadonlyMap<string, Uint8Array>, option: string) => void;
  /** The files of a bench with the SHA-256 of each. */
  hashed: (folder: string) => { files: Map<string, Uint8Array>; hashes: Map<string, string> };
  /** What an answer was made with. @param logs  whether logs are among it */
  meta: (folder: string, options: GivenOptions, logs?: boolean) => object;
  /** Which log an option of `watch` names. @param isWhole  whether it has to be there already */
  watchedLog: (log: string | true | undefined, folder: string, bench: Bench, isWhole: boolean) => WatchedLog;
  /** What is added to a log while another program writes it. @param goesOn  false: ends at the end of the file */
  growth(log: WatchedLog, signal: Stopping, goesOn: boolean): AsyncIterable<Growth>;
  /** Does something that a person or the system may end. */
  untilStopped: (task: (signal: Stopping) => Promise<void>) => Promise<void>;
  /** Shows how far a long task has come, where somebody looks. */
  progress: (what: string) => Promise<Progress>;
}

/** A log that is followed. */
export interface WatchedLog {
  name: string;
  /** Its file, or its files; none: standard input. */
  places: readonly FollowedPlace[];
  /** Its name in the bench's own logs. */
  entry: string | undefined;
}

/** Word that a task is to end, as AbortSignal gives it. */
export interface Stopping {
  readonly aborted: boolean;
  addEventListener(type: 'abort', listener: () => void): void;
  removeEventListener(type: 'abort', listener: () => void): void;
}

export interface FollowedPlace {
  readonly place: string;
  /** What messages call it. */
  readonly name: string;
}

/**
 * Bytes that were added to one of some files, word that another one stands in its place or that it is not there yet, or that
 * all of them have been read as far as they are written.
 */
export type Growth =
  | { readonly file: number; readonly bytes: Uint8Array }
  | { readonly file: number; readonly is: 'replaced' | 'waiting' }
  | 'all read';

/** A line that shows how far a long task has come, and leaves nothing behind. */
export interface Progress {
  at: (done: number, total: number) => void;
  end: () => void;
}

/** Where a command speaks to: the result to standard output, everything else to standard error. */
export interface Output {
  /** Columns for tables. */
  width: number;
  result: (text: string) => void;
  /** What a file would hold, byte for byte unless a terminal shows it. */
  file: (text: string) => void;
  /** A result too long for one text, in order; waits where its reader is slower. */
  pieces: (texts: Iterable<string>) => Promise<void>;
  warn: (message: string) => void;
  /** Where standard output is a terminal: one line below all others that can be written anew. */
  terminal?: Terminal;
  /** Rings, where a person is to hear it. */
  bell?: () => void;
}

export interface Terminal {
  columns: () => number;
  /** Whether it shows more than ASCII. */
  isUnicode: boolean;
  /** Writes the line anew; empty: takes it away. */
  renew: (line: string) => void;
}

export interface Command {
  name: string;
  /** What follows the name: a `bench` folder that is read, a `folder` that is made, or a `table`, - for standard input. */
  operand: 'bench' | 'folder' | 'table';
  about: string;
  example: string;
  /** Made when they are asked for, so that a bundle that does not ask has none of them. */
  options: () => OptionTable;
  run: (call: Invocation) => Promise<void>;
}
