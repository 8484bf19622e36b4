/** Loads for which the page answers: its control's ends, and the grids on which curves are evaluated. */

/** Least and greatest load of the control, and its step. */
export interface LoadSpan {
  from_W: number;
  to_W: number;
  step_W: number;
}

/**
 * From half the least to 1.75 times the greatest load run, the loads asked for within, in steps that make some hundred.
 *
 * @example loadSpan([60, 120, 180], []) // { from_W: 30, to_W: 320, step_W: 1 }
 */
export function loadSpan(run_W: readonly number[], asked_W: readonly number[]): LoadSpan {
  const run = run_W.filter((P) => P > 0);
  const least = Math.min(...(run.length > 0 ? run : [100]), ...asked_W);
  const greatest = Math.max(...(run.length > 0 ? run.map((P) => P * 1.75) : [200]), ...asked_W);
  const step_W = [1, 2, 5, 10, 20, 50, 100].find((s) => (greatest - least / 2) / s <= 400) ?? 200;
  const round_W = 10 * step_W;
  const from_W = Math.max(step_W, Math.floor(least / 2 / round_W) * round_W);
  return { from_W, to_W: Math.max(from_W + round_W, Math.ceil(greatest / round_W) * round_W), step_W };
}

/** The load that is shown first: the last one asked for, or the greatest run. */
export function firstLoad(run_W: readonly number[], asked_W: readonly number[]): number {
  const { step_W } = loadSpan(run_W, asked_W);
  return asked_W.at(-1) ?? Math.round(Math.max(...run_W) / step_W) * step_W;
}

const STEPS = [1, 2, 5, 10, 20, 25, 50, 100, 200, 500, 1000];

/**
 * Round loads over the span, at most so many, both ends included.
 *
 * @example curveLoads({ from_W: 30, to_W: 320, step_W: 1 }, 16) // [30, 50, 75, 100, …, 300, 320]
 */
export function curveLoads({ from_W, to_W }: LoadSpan, most: number): number[] {
  const step = STEPS.find((s) => (to_W - from_W) / s <= most - 2) ?? 5000;
  const loads = [from_W];
  for (let P = (Math.floor(from_W / step) + 1) * step; P < to_W; P += step) loads.push(P);
  return [...loads, to_W];
}
