/**
 * heatladder as a library: runs in Node and in a browser bundle.
 *
 * Read a bench with `readBench`, then ask `reduce`, `fit`, `predict`, `compare` and the others; each returns what the
 * command of that name prints with `--json`. A bench of logs alone is reduced by whichever is asked first.
 */

import { useModelReader } from './fit/models-of.ts';
import { readModel } from './formula/read-model.ts';

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
export { rehearseAdaptive } from './design/adaptive.ts';
export { plan } from './design/plan.ts';
export { rehearse } from './design/rehearse.ts';
export { plateAndRadiator } from './fit/plate-and-radiator.ts';
export {
  type FlatnessConditions,
  type FlatnessExplanation,
  type FlatnessResult,
  flatness,
} from './flatness.ts';
export { type FitFormulaOptions, type FitFormulaResult, fitFormula } from './formula/fit-formula.ts';
export { type InitOptions, init } from './lab/demo-bench.ts';
export { benchWithRuns } from './logs/bench-with-runs.ts';
export type { Finding, FindingKind } from './logs/findings.ts';
export type { LoadStep } from './logs/load-steps.ts';
export type { LogBlocks } from './logs/log-blocks.ts';
export type { LogReading } from './logs/log-header.ts';
export { createLogScanner, type LogScanner, scanLog } from './logs/log-scanner.ts';
export { type LogScans, logsFrom } from './logs/log-source.ts';
export { type MergedRuns, mergeRuns } from './logs/merge-runs.ts';
export type { RunAtHand } from './logs/plan-at-hand.ts';
export type { Readings, ReadingsSummary } from './logs/readings.ts';
export {
  type ReducedRun,
  type ReduceOptions,
  type ReduceResult,
  reduce,
  reducedRuns,
} from './logs/reduce.ts';
export {
  type ReductionOptions,
  reduceLog,
  type StepResponse,
  type StepResult,
} from './logs/reduce-log.ts';
export { type LogWatch, type WatchOptions, type WatchState, watchLog } from './logs/watch-log.ts';
export { type ControlChartOptions, controlChart } from './months/control-chart.ts';
export { type DatasetIdentity, datasetIdentity } from './months/dataset-identity.ts';
export { decisionRecord, excludedFrom } from './months/decision-record.ts';
export { unbridgedPairs } from './months/method-bridge.ts';
export type { PairScatter } from './months/paired-runs.ts';
export type { InControlScatter } from './months/session-shift.ts';
export { type SessionsOptions, sessions } from './months/sessions-result.ts';
export type { FileHash } from './report/file-hashes.ts';
export { type ReportOptions, report } from './report/report.ts';
export type { AirLaw } from './response/air-laws.ts';
export type { CauerElement } from './response/cauer.ts';
export {
  type CoolerNetwork,
  fitNetwork,
  type NetworkOptions,
  networkAtSpeed,
} from './response/fit-network.ts';
export type { FosterElement } from './response/foster.ts';
export type { LimitTimes } from './response/limit-times.ts';
export type { NetworkSimulation, ProfileStep } from './response/load-profile.ts';
export type { Noise } from './response/noise.ts';
export { readProfile } from './response/profile-table.ts';
export type * from './results.ts';
export { screen } from './screen/screen.ts';
export { type SimulateOptions, type SimulateResult, simulate } from './simulate.ts';
export type { Explained, Explanation } from './surfaces/can-explain.ts';
export type { ContactResult, SurfaceRow } from './surfaces/unevenness.ts';

useModelReader(readModel);
