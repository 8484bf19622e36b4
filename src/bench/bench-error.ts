/**
 * A fault in what the user gave: exactly one place and one sentence that says what would be accepted.
 *
 * Everything that reads user input throws this and nothing else; the command line prints `message` and ends
 * with status 2. The message is one line of at most 1,000 characters, whatever text of the user it quotes, and begins with
 * the place: `runs.csv:12:4: …` for a file of the bench, `--power: …` for an option, which has no lines.
 */
export class BenchError extends Error {
  readonly file: string;
  readonly line: number;
  readonly column: number;

  /**
   * @param file    file inside the bench, or the name of a command-line option
   * @param line    1-based line; 0 where the fault is not in a file
   * @param column  1-based column, in characters
   * @param what    what is wrong and what would be accepted
   */
  constructor(file: string, line: number, column: number, what: string) {
    super(onOneLine(`${line === 0 || file.startsWith('-') ? file : `${file}:${line}:${column}`}: ${what}`));
    this.name = 'BenchError';
    this.file = file;
    this.line = line;
    this.column = column;
  }
}

const LONGEST = 1000;

/** Text that a file put into a message can neither break the line, move the cursor of a terminal, nor go on for pages. */
function onOneLine(text: string): string {
  const shown = shortened(text, 2 * LONGEST)
    .replace(/\s*[\r\n\u2028\u2029]+\s*/g, ' ')
    .replace(/[\p{Cc}\u202a-\u202e\u2066-\u2069]/gu, '·');
  return shortened(shown, LONGEST);
}

/** The beginning and the end, where what is wrong and what would be accepted stand. */
function shortened(text: string, most: number): string {
  return text.length <= most ? text : `${text.slice(0, most - 301)} … ${text.slice(-298)}`;
}
