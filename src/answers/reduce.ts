import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { writeRuns } from '../bench/write-runs.ts';
import { type MergedRuns, mergeRuns } from '../logs/merge-runs.ts';
import type { ReducedRun } from '../logs/reduce.ts';
import { type ReduceResult, reduce, reducedRuns } from '../logs/reduce.ts';
import type { Command, Files } from './options/command.ts';
import { numberGiven } from './options/conditions.ts';
import { printAnswer } from './options/print-answer.ts';
import { table } from './text/table.ts';
import { wrap } from './text/text-width.ts';
import { conciseUncertainty, fixed } from './text/uncertainty.ts';
import { plain } from './text/wording.ts';

export const command: Command = {
  name: 'reduce',
  operand: 'bench',
  about: `Turns raw logs into steady states: the asymptote of each rise with its
uncertainty, whether the run was steady, why not, and when it could have been
stopped. Writes the usable runs to runs.csv, each with its log; rows that were
typed in, without a log, are kept.`,
  example: 'heatladder reduce demo-bench',
  options: () => ({
    'early-stop': {
      value: 'K',
      describe: 'a run may stop once its rise is known within this, at 95 % (default 0.2)',
    },
    replace: { describe: 'replace rows of runs.csv that conflict; without it they are listed' },
    'no-write': { describe: 'only show the result, leave runs.csv as it is' },
    json: { describe: 'print the result as one JSON document' },
  }),
  run: async (call) => {
    const { folder, options, output, files } = call;
    const half = 'half-width; give K above 0 and up to 10, such as 0.2';
    const early_stop_K = numberGiven(options, 'early-stop', half, (K) => K > 0 && K <= 10) ?? 0.2;
    const before = files.contentOf(folder, 'runs.csv');
    const bench = await files.openFolder(folder);
    if (bench.logs.length === 0) {
      const what =
        'the bench has no logs; put them below logs/ and list them in logs.csv: run,cooler,sample,mount,source,log';
      throw new BenchError('logs.csv', 1, 1, what);
    }
    const result = await reducedWith(files, bench, early_stop_K);
    const made = reducedRuns(bench, result);
    const { rows, lost } = mergeRuns(bench, made);
    const write = options['no-write'] !== true && rows.length > 0;
    if (lost.length > 0) {
      if (write && options.replace !== true) throw refusedToDrop(lost);
      output.warn(`${write ? 'dropped as asked' : 'would be refused without --replace'}: ${namesOf(lost)}`);
    }
    if (write) files.replace(folder, 'runs.csv', writeRuns(rows), before);
    const counts = { made: made.length, rows: rows.length, write };
    await printAnswer(
      call,
      { ...result, written: write, rows: rows.length },
      (answer, width) => reduceTables(answer, counts, width),
      { warnings: bench.warnings, logs: true },
    );
  },
};

async function reducedWith(files: Files, bench: Bench, early_stop_K: number): Promise<ReduceResult> {
  const progress = await files.progress('logs reduced');
  try {
    return reduce(bench, { early_stop_K, onProgress: progress.at });
  } finally {
    progress.end();
  }
}

type Lost = MergedRuns['lost'];
const MOST_LOST_NAMED = 12;

const namesOf = (lost: Lost): string => {
  const more = lost.length > MOST_LOST_NAMED ? ` and ${lost.length - MOST_LOST_NAMED} more` : '';
  const named = lost.slice(0, MOST_LOST_NAMED).map(({ row }) => `${row.run} (line ${row.line})`);
  return `${named.join(', ')}${more} of runs.csv`;
};

function refusedToDrop(lost: Lost): BenchError {
  const [{ row, by }] = lost;
  const why = by
    ? `row ${row.run} was typed in, and logs/${by.log} gives a run of the same name; rename one of them`
    : `row ${row.run} came from logs/${row.log}, which no longer gives such a run; delete the row`;
  const all = lost.length > 1 ? `; ${lost.length} such rows: ${namesOf(lost)}` : '';
  return new BenchError('runs.csv', row.line, 1, `${why}, or drop it with --replace${all}`);
}

/** What became of runs.csv. */
export interface RunsWritten {
  /** Rows that came from the logs, and all rows. */
  made: number;
  rows: number;
  write: boolean;
}

const minutes = (seconds: number | null): string => (seconds === null ? '-' : fixed(seconds / 60, 1));

function stateOf({ usable, steady }: ReducedRun): string {
  if (!usable) return 'not usable';
  return steady ? 'steady' : 'usable';
}

