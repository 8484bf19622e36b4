/**
 * heatladder as a library: runs in Node and in a browser bundle.
 *
 * Read a bench with `readBench`, then ask `reduce`, `fit`, `predict`, `compare` and the others; each returns what the
 * command of that name prints with `--json`. A bench of logs alone is reduced by whichever is asked first.
 */
import { readModel } from './model/read-model.ts';
import { useModelReader } from './posterior/models-of.ts';

export type * from './bench/bench.ts';
export { BenchError } from './bench/bench-error.ts';
export type { Saying } from './bench/headings.ts';
export { type ImportedTable, type ImportOptions, importTable } from './bench/import-table.ts';
export { loadUnitConverter } from './bench/mathjs-units.ts';
export { type Conversion, registerUnitConverter, type UnitConverter } from './bench/quantity.ts';
export { readBench } from './bench/read-bench.ts';
export { unlistedUnits } from './bench/unlisted-units.ts';
export { writeRuns } from './bench/write-runs.ts';
export { type CompareOptions, compare, fit, type PredictOptions, predict } from './commands.ts';
export type { Explained, Explanation } from './contact/can-explain.ts';
export type { ContactResult, SurfaceRow } from './contact/flatness.ts';
export { type InitOptions, init } from './demo/init.ts';
export { type FitFormulaOptions, type FitFormulaResult, fitFormula } from './fitting/fit-formula.ts';
export {
  type FlatnessConditions,
  type FlatnessExplanation,
  type FlatnessResult,
  flatness,
} from './flatness.ts';
export { plateAndRadiator } from './loop/plate-and-radiator.ts';
export type { CauerElement } from './network/cauer.ts';
export {
  type CoolerNetwork,
  fitNetwork,
  type NetworkOptions,
  networkAtSpeed,
} from './network/fit-network.ts';
export type { FosterElement } from './network/foster.ts';
export type { LimitTimes } from './network/limit-times.ts';
export { readProfile } from './network/profile-table.ts';
export type { NetworkSimulation, ProfileStep } from './network/simulate.ts';
export { rehearseAdaptive } from './planning/adaptive.ts';
export { plan } from './planning/plan.ts';
export { rehearse } from './planning/rehearse.ts';
export { type DatasetIdentity, datasetIdentity } from './record/dataset-identity.ts';
export { decisionRecord, excludedFrom } from './record/decision-record.ts';
export type { AirLaw } from './reduction/air-laws.ts';
export { benchWithRuns } from './reduction/bench-with-runs.ts';
export type { LoadStep } from './reduction/load-steps.ts';
export type { LogBlocks } from './reduction/log-blocks.ts';
export type { LogReading } from './reduction/log-header.ts';
export { createLogScanner, type LogScanner, scanLog } from './reduction/log-scanner.ts';
export { type LogScans, logsFrom } from './reduction/log-source.ts';
export { type MergedRuns, mergeRuns } from './reduction/merge-runs.ts';
export type { Noise } from './reduction/noise.ts';
export type { Readings, ReadingsSummary } from './reduction/readings.ts';
export {
  type ReducedRun,
  type ReduceOptions,
  type ReduceResult,
  reduce,
  reducedRuns,
} from './reduction/reduce.ts';
export {
  type ReductionOptions,
  reduceLog,
  type StepResponse,
  type StepResult,
} from './reduction/reduce-log.ts';
export type { FileHash } from './report/page-data.ts';
export { type ReportOptions, report } from './report/report.ts';
export type * from './results.ts';
export { screen } from './screening/screen.ts';
export { type ControlChartOptions, controlChart } from './sessions/control-chart.ts';
export { unbridgedPairs } from './sessions/method-bridge.ts';
export type { PairScatter } from './sessions/paired-runs.ts';
export type { InControlScatter } from './sessions/session-shift.ts';
export { type SessionsOptions, sessions } from './sessions/sessions-result.ts';
export { type SimulateOptions, type SimulateResult, simulate } from './simulate.ts';
export type { Finding, FindingKind } from './watching/findings.ts';
export type { RunAtHand } from './watching/plan-at-hand.ts';
export { type LogWatch, type WatchOptions, type WatchState, watchLog } from './watching/watch-log.ts';

useModelReader(readModel);
