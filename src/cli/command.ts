/**
 * What a command of the command line is: its place on the line, its options, and what it does with them.
 *
 * Values come in as text and are read by the command, so that a fault can be told with the column it stands in.
 */
import type { Bench } from '../bench/bench.ts';

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
  options: OptionTable;
  run: (call: Invocation) => Promise<void>;
}
