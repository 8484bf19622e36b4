import type { Output } from '../answers/options/command.ts';
import { asText, asTextOnOneLine } from '../answers/text/terminal-text.ts';
import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { version } from './version.ts';

/** Exit statuses: a fault of the program is told apart from bad input or bad use. */
const FAULT_OF_PROGRAM = 1;
export const BAD_INPUT = 2;

/** What the command line speaks to, and how it comes to a bench. */
export interface Surroundings {
  output: Output;
  /** One line for standard error, without its end. */
  fault: (line: string) => void;
  /** See `openBench`, which is the default. */
  open?: (folder: string) => Promise<Bench>;
}

/** An output of which a terminal obeys nothing, whatever names a bench has; what a file would hold stays as it is. */
function obeyingNothing(output: Output): Output {
  const { terminal } = output;
  return {
    ...output,
    ...(terminal && {
      terminal: { ...terminal, renew: (line: string) => terminal.renew(asTextOnOneLine(line)) },
    }),
    result: (text) => output.result(asText(text)),
    pieces: (texts) => output.pieces(mapped(texts, asText)),
    warn: (message) => output.warn(asTextOnOneLine(message)),
  };
}

function* mapped(texts: Iterable<string>, change: (text: string) => string): Iterable<string> {
  for (const text of texts) yield change(text);
}

const openBench = async (folder: string): Promise<Bench> =>
  (await import('./open-bench.ts')).openBench(folder);

/**
 * The command line, from its words to its exit status. Relative paths are those of the process.
 *
 * @param args  what follows the name of the program
 */
export async function run(args: readonly string[], surroundings: Surroundings): Promise<number> {
  const { fault, open = openBench } = surroundings;
  const output = obeyingNothing(surroundings.output);
  try {
    const { readArguments } = await import('./arguments.ts');
    const asked = await readArguments(args);
    if (asked.kind === 'help') output.result(asked.text);
    else if (asked.kind === 'version') output.result(`${version}\n`);
    else {
      const { nodeFiles: files } = await import('./node-files.ts');
      await asked.command.run({ folder: asked.folder, options: asked.options, output, open, files });
    }
    return 0;
  } catch (error) {
    if (error instanceof BenchError) {
      fault(asTextOnOneLine(error.message));
      return BAD_INPUT;
    }
    const what = error instanceof Error ? `${error.name}: ${error.message}` : String(error);
    fault(`heatladder: a fault of the program, not of the bench: ${asTextOnOneLine(what)}`);
    return FAULT_OF_PROGRAM;
  }
}
