import type { Run } from '../bench/bench.ts';
import type { KnownFromReadings } from '../numerics/gaussian.ts';
import type { RisePoint } from '../predict/rise-point.ts';
import type { SourceScatter } from './chip-scatter.ts';
import type { TermPrior } from './chip-term-prior.ts';

/**
 * The errors that all runs on a chip have in common, after those of the heater bench: the chip's sensor (K), its power figure
 * (relative), its leak (W/K), its term (K/W), the effect of the base's thickness on it (relative), then the paste state of
 * each session that the heater's runs do not share (K/W).
 */
export interface TermColumns {
  readonly sensor: number;
  readonly power: number;
  readonly leak: number;
  readonly term: number;
  readonly base: number;
  /** Column of a session's paste state, by session name. */
  readonly pasteOf: ReadonlyMap<string | undefined, number>;
  readonly count: number;
}

/** A run on a chip of a cooler that was run on the heater too. */
export interface RunOnChip {
  readonly run: Run;
  readonly cooler: string;
  readonly point: RisePoint;
}

/**
 * What a chip has more than the heater, a resistance in series (its term), and what the n runs on it say of it and of the S
 * errors that they share. Every error is a sum of independent standard normal ones: the S shared errors over their
 * uncertainties, then n more of which the runs' own errors are made.
 */
export interface SourceTerm {
  readonly prior: TermPrior;
  readonly columns: TermColumns;
  /** Standard uncertainties of the shared errors, S. */
  readonly uncertainty: Float64Array;
  readonly scatter: SourceScatter;
  /** Variance of what the term of one cooler differs by from the prior's, beside the shared errors, by cooler, (K/W)². */
  readonly coolerVariance: ReadonlyMap<string, number>;
  readonly runs: readonly RunOnChip[];
  /** Readings less what the heater's runs and the prior predict, n. */
  readonly residual_K: Float64Array;
  /** Lower factor of the residuals' own covariance, shared errors apart, n × n. */
  readonly ownFactor: Float64Array;
  /** The residuals as sums of the independent errors, n × (S + n). */
  readonly errors: Float64Array;
  /** What the runs say of any other sum of those errors. */
  readonly given: (quantity: Float64Array) => KnownFromReadings;
  /** Session whose paste a fresh run would have. */
  readonly presentSession: string | undefined;
  /** States of the sessions of coolers that were run on the chip alone; absent where these are one. */
  readonly states?: ChipStates;
}

/** States of a chip's sessions: the factor by which they are carried, the sensor on the die in it, and that of what is left without it. */
export interface ChipStates {
  readonly root: Float64Array;
  readonly rest: Float64Array;
}
