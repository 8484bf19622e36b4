import type { Bench } from '../bench/bench.ts';
import { posteriorFor } from '../fit/posterior-for.ts';
import { askedRuns } from '../months/asked-runs.ts';
import { type SourceTermResult, withSourceTerm } from '../predict/chip-term-result.ts';
import { meanBudget } from '../predict/mean-budget.ts';
import type { Prediction } from '../predict/predict.ts';
import { type Predictions, predictFrom } from '../predict/predict.ts';
import { type SourceLimit, sourceLimits } from '../predict/source-limits.ts';
import { SAFETY_IN_SHORT } from '../report/safety.ts';
import { type OverRuns, overRuns } from '../screen/strange.ts';
import type { CompareOptions } from './compare.ts';
import type { Command, Invocation } from './options/command.ts';
import { meanOptions, ranged, readMean } from './options/conditions.ts';
import { answerFromBench, answerOptions } from './options/print-answer.ts';
import { budgetTable } from './text/budget-tables.ts';
import { limitLines, sourceTermLines } from './text/source-tables.ts';
import { table } from './text/table.ts';
import { wrap } from './text/text-width.ts';
import { decimalsFor, fixed, interval } from './text/uncertainty.ts';
import {
  BEYOND_FOOTNOTE,
  chance,
  LIMIT_FOOTNOTE,
  LIMIT_MARK,
  listOf,
  load,
  marked,
  moreLines,
  percent,
  plain,
  spread,
} from './text/wording.ts';

/** What `predict` accepts beside the conditions. */
export interface PredictOptions extends CompareOptions {
  /** Answer also at which load the source reaches this temperature on each cooler, °C. */
  limit_C?: number;
}

export interface PredictResult extends Predictions {
  /** With a chip as the source. */
  source_term?: SourceTermResult;
  /** The load that reaches the temperature asked for; else, with more than one load, that which reaches the source's limit. */
  limits?: SourceLimit[];
}

/**
 * Predicts the rise at loads that were not run, and the load at which the source reaches a temperature.
 *
 * @throws BenchError on a condition that cannot be met
 * @example predict(bench, { power_W: [220] }).predictions[0].rise_K
 * @example predict(bench, { limit_C: 90 }).limits?.[0].power_W
 */
export function predict(
  whole: Bench,
  { limit_C, budget, ...conditions }: PredictOptions = {},
): PredictResult & OverRuns {
  const asked = askedRuns(whole, conditions);
  const posterior = posteriorFor(asked.bench, conditions.source);
  const predicted: PredictResult = predictFrom(posterior, conditions, budget ? { budget: meanBudget } : {});
  const result = withSourceTerm(predicted, posterior);
  // One load asked for is answered for that load alone.
  const isAlone = limit_C === undefined && conditions.power_W?.length === 1;
  const limits = isAlone ? [] : sourceLimits(posterior, conditions, limit_C);
  return {
    ...result,
    ...(limits.length > 0 && { limits }),
    ...overRuns(asked, conditions.source, result.warnings),
  };
}

export const command: Command = {
  name: 'predict',
  operand: 'bench',
  about: `Predicts the rise above ambient at any load, with the interval of the true mean
and of a fresh run, and marks what lies beyond the loads run. With --limit it
also says at how many watts the source reaches a temperature.`,
  example: 'heatladder predict demo-bench --power 150,220 --sound 33 --limit 90',
  options: () => ({
    limit: { value: 'C', describe: 'the load at which the source reaches this temperature, °C' },
    ...answerOptions,
    ...meanOptions,
  }),
  run: (call) =>
    answerFromBench(
      call,
      (bench, conditions) => predict(bench, { ...conditions, ...limitOf(call), ...readMean(call.options) }),
      (result, width) => predictTables(result, width, limitOf(call).limit_C),
    ),
};

function limitOf({ options: { limit } }: Invocation): Pick<PredictOptions, 'limit_C'> {
  if (typeof limit !== 'string') return {};
  return { limit_C: ranged('limit', limit, 0, 1000, 'a temperature from 0 to 1000 °C such as 90') };
}

/** Why a reading can be foretold better than the truth. */
const NARROWER_RUN =
  'The interval of a fresh run can be the narrower of the two: errors that all runs share, such as the offset of the sensors, are in its reading as they are in the runs.';

/** Loads and notes shown; --json gives all. */
const MOST_LOADS = 6;
const MOST_NOTES = 12;

/** A rise to the place that its interval allows. */
function riseText(p: Prediction): string {
  const half = (p.mean_high_K - p.mean_low_K) / 2;
  return fixed(p.rise_K, half > 0 && Number.isFinite(half) ? Math.max(0, decimalsFor(half)) : 2);
}

