import type { Bench } from '../bench/bench.ts';
import type { CompareResult, Conditions, FitResult, PredictResult } from '../results.ts';
import { type CoolerCurve, type PageData, packCompare } from './page/page-data.ts';

/** Runs within this share of the curve's fan speed are drawn on it. */
const SAME_SPEED = 0.03;

/**
 * Loads that the page answers for: from half the least to 1.75 times the greatest load run, in even steps, with the
 * loads asked for among them.
 *
 * @example pageLoads([60, 120, 180], []).at(-1) // 320
 */
export function pageLoads(run_W: readonly number[], asked_W: readonly number[]): number[] {
  const loads = run_W.filter((P) => P > 0);
  const least = loads.length > 0 ? Math.min(...loads, ...asked_W) : Math.min(50, ...asked_W);
  const greatest = loads.length > 0 ? Math.max(...loads) : 200;
  const most = Math.max(greatest * 1.75, ...asked_W);
  const step = [1, 2, 5, 10, 20, 25, 50, 100, 200, 500].find((s) => (most - least / 2) / s <= 36) ?? 1000;
  const from = Math.max(step, Math.floor(least / 2 / step) * step);
  const to = Math.ceil(most / step) * step;
  const grid = Array.from({ length: Math.round((to - from) / step) + 1 }, (_, i) => from + i * step);
  return [...new Set([...grid, ...asked_W])].sort((a, b) => a - b);
}

function conditionWords(conditions: Conditions): string {
  if (conditions.fan_rpm !== undefined) return `every fan at ${conditions.fan_rpm} rpm`;
  if (conditions.sound_dBA !== undefined) return `equal sound of ${conditions.sound_dBA} dBA`;
  const share = conditions.fan_percent ?? 100;
  return share === 100 ? 'full fan speed' : `fans at ${share} % of their greatest speed`;
}

/** Everything the page holds, from a bench and what was found from it. */
export function gatherPage(
  bench: Bench,
  conditions: Conditions,
  found: { fit: FitResult; predict: PredictResult; compare: CompareResult },
): PageData {
  const source = conditions.source ?? 'heater';
  const names = [...new Set(found.predict.predictions.map((p) => p.cooler))];
  const coolers = names.map((cooler): CoolerCurve => {
    const at = found.predict.predictions
      .filter((p) => p.cooler === cooler)
      .sort((x, y) => x.power_W - y.power_W);
    const fan_rpm = at[0]?.fan_rpm ?? 0;
    const own = bench.runs.filter((run) => run.cooler === cooler);
    const drawn = own.filter(
      (run) => run.source === source && (fan_rpm === 0 || Math.abs(run.fan_rpm / fan_rpm - 1) <= SAME_SPEED),
    );
    return {
      cooler,
      power_W: at.map((p) => p.power_W),
      rise_K: at.map((p) => p.rise_K),
      low_K: at.map((p) => p.mean_low_K),
      high_K: at.map((p) => p.mean_high_K),
      extrapolated: at.map((p) => p.extrapolated),
      fan_rpm,
      runs: drawn.map((run) => ({ power_W: run.power_W, rise_K: run.source_C - run.ambient_C })),
      otherRuns: own.length - drawn.length,
    };
  });
  const loads = found.compare.loads.map((at) => at.power_W);
  const greatestRun = Math.max(0, ...bench.runs.filter((r) => r.source === source).map((r) => r.power_W));
  const wanted = conditions.power_W?.at(-1) ?? (greatestRun || loads[Math.floor(loads.length / 2)]);
  const start = loads.reduce(
    (best, P, i) => (Math.abs(P - wanted) < Math.abs(loads[best] - wanted) ? i : best),
    0,
  );
  const ambient_C = conditions.ambient_C ?? bench.ambient.setpoint_C;
  const limit_C =
    source === 'heater'
      ? bench.heater.temperature_limit_C
      : bench.chips.find((chip) => chip.chip === source)?.temperature_limit_C;
  return {
    bench: bench.name,
    level: found.compare.level,
    source,
    condition: conditionWords(conditions),
    ambient_C,
    ...(limit_C === undefined ? {} : { limit_K: limit_C - ambient_C }),
    start,
    coolers,
    compare: packCompare(found.compare),
    fit: found.fit,
    warnings: [
      ...new Set([
        ...bench.warnings,
        ...found.fit.warnings,
        ...found.predict.warnings,
        ...found.compare.warnings,
      ]),
    ],
  };
}
