import type { Fault, Scatter } from './bench-options.ts';
import type { SourceSpec } from './cooler-spec.ts';

/** Errors of one session as they truly are. */
export interface SessionTruth {
  session: string;
  /** What each sensor reads too high, K. */
  source_offset_K: number;
  ambient_offset_K: number;
  /** Metered over true power, less 1. */
  power_scale: number;
  sound_offset_dB: number;
  paste_K_per_W: number;
}

export interface BenchTruth {
  coolers: readonly string[];
  /**
   * True rise, K, at the true load, mean over the populations of samples, mounts and paste batches, at the setpoint's ambient. `source`
   * defaults to the heater.
   */
  rise_K(cooler: string, power_W: number, fan_rpm: number, source?: string): number;
  fan_max_rpm(cooler: string): number;
  /** Whether the pipes carry the heat at this load without reaching their limit; true of a cooler without pipes. */
  pipesHold(cooler: string, power_W: number, fan_rpm: number): boolean;
  /** Lowest load from 15 to 600 W at which the two change order at a fraction of their full speeds; undefined if they do not. */
  crossing_W(a: string, b: string, speed?: number, source?: string): number | undefined;
  /** All such loads, in order. */
  crossings_W(a: string, b: string, speed?: number, source?: string): number[];
  scatter: Scatter;
  sessions: readonly SessionTruth[];
  leak_W_per_K: number;
  /** Resistance that this sample and mount add, K/W, as `cooler/sample` and `cooler/sample/source/mount`. */
  sample_K_per_W: ReadonlyMap<string, number>;
  mount_K_per_W: ReadonlyMap<string, number>;
  /** Runs with something wrong, by their id. */
  faults: ReadonlyMap<string, Fault>;
  /**
   * What this bench would read (source less ambient, as written in runs.csv) at a metered load for a fresh mount of a fresh sample in its last session.
   */
  freshRun(cooler: string, power_W: number, fan_rpm: number, seed: number, source?: string): number;
  /** Metered level, mean over repeated readings, of the cooler at a speed, background and this session's meter error included. */
  metered_dBA(cooler: string, fan_rpm: number): number;
}

export interface VirtualBench {
  files: Map<string, Uint8Array>;
  truth: BenchTruth;
}

/** A source as it truly is, beside what bench.yaml states of it. */
export interface SourceTruth {
  spec: SourceSpec;
  leak_W_per_K: number;
  stated: { value: number; uncertainty: number };
  /** Errors of the source's own sensor and power figure; the heater's are the session's. */
  sensor_K?: number;
  power_scale?: number;
}
