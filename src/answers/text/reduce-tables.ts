import type { ReducedRun, ReduceResult } from '../../logs/reduce.ts';
import { table } from './table.ts';
import { wrap } from './text-width.ts';
import { conciseUncertainty, fixed } from './uncertainty.ts';
import { plain } from './wording.ts';

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
        : `How the source follows the air is not told by these logs; several ways are allowed for.`) +
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
export function reduceTables(result: ReduceResult, written: RunsWritten, width = 80): string {
  const { runs } = result;
  const usable = runs.filter((run) => run.usable).length;
  const steady = runs.filter((run) => run.steady).length;
  const lines = [
    `${runs.length} runs in the logs: ${usable} usable, ${steady} of all steady to the end.`,
    '',
    runTable(runs, width),
    '',
  ];
  const reasons = reasonLines(runs, width);
  if (reasons.length > 0) lines.push(...reasons, '');
  lines.push(
    ...wrap(
      'Rise: the asymptote above ambient, its standard uncertainty in brackets. Usable: known within 0.3 K (95 %). Steady: besides, the last minute within 0.1 K of it.',
      width,
    ),
    ...readingsLines(result, width),
    ...wrap(savedLine(result), width),
    writtenLine(written),
  );
  return `${lines.join('\n')}\n`;
}
