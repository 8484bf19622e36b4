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

/**
 * Refuses a run that runs.csv would not take either: a value beyond what its column accepts, or a source further below
 * ambient than its sensors can be wrong by.
 *
 * @throws BenchError naming the log
 */
export function refuseImplausible(bench: Bench, run: ReducedRun): void {
  const { rise_K, u_K, log } = run;
  if (rise_K === null || u_K === null) return;
  const refuse = (what: string) => new BenchError(`logs/${log}`, 1, 1, what);
  const allowed = allowedBelowAmbient(bench, run.source, u_K);
  if (-rise_K > allowed) {
    throw refuse(
      `the source of run ${run.run} settles ${(-rise_K).toFixed(1)} K below ambient, more than the ${allowed.toFixed(1)} K that the sensors can be wrong by; check whether the two columns are swapped`,
    );
  }
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
