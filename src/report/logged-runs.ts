import type { Bench } from '../bench/bench.ts';
import { reductionOf, stepsOf } from '../logs/reduction-of.ts';

/** A log as the page draws it: the rise in blocks since the load step, and the response that was fitted to it. */
export interface LoggedRun {
  run: string;
  cooler: string;
  power_W: number;
  /** Mean time of each block, s, and its rise above the air that the source saw, K. */
  time_s: number[];
  rise_K: number[];
  /** `asymptote_K − Σ amplitude·exp(−t/τ)`: where the rise is heading. */
  asymptote_K: number;
  u_K: number;
  amplitudes_K: number[];
  time_constants_s: number[];
  usable: boolean;
  /** When the asymptote was known well enough, s; null: not within the log. */
  early_stop_s: number | null;
}

/** More logs than this are left to the command `reduce`: a page has to stay small. */
const MOST_LOGS = 60;

const rounded = (values: ArrayLike<number>, digits: number): number[] =>
  Array.from(values, (value) => Number(value.toFixed(digits)));

/** Logs with a response to draw, in their order. */
export function loggedRuns(bench: Bench): LoggedRun[] {
  if (bench.logs.length === 0) return [];
  const steps = stepsOf(bench);
  return reductionOf(bench)
    .runs.flatMap((run, i): LoggedRun[] => {
      const { response, amplitudes_K } = steps[i];
      if (!response || run.rise_K === null || run.u_K === null) return [];
      const { time_s, source_C, lagged_ambient_C } = response;
      return [
        {
          run: run.run,
          cooler: run.cooler,
          power_W: run.power_W,
          time_s: rounded(time_s, 0),
          rise_K: rounded(
            source_C.map((source, k) => source - lagged_ambient_C[k]),
            2,
          ),
          asymptote_K: run.rise_K,
          u_K: run.u_K,
          amplitudes_K: [...amplitudes_K],
          time_constants_s: [...run.time_constants_s],
          usable: run.usable,
          early_stop_s: run.early_stop_s,
        },
      ];
    })
    .slice(0, MOST_LOGS);
}
