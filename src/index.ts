/**
 * heatladder as a library: runs in Node and in a browser bundle.
 *
 * Read a bench with `readBench`, then ask `reduce`, `fit`, `predict`, `compare` and the others; each returns what the
 * command of that name prints with `--json`. A bench of logs alone is reduced by whichever is asked first.
 */

import { useModelReader } from './fit/models-of.ts';
import { readModel } from './formula/read-model.ts';

export { type CompareOptions, type CompareResult, compare } from './answers/compare.ts';
export { type FitResult, fit } from './answers/fit.ts';
export {
  type FlatnessConditions,
  type FlatnessExplanation,
  type FlatnessResult,
  flatness,
} from './answers/flatness.ts';
export { type InitOptions, init } from './answers/init.ts';
export { type PredictOptions, type PredictResult, predict } from './answers/predict.ts';
export type { ReportOptions } from './answers/report.ts';
export { type ScreenResult, screen } from './answers/screen.ts';
export {
  type SessionSummary,
  type SessionsOptions,
  type SessionsResult,
  sessions,
} from './answers/sessions.ts';
export { type SimulateOptions, type SimulateResult, simulate } from './answers/simulate.ts';
export type * from './bench/bench.ts';
export { BenchError } from './bench/bench-error.ts';
export type { Saying } from './bench/headings.ts';
export { type ImportedTable, type ImportOptions, importTable } from './bench/import-table.ts';
export { loadUnitConverter } from './bench/mathjs-units.ts';
export { type Conversion, registerUnitConverter, type UnitConverter } from './bench/quantity.ts';
export { readBench } from './bench/read-bench.ts';
export { unlistedUnits } from './bench/unlisted-units.ts';
export { writeRuns } from './bench/write-runs.ts';
export type { Comparison, Crossing, LoadOrder, OrderEntry, Pair, SpeedNotRun } from './compare/comparison.ts';
export type { ClockResult } from './compare/pair-clock.ts';
export type { SameWithin } from './compare/same-within.ts';
export { rehearseAdaptive } from './design/adaptive.ts';
export { plan } from './design/plan.ts';
export type {
  AdaptiveOptions,
  AdaptivePolicy,
  AdaptiveResult,
  HeaterBeside,
  PlanCurvePoint,
  PlanDecided,
  PlanGoal,
  PlannedCooler,
  PlannedPair,
  PlanOptions,
  PlanResult,
  PlanRun,
  RehearsedPair,
  RehearseOptions,
  RehearseResult,
} from './design/planned.ts';
export { rehearse } from './design/rehearse.ts';
export type { FanDutyResult } from './fit/fan-duties.ts';
export { type LoopSplit, type PlateAndRadiator, plateAndRadiator } from './fit/plate-and-radiator.ts';
export type { ScatterComponent } from './fit/scatter.ts';
export { type FitFormulaOptions, type FitFormulaResult, fitFormula } from './formula/fit-formula.ts';
export type { DemoOptions } from './lab/demo-bench.ts';
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
export { type ReductionOptions, reduceLog, type StepResponse, type StepResult } from './logs/reduce-log.ts';
export { type LogWatch, type WatchOptions, type WatchState, watchLog } from './logs/watch-log.ts';
export {
  type ControlChartOptions,
  type ControlChartResult,
  type ControlPoint,
  type ControlSeries,
  controlChart,
} from './months/control-chart.ts';
export { type DatasetIdentity, datasetIdentity } from './months/dataset-identity.ts';
export {
  type ChartDecisions,
  type DecisionRecord,
  decisionRecord,
  excludedFrom,
} from './months/decision-record.ts';
export type { SessionDoubt } from './months/differences-in-doubt.ts';
export {
  type BridgingRun,
  type MethodBridge,
  type UnbridgedPair,
  unbridgedPairs,
} from './months/method-bridge.ts';
export type { PairScatter } from './months/paired-runs.ts';
export type { InControlScatter } from './months/session-shift.ts';
export type { BudgetPart, BudgetShare } from './predict/budget.ts';
export type { LeftOutCooler, SourceTermResult } from './predict/chip-term-result.ts';
export type { Conditions } from './predict/conditions.ts';
export type { CoolerFit, Fitted, ModelFit, ParameterEstimate, Scatter } from './predict/fit-result.ts';
export type { MeanRise, Prediction, Predictions } from './predict/predict.ts';
export type { SourceLimit } from './predict/source-limits.ts';
export type { FileHash } from './report/file-hashes.ts';
export { report } from './report/report.ts';
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
export type { Noise, NoisePart } from './response/noise.ts';
export { readProfile } from './response/profile-table.ts';
export type { NamedCause, ScreenedCause } from './screen/causes.ts';
export type { MountOffset } from './screen/mount-offsets.ts';
export type { Parting } from './screen/parting.ts';
export type { MountVerdict, RunVerdict } from './screen/screen-posterior.ts';
export type { OverRuns, Strange } from './screen/strange.ts';
export type { TellingRun } from './screen/telling-run.ts';
export type { TypingError } from './screen/typing.ts';
export type { DecibelsWorth } from './sound/decibels-worth.ts';
export type { PumpAndFanPair } from './sound/pump-fan-pair.ts';
export type { CoolerAtSound, RiseAtSound, SoundTradeOff } from './sound/sound-trade-off.ts';
export type { Explained, Explanation } from './surfaces/can-explain.ts';
export type { ContactResult, SurfaceRow } from './surfaces/unevenness.ts';

useModelReader(readModel);
