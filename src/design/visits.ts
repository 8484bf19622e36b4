import { isSame } from '../bench/run.ts';
import type { CoolerPosterior } from '../fit/bench-posterior.ts';

/** One fitting and what is run on it. */
export interface Visit {
  /** Index among the coolers asked for. */
  readonly cooler: number;
  readonly sample: string;
  readonly loads_W: readonly number[];
  readonly minutes: number;
  /** On the heater where the question is about a chip; absent: on the source that the question is about. */
  readonly onHeater?: true;
}

/** A run that has not been done. */
export interface PlannedRun {
  /** Index among the coolers asked for. */
  readonly cooler: number;
  readonly sample: string;
  /** Fittings with one name are one; a name that no run of the bench has is fresh paste. */
  readonly mount: string;
  readonly power_W: number;
  readonly fan_rpm: number;
  /** See {@link Visit}. */
  readonly onHeater?: true;
}

/** The runs of some visits, each visit a fitting of its own. */
export function runsOfVisits(visits: readonly Visit[], fanOf: (visit: Visit) => number): PlannedRun[] {
  return visits.flatMap((visit, v) =>
    visit.loads_W.map((power_W) => ({
      cooler: visit.cooler,
      sample: visit.sample,
      mount: `planned/${v}`,
      power_W,
      fan_rpm: fanOf(visit),
      ...(visit.onHeater && { onHeater: true as const }),
    })),
  );
}

/** Loads tried besides the targets. */
const OTHER_LOADS = 3;

/**
 * The visits that a plan may choose from: each sample at hand, freshly fitted, at one load or at two.
 *
 * Loads are the targets within reach, the greatest load within reach where a target is not, and some of the loads run so far.
 *
 * @param most_W  greatest load within reach
 */
export function visitsOf(
  cooler: CoolerPosterior,
  index: number,
  target_W: readonly number[],
  most_W: number,
  settle_min: number,
  remount_min: number,
): Visit[] {
  const wanted = [...new Set(target_W.map((load) => Math.min(load, Math.floor(most_W))))];
  const run = [...new Set(Array.from(cooler.data.power_W, (power) => 5 * Math.round(power / 5)))]
    .filter((load) => load > 0 && load <= most_W && wanted.every((other) => !isSame(other, load)))
    .sort((a, b) => a - b);
  const others =
    run.length <= OTHER_LOADS ? run : [0, 1, 2].map((k) => run[Math.round((k * (run.length - 1)) / 2)]);
  const loads = [...wanted, ...others];
  const pairs = wanted.flatMap((load) => loads.filter((other) => other < load).map((other) => [other, load]));
  const samples = [...new Set(cooler.data.runs.map((one) => one.sample))];
  return samples.flatMap((sample) =>
    [...loads.map((load) => [load]), ...pairs].map(
      (loads_W): Visit => ({
        cooler: index,
        sample,
        loads_W,
        minutes: remount_min + settle_min * loads_W.length,
      }),
    ),
  );
}
