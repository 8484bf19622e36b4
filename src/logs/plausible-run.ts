import type { Bench } from '../bench/bench.ts';
import { BenchError } from '../bench/bench-error.ts';
import { benchName } from '../bench/quantity.ts';
import { allowedBelowAmbient, runsPlan } from '../bench/runs-table.ts';

/** A run made from a log, as `reduce --json` prints it. */
export interface ReducedRun {
  /** The index's name, or `<name>.1`, `<name>.2` … when its log holds several steps. */
  run: string;
  cooler: string;
  sample: string;
  mount: string | null;
  source: string;
  log: string;
  power_W: number;
  fan_rpm: number;
  ambient_C: number;
  /** Asymptote of the rise and its standard uncertainty; `null` when the log is too short for any. */
  rise_K: number | null;
  u_K: number | null;
  steady: boolean;
  usable: boolean;
  settled_after_s: number | null;
  time_constants_s: number[];
  reasons: string[];
  notes: string[];
  /** Seconds after the step at which the asymptote was already known within the early-stop figure. */
  early_stop_s: number | null;
  /** How long the step was logged. */
  logged_s: number;
  /** Asymptote less the mean of the last window. */
  short_K: number | null;
  /** Means of the log's further columns over the last window, by their names in runs.csv. */
  means: Record<string, number>;
}

/** Up to this a supply that is switched off may read, W (an assumption). */
export const noLoad_W = 1;

/** As far below zero a fan that stands still may read, rpm. */
const still_rpm = 20;

const checked = runsPlan.numbers.map((column) => ({ name: benchName(column), column }));

/** A heated source may lag so much behind air that warms quickly, K (an assumption). */
const mostBehind_K = 5;

/**
 * Refuses a run that runs.csv would not take either: a value beyond what its column accepts, or a source further below
 * ambient than its sensors can be wrong by.
 *
 * @param end_K  mean of the source above ambient as read at the run's end
 * @throws BenchError naming the log
 */
export function refuseImplausible(bench: Bench, run: ReducedRun, end_K: number): void {
  const { rise_K, u_K, log } = run;
  if (rise_K === null || u_K === null) return;
  const refuse = (what: string) => new BenchError(`logs/${log}`, 1, 1, what);
  const below = (verb: string, below_K: number, allowed: number, of: string) => {
    if (!(below_K > allowed)) return;
    throw refuse(
      `the source of run ${run.run} ${verb} ${below_K.toFixed(1)} K below ambient, more than the ${allowed.toFixed(1)} K that ${of}; check whether the two columns are swapped`,
    );
  };
  const { source } = run;
  below('settles', -rise_K, allowedBelowAmbient(bench, source, u_K), 'the sensors can be wrong by');
  const most_K = mostBehind_K + allowedBelowAmbient(bench, source);
  if (run.power_W > noLoad_W) below('ends', -end_K, most_K, 'sensors and air that warms account for');
  if (!run.usable) return;
  const values: Record<string, number> = {
    ...run.means,
    power_W: Math.abs(run.power_W) <= noLoad_W ? 0 : run.power_W,
    fan_rpm: Math.abs(run.fan_rpm) <= still_rpm ? 0 : run.fan_rpm,
    source_C: run.ambient_C + rise_K,
    ambient_C: run.ambient_C,
  };
  for (const { name, column } of checked) {
    const value = values[name];
    if (value === undefined) continue;
    const { low = -Infinity, high = Infinity, above } = column;
    if (value >= low && value <= high && !(above && value === low)) continue;
    const accepted = high === Infinity ? `${above ? 'more than' : 'at least'} ${low}` : `${low} to ${high}`;
    throw refuse(
      `the mean ${name} of run ${run.run} is ${Number(value.toPrecision(6))}; ${accepted} is accepted`,
    );
  }
}
