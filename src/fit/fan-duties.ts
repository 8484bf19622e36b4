import type { Bench, Run } from '../bench/bench.ts';
import { isotonic } from '../numerics/isotonic.ts';

/** How one cooler's fan speed goes with its duty. */
export interface FanDutyResult {
  cooler: string;
  runs: number;
  samples: number;
  /** Least speed at the least duty and so on: the monotone curve at the duties run. */
  points: { duty_percent: number; fan_rpm: number }[];
  /** Relative standard deviation of speed between samples at one duty, and of readings within a sample; null with one sample. */
  sample_share: number | null;
  reading_share: number;
}

/** Two duties within this many points are one (an assumption). */
const SAME_DUTY = 0.5;

/**
 * Fan speed against duty of every cooler whose runs state `fan_duty_percent`: a curve that never falls, and how far apart
 * the fans of several samples run at one duty.
 *
 * Speeds at one duty are averaged over samples, each sample counted once; the averages are then made to rise with the duty
 * (isotonic regression), since a fan does not slow down when asked for more. The scatter between samples is of the mean of
 * each one's speed over the curve's.
 *
 * A cooler with several fans counts with the speed that its runs state, that of one of them; the scatter between samples is then
 * between sets of fans.
 */
export function fanDuties(bench: Bench): FanDutyResult[] {
  return bench.coolers.flatMap(({ cooler }) => {
    const runs = bench.runs.filter(
      (run) => run.cooler === cooler && run.fan_duty_percent !== undefined && run.fan_rpm > 0,
    );
    return runs.length > 0 ? [dutyCurve(cooler, runs)] : [];
  });
}

/**
 * Fan speed against duty: at each duty the mean over samples of their means, and how far the samples' fans
 * differ.
 */
function dutyCurve(cooler: string, runs: readonly Run[]): FanDutyResult {
  const duties: number[] = [];
  for (const run of [...runs].sort((a, b) => dutyOf(a) - dutyOf(b))) {
    if (duties.length === 0 || dutyOf(run) - duties[duties.length - 1] > SAME_DUTY) duties.push(dutyOf(run));
  }
  const samples = [...new Set(runs.map((run) => run.sample))];
  const cells = duties.map((duty) =>
    runs.filter((run) => dutyOf(run) >= duty && dutyOf(run) - duty <= SAME_DUTY),
  );
  const means = cells.map((cell) =>
    mean(
      samples.flatMap((sample) => {
        const own = cell.filter((run) => run.sample === sample).map((run) => run.fan_rpm);
        return own.length > 0 ? [mean(own)] : [];
      }),
    ),
  );
  const curve = isotonic(
    means,
    cells.map((cell) => new Set(cell.map((run) => run.sample)).size),
  );
  const ratios = samples.map((sample) =>
    cells.flatMap((cell, d) =>
      cell.filter((run) => run.sample === sample).map((run) => run.fan_rpm / curve[d]),
    ),
  );
  const ofSample = ratios.map(mean);
  const within = ratios.flatMap((own, s) => own.map((ratio) => (ratio - ofSample[s]) ** 2));
  const freedom = Math.max(within.length - samples.length, 1);
  const centre = mean(ofSample);
  const between = ofSample.reduce((sum, m) => sum + (m - centre) ** 2, 0);
  return {
    cooler,
    runs: runs.length,
    samples: samples.length,
    points: duties.map((duty_percent, d) => ({ duty_percent, fan_rpm: curve[d] })),
    sample_share: samples.length > 1 ? Math.sqrt(between / (samples.length - 1)) : null,
    reading_share: Math.sqrt(within.reduce((a, b) => a + b, 0) / freedom),
  };
}

function dutyOf(run: Run): number {
  return run.fan_duty_percent as number;
}

function mean(values: readonly number[]): number {
  return values.reduce((a, b) => a + b, 0) / values.length;
}
