import { join } from 'node:path';
import { BenchError } from '../../bench/bench-error.ts';
import type { MergedRuns } from '../../logs/merge-runs.ts';
import { printAnswer } from '../bench-command.ts';
import type { Command, GivenOptions } from '../command.ts';
import { openFolder } from '../open-bench.ts';
import { startProgress } from '../progress.ts';
import { contentOf, writeFileWhole } from '../write-whole.ts';

export const reduce: Command = {
  name: 'reduce',
  operand: 'bench',
  about: `Turns raw logs into steady states: the asymptote of each rise with its
uncertainty, whether the run was steady, why not, and when it could have been
stopped. Writes the usable runs to runs.csv, each with its log; rows without a
log were typed, and are kept.`,
  example: 'heatladder reduce demo-bench',
  options: {
    'early-stop': { value: 'K', describe: 'a rise known within so much may stop, at 95 % (default 0.2)' },
    replace: { describe: 'drop rows of runs.csv that stand in the way; without it they are named' },
    'no-write': { describe: 'only show the result, leave runs.csv as it is' },
    json: { describe: 'print the result as one JSON document' },
  },
  run: async (call) => {
    const { folder, options, output } = call;
    const early_stop_K = earlyStopOf(options);
    const place = join(folder, 'runs.csv');
    const before = contentOf(place);
    const bench = await openFolder(folder);
    if (bench.logs.length === 0) {
      throw new BenchError(
        'logs.csv',
        1,
        1,
        'the bench has no logs; put them below logs/ and list them in logs.csv: run,cooler,sample,mount,source,log',
      );
    }
    const [{ reduce: reduceLogs, reducedRuns }, { mergeRuns }, { writeRuns }] = await Promise.all([
      import('../../logs/reduce.ts'),
      import('../../logs/merge-runs.ts'),
      import('../../bench/write-runs.ts'),
    ]);
    const progress = await startProgress('logs reduced');
    let result: ReturnType<typeof reduceLogs>;
    try {
      result = reduceLogs(bench, { early_stop_K, onProgress: progress.at });
    } finally {
      progress.end();
    }
    const made = reducedRuns(bench, result);
    const { rows, lost } = mergeRuns(bench, made);
    const write = options['no-write'] !== true && rows.length > 0;
    if (lost.length > 0) {
      if (write && options.replace !== true) throw refusedToDrop(lost);
      output.warn(`${write ? 'dropped as asked' : 'would be refused without --replace'}: ${namesOf(lost)}`);
    }
    if (write) writeFileWhole(place, new TextEncoder().encode(writeRuns(rows)), 'runs.csv', { before });
    await printAnswer(
      call,
      { ...result, written: write, rows: rows.length },
      async (answer, width) =>
        (await import('../../answers/text/reduce-tables.ts')).reduceTables(
          answer,
          { made: made.length, rows: rows.length, write },
          width,
        ),
      { warnings: bench.warnings, logs: true },
    );
  },
};

type Lost = MergedRuns['lost'];
const MOST_NAMED = 12;

const namesOf = (lost: Lost): string => {
  const more = lost.length > MOST_NAMED ? ` and ${lost.length - MOST_NAMED} more` : '';
  const named = lost.slice(0, MOST_NAMED).map(({ row }) => `${row.run} (line ${row.line})`);
  return `${named.join(', ')}${more} of runs.csv`;
};

function refusedToDrop(lost: Lost): BenchError {
  const [{ row, by }] = lost;
  const why = by
    ? `row ${row.run} was typed, and logs/${by.log} makes a run of that name; rename one of them`
    : `row ${row.run} was made of logs/${row.log}, which gives no such run any more; take the row out`;
  const all = lost.length > 1 ? `; ${lost.length} such rows: ${namesOf(lost)}` : '';
  return new BenchError('runs.csv', row.line, 1, `${why}, or drop it with --replace${all}`);
}

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
