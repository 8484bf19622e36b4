import type { Bench, Run } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { studyOf } from '../study.ts';
import { type ReducedRun, type ReduceOptions, reducedRuns } from './reduce.ts';
import { reductionOf } from './reduction-of.ts';

/**
 * A bench that can be asked: one that has logs and no runs gets the usable runs of its logs.
 *
 * The files stay as they are. Runs that are not usable are left out, and a warning names them. A cooler whose greatest fan
 * speed stands nowhere gets the highest speed that its logs show. Asked twice, the same bench comes back and with it
 * everything that was computed from it.
 *
 * @param onProgress  called after each log, where they have not been reduced before
 * @returns the bench itself where it has runs or no logs
 * @throws BenchError for a log that cannot be read, or where no log gives a usable run
 * @example benchWithRuns(bench).runs[0].u_K
 */
export function benchWithRuns(bench: Bench, onProgress?: ReduceOptions['onProgress']): Bench {
  if (bench.runs.length > 0 || bench.logs.length === 0) return bench;
  return studyOf(bench).once('runs of its logs', () => withReducedRuns(bench, onProgress));
}

/** The bench with the usable runs of its logs as runs. */
function withReducedRuns(bench: Bench, onProgress: ReduceOptions['onProgress']): Bench {
  const result = reductionOf(bench, onProgress);
  const runs = reducedRuns(bench, result);
  const left = result.runs.filter((run) => !run.usable);
  if (runs.length === 0) throw noneUsable(bench, left[0]);
  const warnings = [...bench.warnings, ...result.warnings];
  if (left.length > 0) warnings.push(leftOut(left, result.runs.length));
  const unknown = runs.filter((run) => run.mount === undefined).length;
  if (unknown > 0) {
    warnings.push(
      `logs.csv:1:1: ${unknown} of ${runs.length} runs ${unknown === 1 ? 'has' : 'have'} no mount; their mount scatter is assumed, not measured. Add a column mount that tells one fitting from the next`,
    );
  }
  return { ...bench, runs, coolers: coolersOf(bench, runs), warnings };
}

/** Speeds in logs are known only now: the highest stands in where no table states one. */
function coolersOf(bench: Bench, runs: readonly Run[]): Bench['coolers'] {
  return bench.coolers.map((cooler) => {
    if (cooler.fan_max_stated) return cooler;
    const fastest = runs
      .filter((run) => run.cooler === cooler.cooler)
      .reduce((most, run) => Math.max(most, run.fan_rpm), cooler.fan_max_rpm);
    return fastest === cooler.fan_max_rpm ? cooler : { ...cooler, fan_max_rpm: fastest };
  });
}

const MOST_NAMED = 8;

function leftOut(left: readonly ReducedRun[], all: number): string {
  const names = left.slice(0, MOST_NAMED).map((run) => run.run);
  const more = left.length > MOST_NAMED ? ` and ${left.length - MOST_NAMED} more` : '';
  return `${left.length} of ${all} runs from the logs ${left.length === 1 ? 'is' : 'are'} left out, because the steady rise is not known well enough: ${names.join(', ')}${more}; reduce gives the reasons`;
}

function noneUsable(bench: Bench, first: ReducedRun | undefined): BenchError {
  const entry = bench.logs.find((log) => log.log === first?.log) ?? bench.logs[0];
  const why = first ? `; run ${first.run}: ${first.reasons[0] ?? 'no asymptote'}` : '; they have no rows';
  return new BenchError(
    'logs.csv',
    entry.line,
    1,
    `none of the ${bench.logs.length} logs gives a run whose steady rise is known within 0.3 K${why}`,
  );
}
