import type { Bench } from './bench/bench.ts';
import { aboveInlet } from './compare/above-inlet.ts';
import { compareFrom } from './compare/compare.ts';
import { differenceBudget } from './compare/difference-budget.ts';
import { pairClock } from './compare/pair-clock.ts';
import { posteriorFor } from './fit/posterior-for.ts';
import { askedRuns, runsAsked } from './months/asked-runs.ts';
import { requireBridges } from './months/method-bridge.ts';
import { sessionDoubt } from './months/session-doubt.ts';
import { sessionsOutOfControl } from './months/sessions-out-of-control.ts';
import { coolersAsked } from './predict/at-conditions.ts';
import { withSourceTerm } from './predict/chip-term-result.ts';
import { fitResultOf } from './predict/fit-result.ts';
import { meanBudget } from './predict/mean-budget.ts';
import { predictFrom } from './predict/predict.ts';
import { sourceLimits } from './predict/source-limits.ts';
import type { CompareResult, Conditions, FitResult, OverRuns, PredictResult } from './results.ts';
import { strangeOf } from './screen/strange.ts';
import { soundTradeOff } from './sound/sound-trade-off.ts';

/**
 * Fits the formula models to every cooler of a bench.
 *
 * @param conditions  `source` and `coolers` count; the whole bench is fitted in any case, since coolers lend to each other
 * @throws BenchError where the bench has no runs on the source or a name is unknown
 */
export function fit(whole: Bench, conditions: Conditions = {}): FitResult & OverRuns {
  const { bench, warnings } = askedRuns(whole, conditions);
  const posterior = posteriorFor(bench, conditions.source);
  const result = withSourceTerm(fitResultOf(posterior, coolersAsked(posterior, conditions)), posterior);
  const { source, coolers, ambient_C, level } = conditions;
  const limits = sourceLimits(posterior, { source, coolers, ambient_C, level });
  return {
    ...result,
    ...(limits.length > 0 && { limits }),
    strange: strangeOf(bench, conditions.source),
    warnings: [...bench.warnings, ...warnings, ...result.warnings, ...idleConditions(conditions)],
  };
}

const IDLE_IN_FIT = [
  'power_W',
  'fan_rpm',
  'fan_percent',
  'sound_dBA',
  'pump_rpm',
  'pump_percent',
  'pressure_hPa',
  'altitude_m',
  'inlet_rise_K',
  'recirculation_percent',
  'paste',
  'orientation',
] as const;

/** Conditions that a fit takes, as every command does, and that it has no use for. */
function idleConditions(conditions: Conditions): string[] {
  const idle = IDLE_IN_FIT.filter((key) => conditions[key] !== undefined);
  return idle.length === 0
    ? []
    : [
        `fit is of all runs, and its resistance that at the greatest load run and full speed: ${idle.join(', ')} ${idle.length === 1 ? 'changes' : 'change'} nothing of it; predict answers for conditions`,
      ];
}

/** What `compare` accepts beside the conditions. */
export interface CompareOptions extends Conditions {
  /** Say where the variance of each interval comes from, and what would halve each part. */
  budget?: boolean;
}

/** What `predict` accepts beside the conditions. */
export interface PredictOptions extends CompareOptions {
  /** Answer also at which load the source reaches this temperature on each cooler, °C. */
  limit_C?: number;
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
  const { bench, warnings } = askedRuns(whole, conditions);
  const posterior = posteriorFor(bench, conditions.source);
  const result = withSourceTerm(
    predictFrom(posterior, conditions, budget ? { budget: meanBudget } : {}),
    posterior,
  );
  // One load asked for is answered for that load alone.
  const isAlone = limit_C === undefined && conditions.power_W?.length === 1;
  const limits = isAlone ? [] : sourceLimits(posterior, conditions, limit_C);
  return {
    ...result,
    ...(limits.length > 0 && { limits }),
    strange: strangeOf(bench, conditions.source),
    warnings: [...bench.warnings, ...warnings, ...result.warnings],
  };
}

/**
 * Compares the coolers: order at each load, which pairs the test can tell apart, where the order changes; at equal sound
 * also what sound costs and buys. Coolers run under different test methods are ranked only where coolers run under both join
 * the methods.
 *
 * @throws BenchError on a condition that cannot be met
 */
export function compare(
  whole: Bench,
  { budget, ...conditions }: CompareOptions = {},
): CompareResult & OverRuns {
  const { bench, warnings } = askedRuns(whole, conditions);
  const posterior = posteriorFor(bench, conditions.source);
  const asked = coolersAsked(posterior, conditions).map((cooler) => cooler.data.cooler.cooler);
  requireBridges(bench, asked);
  const result = withSourceTerm(
    aboveInlet(compareFrom(posterior, conditions, budget ? { budget: differenceBudget } : {}), conditions),
    posterior,
  );
  const sound = conditions.sound_dBA === undefined ? undefined : soundTradeOff(posterior, conditions);
  const clock = pairClock(bench, result);
  const inFile = runsAsked(whole, conditions);
  const doubt = sessionDoubt(inFile, posterior, result.pairs, sessionsOutOfControl(inFile));
  return {
    ...result,
    ...(doubt && { session_doubt: doubt }),
    ...(clock && { clock }),
    ...(sound && { sound }),
    strange: strangeOf(bench, conditions.source),
    warnings: [...bench.warnings, ...warnings, ...result.warnings],
  };
}
