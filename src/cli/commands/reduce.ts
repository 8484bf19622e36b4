import { join } from 'node:path';
import { BenchError } from '../../bench/bench-error.ts';
import type { Command, GivenOptions } from '../command.ts';
import { jsonText } from '../json.ts';
import { metaOf } from '../meta.ts';
import { openFolder } from '../open-bench.ts';
import { startProgress } from '../progress.ts';
import { writeFileWhole } from '../write-whole.ts';

export const reduce: Command = {
  name: 'reduce',
  operand: 'bench',
  about: `Turns raw logs into steady states: the asymptote of each rise with its
uncertainty, whether the run was steady, why not, and when it could have been
stopped. Writes the usable runs to runs.csv; rows that no log made are kept.`,
  example: 'heatladder reduce demo-logs',
  options: {
    'early-stop': { value: 'K', describe: 'a rise known within so much may stop, at 95 % (default 0.2)' },
    'no-write': { describe: 'only show the result, leave runs.csv as it is' },
    json: { describe: 'print the result as one JSON document' },
  },
  run: async ({ folder, options, output }) => {
    const early_stop_K = earlyStopOf(options);
    const bench = await openFolder(folder);
    if (bench.logs.length === 0) {
      throw new BenchError(
        'logs.csv',
        1,
        1,
        'the bench has no logs; put them below logs/ and list them in logs.csv: run,cooler,sample,mount,source,log',
      );
    }
    const [{ reduce: reduceLogs, reducedRuns, mergeRuns }, { writeRuns }] = await Promise.all([
      import('../../reduction/reduce.ts'),
      import('../../bench/write-runs.ts'),
    ]);
    const progress = await startProgress('logs reduced');
    let result: ReturnType<typeof reduceLogs>;
    try {
      result = reduceLogs(bench, { early_stop_K, onProgress: progress.at });
    } finally {
      progress.end();
    }
    for (const warning of new Set([...bench.warnings, ...result.warnings])) output.warn(warning);
    const made = reducedRuns(bench, result);
    const rows = mergeRuns(bench, made);
    const write = options['no-write'] !== true && rows.length > 0;
    const meta = options.json === true ? metaOf(folder, options, true) : undefined;
    if (write)
      writeFileWhole(join(folder, 'runs.csv'), new TextEncoder().encode(writeRuns(rows)), 'runs.csv');
    if (options.json === true) {
      output.result(jsonText({ ...result, written: write, rows: rows.length, meta }));
      return;
    }
    const { reduceTables } = await import('../../tables/reduce-tables.ts');
    output.result(reduceTables(result, { made: made.length, rows: rows.length, write }, output.width));
  },
};

function earlyStopOf({ 'early-stop': text }: GivenOptions): number {
  if (text === undefined) return 0.2;
  const value = typeof text === 'string' && /^(\d+\.?\d*|\.\d+)$/.test(text) ? Number(text) : Number.NaN;
  if (value > 0 && value <= 10) return value;
  throw new BenchError(
    '--early-stop',
    1,
    1,
    `"${text}" is no half-width; give K above 0 and up to 10, such as 0.2`,
  );
}
