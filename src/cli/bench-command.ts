import type { Bench } from '../bench/bench.ts';
import type { Conditions } from '../results.ts';
import type { Invocation, OptionTable } from './command.ts';
import { conditionOptions, readConditions } from './conditions.ts';
import { jsonPieces } from './json.ts';
import { metaOf } from './meta.ts';

/** The conditions and `--json`: what every command that answers from a bench takes. */
export const answerOptions: OptionTable = {
  ...conditionOptions,
  json: { describe: 'print the result as one JSON document' },
};

/**
 * The common way of a command that answers from a bench: read it, read the conditions, compute, print.
 *
 * @param compute  loads its part of the library and answers
 * @param print  tables for people
 */
export async function answerFromBench<Result extends { warnings: string[] }>(
  call: Invocation,
  compute: (bench: Bench, conditions: Conditions) => Promise<Result>,
  print: (result: Result, width: number) => Promise<string>,
): Promise<void> {
  const bench = await call.open(call.folder);
  const conditions = readConditions(call.options, bench);
  const result = await compute(bench, conditions);
  for (const warning of new Set([...bench.warnings, ...result.warnings])) call.output.warn(warning);
  if (call.options.json === true)
    await call.output.pieces(jsonPieces({ ...result, meta: metaOf(call.folder, call.options) }));
  else call.output.result(await print(result, call.output.width));
}
