import type { Bench } from '../bench/bench.ts';
import { isZeroLoad } from '../bench/run.ts';
import { temperatureLimit } from '../bench/source.ts';
import type { BenchPosterior, CoolerPosterior } from '../fit/bench-posterior.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import { benchWithRuns } from '../logs/bench-with-runs.ts';
import { askedRuns } from '../months/asked-runs.ts';
import type { Conditions } from '../predict/conditions.ts';
import type { Prediction } from '../predict/predict.ts';
import { predictFrom } from '../predict/predict.ts';
import { fitNetwork } from '../response/fit-network.ts';
import { type NetworkSimulation, type ProfileStep, simulateNetwork } from '../response/load-profile.ts';
import { readProfile } from '../response/profile-table.ts';
import type { Command } from './options/command.ts';
import { fault, numberGiven, readConditions } from './options/conditions.ts';
import { answerOptions, printAnswer } from './options/print-answer.ts';

import { table } from './text/table.ts';
import { wrap } from './text/text-width.ts';
import { fixed, interval } from './text/uncertainty.ts';
import { load, percent, plain, spread } from './text/wording.ts';

/** Longest span, s, and most times of an answer. */
const MOST_SECONDS = 1e8;
const MOST_TIMES = 1_000_000;

export const command: Command = {
  name: 'simulate',
  operand: 'bench',
  about: `Plays a load profile forward: the temperature of the source against time, its
peak, and when it reaches its limit. Needs logs of the cooler from switching on.
A profile is a table: time_s, power_W and, if need be, fan_rpm; each row is held
until the next.`,
  example: 'heatladder simulate demo-bench --cooler Siskin --profile demo-bench/steps.csv',
  options: () => {
    const { source, ambient, level, without, json } = answerOptions;
    return {
      cooler: { value: 'NAME', describe: 'the cooler' },
      profile: { value: 'FILE', describe: 'the load profile: time_s, power_W, fan_rpm' },
      interval: { value: 'S', describe: 'spacing of the answer, s (default: about 2000 times in all)' },
      after: { value: 'S', describe: 'how long to go on after the last row, s (default: until near steady)' },
      source,
      ambient,
      level,
      without,
      json,
    };
  },
  run: async (call) => {
    const { folder, options, files } = call;
    const file = files.given(
      '--profile',
      options.profile,
      'give a table of time_s,power_W such as --profile steps.csv',
    );
    const seconds = (name: 'interval' | 'after', least: number): number | undefined =>
      numberGiven(
        options,
        name,
        `time; give seconds from ${least} to ${MOST_SECONDS}, such as 10`,
        (value) => value >= least && value <= MOST_SECONDS,
      );
    const interval_s = seconds('interval', 0.01);
    const after_s = seconds('after', 0);
    const opened = await files.openFolder(folder);
    const { coolers, ...conditions } = readConditions(options, opened);
    if (coolers?.length !== 1) {
      const what = coolers ? `${coolers.length} names are given` : 'the cooler is missing';
      throw fault('cooler', `${what}; give one such as --cooler Heron`);
    }
    const profile = readProfile(file.name, file.bytes);
    const span_s = profile[profile.length - 1].time_s - profile[0].time_s + (after_s ?? 0);
    if (interval_s !== undefined && span_s / interval_s > MOST_TIMES) {
      throw fault(
        'interval',
        `${interval_s} s over ${span_s} s is more than ${MOST_TIMES} times; give a longer interval`,
      );
    }
    const asked = { ...conditions, cooler: coolers[0], profile, interval_s, after_s };
    const result = simulate(await files.reduced(opened), asked);
    await printAnswer(call, result, (answer, width) => simulateTables(answer, profile, width), {
      logs: true,
    });
  },
};

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
  const result = simulateNetwork(bench, {
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

/** Points named and rows shown; --json gives all. */
const MOST_NAMED = 6;

const MOST_ROWS = 16;

/** A time a person can take in, such as 12 min 34 s for 754. */
function timeText(seconds: number): string {
  const whole = Math.round(seconds);
  if (whole < 60) return `${plain(Math.round(seconds * 10) / 10)} s`;
  const [hours, minutes] = [Math.floor(whole / 3600), Math.floor((whole % 3600) / 60)];
  const rest = whole % 60;
  if (hours > 0) return `${hours} h ${minutes} min`;
  return rest === 0 ? `${minutes} min` : `${minutes} min ${rest} s`;
}

/** Places of the answer that are shown: the profile's rows, the peak and the end, or some spread over all. */
function shownPlaces({ time_s, peak_s }: SimulateResult, profile: readonly ProfileStep[]): number[] {
  const wanted = new Set([...profile.map((row) => row.time_s), peak_s, time_s[time_s.length - 1]]);
  const telling = [...time_s.keys()].filter((i) => wanted.has(time_s[i]));
  if (telling.length > MOST_ROWS) return spread(telling, MOST_ROWS);
  const evenly = spread([...time_s.keys()], MOST_ROWS - telling.length + 2);
  return [...new Set([...telling, ...evenly])].sort((a, b) => a - b);
}

function timeTable(result: SimulateResult, profile: readonly ProfileStep[], width: number): string {
  return table(
    [
      { title: 'time', unit: 's', align: 'right' },
      { title: 'load', unit: 'W', align: 'right' },
      { title: 'fan', unit: 'rpm', align: 'right' },
      { title: 'source', unit: '°C', align: 'right' },
    ],
    shownPlaces(result, profile).map((i) => [
      plain(result.time_s[i]),
      plain(result.power_W[i]),
      fixed(result.fan_rpm[i], 0),
      fixed(result.source_C[i], 1),
    ]),
    { width },
  );
}

function limitLines({ limit, source, ambient_C }: SimulateResult): string[] {
  if (limit === null) return [];
  const { limit_C, reached_s, held } = limit;
  const named = `${source}'s limit of ${plain(limit_C)} °C`;
  const profile =
    reached_s === null
      ? `The profile stays below the ${named}.`
      : `The profile reaches the ${named} at ${plain(Math.round(reached_s * 10) / 10)} s.`;
  if (!(held.power_W > 0)) return [profile];
  const how =
    held.seconds === null
      ? 'could be held at steady state'
      : held.seconds === 0
        ? 'is above it from the start'
        : `could be held for ${timeText(held.seconds)}`;
  return [
    profile,
    `From ${plain(ambient_C)} °C, ${load(held.power_W)} at ${fixed(held.fan_rpm, 0)} rpm ${how}.`,
  ];
}

function steadyLine({ greatest, ambient_C, level }: SimulateResult): string {
  if (greatest === null) return '';
  const { power_W, rise_K, run_low_K, run_high_K, extrapolated } = greatest;
  const beyond = extrapolated ? ', beyond what was run on this cooler' : '';
  return `At steady state ${load(power_W)} settles at ${fixed(ambient_C + rise_K, 1)} °C; a fresh mount reads ${interval(ambient_C + run_low_K, ambient_C + run_high_K)} °C (${percent(level)})${beyond}.`;
}

/**
 * A simulated profile for a person: some of its times, the peak, the limit, and what it rests on.
 *
 * @returns text with a line end after the last line
 */
function simulateTables(result: SimulateResult, profile: readonly ProfileStep[], width = 80): string {
  const { cooler, source, ambient_C, peak_C, peak_s, foster } = result;
  const parts = foster.map(
    ({ resistance_K_per_W, time_s }) =>
      `${resistance_K_per_W.toPrecision(3)} K/W in ${time_s.toPrecision(3)} s`,
  );
  const said = [
    `Peak: ${fixed(peak_C, 1)} °C at ${plain(peak_s)} s.`,
    ...limitLines(result),
    steadyLine(result),
    `Step response: ${parts.join(', ')}. Steady values ${result.resistance_from === 'models' ? 'by the models fitted to the runs' : 'as the logs show them'}.`,
    ...result.notes.map((note) => `Note: ${note}.`),
  ].filter((line) => line !== '');
  return `${[
    `${cooler} on ${source}, from ${plain(ambient_C)} °C`,
    '',
    timeTable(result, profile, width),
    '',
    ...said.flatMap((line) => wrap(line, width)),
  ].join('\n')}\n`;
}