function loadTable(at: readonly Prediction[], level: number, width: number): string {
  const rises = marked(
    marked(
      at.map(riseText),
      at.map((p) => p.extrapolated),
    ),
    at.map((p) => p.above_limit),
    LIMIT_MARK,
  );
  const withSound = at.some((p) => p.sound_dBA !== null);
  const withPipes = at.some((p) => p.if_pipes_hold);
  return table(
    [
      { title: 'cooler', align: 'left' },
      { title: 'fan', unit: 'rpm', align: 'right' },
      ...(withSound ? [{ title: 'sound', unit: 'dBA', align: 'right' } as const] : []),
      { title: 'rise', unit: 'K', align: 'right' },
      { title: `true mean, ${percent(level)}`, unit: 'K', align: 'right' },
      { title: `a fresh run, ${percent(level)}`, unit: 'K', align: 'right' },
      ...(withPipes
        ? [
            { title: 'chance of a limit', unit: '%', align: 'right' } as const,
            { title: 'mean if the pipes hold', unit: 'K', align: 'right' } as const,
          ]
        : []),
    ],
    at.map((p, i) => [
      p.cooler,
      fixed(p.fan_rpm, 0),
      ...(withSound ? [p.sound_dBA === null ? '-' : p.sound_dBA.toFixed(1)] : []),
      rises[i],
      interval(p.mean_low_K, p.mean_high_K),
      interval(p.run_low_K, p.run_high_K),
      ...(withPipes
        ? p.if_pipes_hold
          ? [chance(p.limit_chance ?? 0), interval(p.if_pipes_hold.mean_low_K, p.if_pipes_hold.mean_high_K)]
          : ['-', '-']
        : []),
    ]),
    { width },
  );
}

/** What stands in the columns of the pipes as well. */
const isOfPipes = (note: string): boolean => note.startsWith('if no further limit of its pipes');

/** Each note once, with the coolers and loads that it is of. */
function groupedNotes(predictions: readonly Prediction[]): string[] {
  const found = new Map<string, Map<string, number[]>>();
  for (const p of predictions) {
    for (const note of p.notes.filter((one) => !isOfPipes(one))) {
      const coolers = found.get(note) ?? new Map<string, number[]>();
      coolers.set(p.cooler, [...(coolers.get(p.cooler) ?? []), p.power_W]);
      found.set(note, coolers);
    }
  }
  return [...found].map(([note, coolers]) => {
    const loads = [...new Set([...coolers.values()].flat())];
    return `${listOf([...coolers.keys()])} at ${listOf(loads.map(plain), 6)} W: ${note}`;
  });
}

/**
 * What `predict` found, for a person: one table a load, then the notes and what the two intervals mean; before all of it the loads that
 * reach the temperature asked for.
 *
 * @returns text with a line end after the last line
 */
export function predictTables(result: PredictResult, width = 80, limit_C?: number): string {
  const loads = [...new Set(result.predictions.map((p) => p.power_W))];
  const shown = spread(loads, MOST_LOADS);
  const isAsked = limit_C !== undefined;
  const lines: string[] = isAsked ? limitLines(result.limits, width, true) : [];
  let isHalved = false;
  for (const power_W of shown) {
    const at = result.predictions.filter((p) => p.power_W === power_W);
    const sources = [...new Set(at.map((p) => p.source))].join(', ');
    lines.push(`Rise above ambient at ${load(power_W)}, source: ${sources}`);
    lines.push(loadTable(at, result.level, width), '');
    const budgets = at.flatMap(({ cooler, budget }) => (budget ? [{ names: [cooler], budget }] : []));
    const heading = `Where the variance of the true mean at ${load(power_W)} comes from`;
    const budget = budgetTable(heading, ['cooler'], budgets, width);
    isHalved ||= budget.length > 0;
    lines.push(...budget);
  }
  const notes = groupedNotes(result.predictions.filter((p) => shown.includes(p.power_W)));
  for (const note of notes.slice(0, MOST_NOTES)) lines.push(...wrap(note, width, 2));
  lines.push(...moreLines(notes.length - MOST_NOTES, 'notes'));
  if (notes.length > 0) lines.push('');
  if (!isAsked) lines.push(...limitLines(result.limits, width));
  lines.push(...sourceTermLines(result.source_term, width));
  if (shown.length > 0) {
    lines.push(
      ...wrap(
        'True mean: the rise that many samples and mounts of this cooler would have on average. A fresh run: what this bench would read for one new mount of one new sample.',
        width,
      ),
    );
    const isNarrower = result.predictions.some((p) => {
      return shown.includes(p.power_W) && p.run_high_K - p.run_low_K < p.mean_high_K - p.mean_low_K;
    });
    if (isNarrower) lines.push(...wrap(NARROWER_RUN, width));
  } else {
    lines.push('No cooler has an answer at these conditions.');
  }
  const isBeyond = result.predictions.some((p) => shown.includes(p.power_W) && p.extrapolated);
  if (isBeyond && !lines.includes(BEYOND_FOOTNOTE)) lines.push(BEYOND_FOOTNOTE);
  if (result.predictions.some((p) => shown.includes(p.power_W) && p.above_limit)) lines.push(LIMIT_FOOTNOTE);
  if (shown.length < loads.length) {
    lines.push(`${shown.length} of ${loads.length} loads are shown; --json gives all of them.`);
  }
  // What would halve a part of a budget is runs.
  if (isHalved) lines.push(...wrap(SAFETY_IN_SHORT, width));
  return `${lines.join('\n')}\n`;
}
