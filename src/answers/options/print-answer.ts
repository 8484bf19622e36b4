import type { Bench } from '../../bench/bench.ts';
import type { Conditions } from '../../predict/conditions.ts';
import type { Strange } from '../../screen/strange.ts';
import { jsonPieces } from '../text/json.ts';
import { strangeText } from '../text/strange-line.ts';
import { asText, namesAsText } from '../text/terminal-text.ts';
import type { Invocation, OptionTable } from './command.ts';
import { conditionOptions, readConditions } from './conditions.ts';

/** The conditions and `--json`: what every command that answers from a bench takes. */
export const answerOptions = {
  ...conditionOptions,
  json: { describe: 'print the result as one JSON document' },
} satisfies OptionTable;

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
 * @param isPlain  whether the bench has no name that would have to be written out, so that a large answer need not be gone through
 */
export async function printAnswer<Result extends Answer>(
  { folder, options, output, files }: Invocation,
  result: Result,
  print: (result: Result, width: number) => string,
  {
    warnings = [],
    logs = false,
    isPlain = false,
  }: { warnings?: readonly string[]; logs?: boolean; isPlain?: boolean } = {},
): Promise<void> {
  for (const warning of new Set([...warnings, ...result.warnings])) output.warn(warning);
  if (options.json === true)
    await output.pieces(jsonPieces({ ...result, meta: files.meta(folder, options, logs) }));
  else {
    const text = (answer: Result) => strangeText(answer.strange, output.width) + print(answer, output.width);
    const asFound = isPlain ? text(result) : undefined;
    output.result(asFound !== undefined && asText(asFound) === asFound ? asFound : text(namesAsText(result)));
  }
}

/**
 * The common way of a command that answers from a bench: read it, read the conditions, compute, print.
 *
 * @param print  tables for people
 */
export async function answerFromBench<Result extends Answer>(
  call: Invocation,
  compute: (bench: Bench, conditions: Conditions) => Result,
  print: (result: Result, width: number) => string,
): Promise<void> {
  const bench = await call.open(call.folder);
  const conditions = readConditions(call.options, bench);
  const result = compute(bench, conditions);
  await printAnswer(call, result, print, { warnings: bench.warnings, isPlain: namesAsText(bench) === bench });
}