function riseText({ rise_K, u_K }: ReducedRun): string {
  return rise_K === null || u_K === null ? '-' : conciseUncertainty(rise_K, u_K);
}

function runTable(runs: readonly ReducedRun[], width: number): string {
  return table(
    [
      { title: 'run', align: 'left' },
      { title: 'cooler', align: 'left' },
      { title: 'load', unit: 'W', align: 'right' },
      { title: 'rise', unit: 'K', align: 'right' },
      { title: 'state', align: 'left' },
      { title: 'logged', unit: 'min', align: 'right' },
      { title: 'settled', unit: 'min', align: 'right' },
      { title: 'could stop at', unit: 'min', align: 'right' },
    ],
    runs.map((run) => [
      run.run,
      run.cooler,
      fixed(run.power_W, 1),
      riseText(run),
      stateOf(run),
      minutes(run.logged_s),
      minutes(run.settled_after_s),
      minutes(run.early_stop_s),
    ]),
    { width },
  );
}

/** Reasons that decided, then remarks, a paragraph a run. */
function reasonLines(runs: readonly ReducedRun[], width: number): string[] {
  return runs.flatMap((run) => {
    const said = new Set([...run.reasons, ...run.notes]);
    if (said.size === 0) return [];
    const what = run.usable ? (run.steady ? '' : ' not steady, yet usable:') : ' not usable:';
    return wrap(`${run.run}:${what} ${[...said].join('; ')}.`, width - 2, 2).map((line) => `  ${line}`);
  });
}

function writtenLine({ made, rows, write }: RunsWritten): string {
  const from = `${made} ${made === 1 ? 'row' : 'rows'} from the logs`;
  const kept = rows - made > 0 ? `, ${rows - made} kept` : '';
  if (rows === 0) return 'No run is usable: runs.csv is left as it is.';
  return write ? `runs.csv: ${from}${kept}.` : `runs.csv is left as it is; it would have ${from}${kept}.`;
}

function savedLine(result: ReduceResult): string {
  const { hours_saved, hours_logged, early_stop_K } = result;
  return `Stopped as soon as the rise was known within ${plain(early_stop_K)} K (95 %), these runs would have saved ${fixed(hours_saved, 1)} of ${fixed(hours_logged, 1)} hours on the bench.`;
}

const count = (n: number): string => `${n} load ${n === 1 ? 'step' : 'steps'}`;

/** What the uncertainties rest on, and whether the logs have told it. */
function readingsLines({ readings }: ReduceResult, width: number): string[] {
  const { noise, air, steps, longest_s } = readings;
  if (steps === 0) return [];
  const from = `${count(steps)} of up to ${fixed(longest_s / 60, 0)} minutes`;
  const size = `${plain(Number(noise.ten_minutes_K.toPrecision(2)))} K over ten minutes`;
  const way =
    air.law === 'lag'
      ? `through a lag of ${plain(air.lag_s ?? 0)} s`
      : {
          'at once': 'at once',
          ladder: 'through all of the cooler',
          shares: 'by shares of its parts',
          'slowest element': 'through its slowest part',
        }[air.law];
  return wrap(
    `${noise.measured ? 'Measured' : 'Only partly known'} from ${from}: the noise of the source, ${size}. ` +
      (air.measured
        ? `Measured: the source follows the air ${way}.`
        : `These logs do not show how the source follows the air; several ways are allowed for.`) +
      (noise.measured
        ? ''
        : ' A longer log of this bench, or more of them, would make the intervals narrower.'),
    width,
  );
}

/**
 * What the logs came to, for a person: a line a run, reasons in words, and the time that stopping early would have saved.
 *
 * @returns text with a line end after the last line
 */
function reduceTables(result: ReduceResult, written: RunsWritten, width = 80): string {
  const { runs } = result;
  const usable = runs.filter((run) => run.usable).length;
  const steady = runs.filter((run) => run.steady).length;
  const lines = [
    `${runs.length} runs in the logs: ${usable} usable, ${steady} of all were steady at the end.`,
    '',
    runTable(runs, width),
    '',
  ];
  const reasons = reasonLines(runs, width);
  if (reasons.length > 0) lines.push(...reasons, '');
  lines.push(
    ...wrap(
      'Rise: the asymptote above ambient, its standard uncertainty in brackets. Usable: known within 0.3 K (95 %). Steady: the last minute is also within 0.1 K of it.',
      width,
    ),
    ...readingsLines(result, width),
    ...wrap(savedLine(result), width),
    writtenLine(written),
  );
  return `${lines.join('\n')}\n`;
}
