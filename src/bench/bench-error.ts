/**
 * A fault in what the user gave: exactly one place and one sentence that says what would be accepted.
 *
 * Everything that reads user input throws this and nothing else; the command line prints `message` and ends
 * with status 2.
 */
export class BenchError extends Error {
  readonly file: string;
  readonly line: number;
  readonly column: number;

  /**
   * @param file    file inside the bench, or the name of a command-line option
   * @param line    1-based line
   * @param column  1-based column, in characters
   * @param what    what is wrong and what would be accepted
   */
  constructor(file: string, line: number, column: number, what: string) {
    super(`${file}:${line}:${column}: ${what}`);
    this.name = 'BenchError';
    this.file = file;
    this.line = line;
    this.column = column;
  }
}
