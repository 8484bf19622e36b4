import type { Bench } from '../bench/bench.ts';
import type { Conditions, Strange } from '../results.ts';
import type { Invocation, OptionTable } from './command.ts';
import { conditionOptions, readConditions } from './conditions.ts';
import { jsonPieces } from './json.ts';
import { metaOf } from './meta.ts';
import { namesAsText } from './terminal-text.ts';

/** The conditions and `--json`: what every command that answers from a bench takes. */
export const answerOptions: OptionTable = {
  ...conditionOptions,
  json: { describe: 'print the result as one JSON document' },
};

/** An answer with what it warns of. */
interface Answer {
  warnings: string[];
  /** Outliers that it stands on, said above it. */
  strange?: Strange[];
}

/**
 * Prints an answer: its warnings, then one JSON document or tables for people.
 *
 * @param print  tables for people, from the answer with its names as text
 * @param logs  whether the answer was made from the logs too
 */
export async function printAnswer<Result extends Answer>(
  { folder, options, output }: Invocation,
  result: Result,
  print: (result: Result, width: number) => Promise<string>,
  { warnings = [], logs = false }: { warnings?: readonly string[]; logs?: boolean } = {},
): Promise<void> {
  for (const warning of new Set([...warnings, ...result.warnings])) output.warn(warning);
  if (options.json === true)
    await output.pieces(jsonPieces({ ...result, meta: metaOf(folder, options, logs) }));
  else {
    const answer = namesAsText(result);
    const { strangeText } = await import('../answers/text/strange-line.ts');
    output.result(strangeText(answer.strange, output.width) + (await print(answer, output.width)));
  }
}

/**
 * The common way of a command that answers from a bench: read it, read the conditions, compute, print.
 *
 * @param compute  loads its part of the library and answers
 * @param print  tables for people
 */
export async function answerFromBench<Result extends Answer>(
  call: Invocation,
  compute: (bench: Bench, conditions: Conditions) => Promise<Result>,
  print: (result: Result, width: number) => Promise<string>,
): Promise<void> {
  const bench = await call.open(call.folder);
  const conditions = readConditions(call.options, bench);
  const result = await compute(bench, conditions);
  await printAnswer(call, result, print, { warnings: bench.warnings });
}
