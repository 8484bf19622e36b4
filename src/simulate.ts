import type { Bench } from './bench/bench.ts';
import { isZeroLoad } from './bench/run.ts';
import { temperatureLimit } from './bench/source.ts';
import type { BenchPosterior, CoolerPosterior } from './fit/bench-posterior.ts';
import { posteriorFor } from './fit/posterior-for.ts';
import { benchWithRuns } from './logs/bench-with-runs.ts';
import { askedRuns } from './months/asked-runs.ts';
import { predictFrom } from './predict/predict.ts';
import { fitNetwork } from './response/fit-network.ts';
import {
  type NetworkSimulation,
  simulate as networkSimulate,
  type ProfileStep,
} from './response/load-profile.ts';
import type { Conditions, Prediction } from './results.ts';

export interface SimulateOptions extends Pick<Conditions, 'source' | 'ambient_C' | 'level' | 'without'> {
  cooler: string;
  profile: readonly ProfileStep[];
  /** Spacing of the answer, s; times of the profile are always among it. */
  interval_s?: number;
  /** How long to go on after the last row of the profile, s. Default: five times the slowest time constant. */
  after_s?: number;
}

export interface SimulateResult extends NetworkSimulation {
  bench: string;
  /** Confidence of the intervals. */
  level: number;
  /** Where steady resistances come from: the fitted models of the runs, or the logs alone. */
  resistance_from: 'models' | 'logs';
  /** What the models say of the greatest load of the profile at steady state, with its intervals. */
  greatest: Prediction | null;
  warnings: string[];
}

/**
 * Temperature of the source through a load profile, from ambient at its start.
 *
 * How fast it moves comes from the step responses in the cooler's logs; how far, from the models fitted to its runs, at
 * each load and fan speed of the profile.
 *
 * @throws BenchError where the cooler has no log with a step of the load
 * @throws RangeError for a profile that is empty, goes back in time or holds a negative load or speed
 * @example simulate(bench, { cooler: 'Heron', profile: [{ time_s: 0, power_W: 200 }, { time_s: 600, power_W: 0 }] }).peak_C
 */
export function simulate(whole: Bench, options: SimulateOptions): SimulateResult {
  const { cooler, profile, source = 'heater', ambient_C, level = 0.95, without, ...rest } = options;
  const network = fitNetwork(benchWithRuns(whole), cooler, { source });
  const { bench, warnings } = askedRuns(whole, { without });
  const fitted = bench.runs.some((run) => run.cooler === cooler && run.source === source && !isZeroLoad(run))
    ? fittedCooler(bench, cooler, source)
    : undefined;
  const predicted = fitted && predictionsOf(fitted, level, ambient_C);
  // Next to no load is as good as the least that the models know of: its rise is too small to matter.
  const least_W = fitted ? fitted.cooler.data.powerLow_W / 4 : 0;
  const result = networkSimulate(bench, {
    ...rest,
    cooler,
    profile,
    source,
    ambient_C,
    network,
    resistance:
      predicted &&
      ((power_W, fan_rpm) => {
        const load = Math.max(coarse(power_W), least_W);
        return predicted(load, coarse(fan_rpm)).rise_K / load;
      }),
    limit_C: temperatureLimit(bench, source),
  });
  const greatest_W = profile.reduce((most, row) => Math.max(most, row.power_W), 0);
  const top = result.power_W.indexOf(greatest_W);
  return {
    bench: bench.name,
    level,
    ...result,
    resistance_from: fitted ? 'models' : 'logs',
    greatest: predicted && greatest_W > 0 ? predicted(greatest_W, result.fan_rpm[top]) : null,
    notes: [...result.notes, ...(predicted ? beyondNotes(result, predicted) : [])],
    warnings: [...new Set([...bench.warnings, ...warnings, ...(fitted?.posterior.warnings ?? [])])],
  };
}

/** Three digits: a profile that was logged has a load of its own in every row, and a resistance hardly moves within 0.5 %. */
const coarse = (value: number): number => Number(value.toPrecision(3));

interface FittedCooler {
  readonly posterior: BenchPosterior;
  readonly cooler: CoolerPosterior;
}

function fittedCooler(bench: Bench, name: string, source: string): FittedCooler | undefined {
  const posterior = posteriorFor(bench, source);
  const cooler = posterior.coolers.find((one) => one.data.cooler.cooler === name);
  return cooler && { posterior, cooler };
}

/** What the models predict at a load and speed, worked out once; at the fan's greatest where it has no speed. */
function predictionsOf(
  { posterior, cooler }: FittedCooler,
  level: number,
  ambient_C: number | undefined,
): (power_W: number, fan_rpm: number) => Prediction {
  const known = new Map<string, Prediction>();
  const coolers = [cooler.data.cooler.cooler];
  return (power_W, fan_rpm) => {
    const key = `${power_W} ${fan_rpm}`;
    let prediction = known.get(key);
    if (!prediction) {
      const speed = fan_rpm > 0 ? { fan_rpm } : { fan_percent: 100 };
      [prediction] = predictFrom(posterior, {
        power_W: [power_W],
        ...speed,
        coolers,
        level,
        ambient_C,
      }).predictions;
      known.set(key, prediction);
    }
    return prediction;
  };
}

/** Where rows of the profile leave what was run, in words. */
function beyondNotes(
  { power_W, fan_rpm, cooler }: NetworkSimulation,
  predicted: (power_W: number, fan_rpm: number) => Prediction,
): string[] {
  const beyond = new Set<string>();
  power_W.forEach((load, i) => {
    if (load > 0 && predicted(coarse(load), coarse(fan_rpm[i])).extrapolated) {
      beyond.add(`${Number(load.toFixed(1))} W at ${Math.round(fan_rpm[i])} rpm`);
    }
  });
  if (beyond.size === 0) return [];
  const named = [...beyond].slice(0, MOST_NAMED).join(', ');
  const more = beyond.size > MOST_NAMED ? ` and ${beyond.size - MOST_NAMED} more` : '';
  return [`beyond the loads or speeds run on ${cooler}, an extrapolation: ${named}${more}`];
}

const MOST_NAMED = 6;
