/**
 * heatladder as a library: runs in Node and in a browser bundle.
 *
 * Read a bench with `readBench`, then ask `fit`, `predict` and `compare`; each returns what the command of that name prints
 * with `--json`.
 */
import { readModel } from './model/read-model.ts';
import { useModelReader } from './posterior/models-of.ts';

export type * from './bench/bench.ts';
export { BenchError } from './bench/bench-error.ts';
export { loadUnitConverter } from './bench/mathjs-units.ts';
export { registerUnitConverter } from './bench/quantity.ts';
export { readBench } from './bench/read-bench.ts';
export { unlistedUnits } from './bench/unlisted-units.ts';
export { compare, fit, predict } from './commands.ts';
export { init } from './demo/init.ts';
export { fanDuties, speedAtDuty } from './fans/speed-at-duty.ts';
export { type FitFormulaOptions, type FitFormulaResult, fitFormula } from './fitting/fit-formula.ts';
export {
  type FlatnessConditions,
  type FlatnessExplanation,
  type FlatnessResult,
  flatness,
} from './flatness.ts';
export { plateAndRadiator } from './loop/plate-and-radiator.ts';
export { plan } from './planning/plan.ts';
export { rehearse } from './planning/rehearse.ts';
export { datasetIdentity } from './record/dataset-identity.ts';
export { decisionRecord, excludedFrom } from './record/decision-record.ts';
export { report } from './report/report.ts';
export type * from './results.ts';
export { screen } from './screening/screen.ts';
export { type ControlChartOptions, controlChart } from './sessions/control-chart.ts';
export { bridgeBetween, unbridgedPairs } from './sessions/method-bridge.ts';
export { type SessionsOptions, sessions } from './sessions/sessions-result.ts';

useModelReader(readModel);
