/** What `screen` returns; part of the public result shapes. */

/** What may be wrong with a run or a mount. */
export type ScreenedCause = 'interface' | 'airflow' | 'leak' | 'sensor' | 'pipe-limit' | 'unexplained';

export interface RunVerdict {
  run: string;
  /** ISO 5725-2: straggler for p between 1 % and 5 %, outlier below 1 %. */
  verdict: 'ok' | 'straggler' | 'outlier';
  /** Adjusted for the number of runs judged. */
  p: number;
  /** What was read less what all others predict, K. */
  residual_K: number;
  /** null: nothing is wrong. */
  cause: ScreenedCause | null;
  cause_probability: number | null;
}

/** A run that would tell two causes apart. */
export interface TellingRun {
  between: [ScreenedCause, ScreenedCause];
  cooler: string;
  sample: string;
  source: string;
  power_W: number;
  fan_rpm: number;
  /** With fresh paste; otherwise on the mount as it stands. */
  remount: boolean;
  minutes: number;
  /** How far apart the two causes put its reading, K, and what it would scatter by, K. */
  apart_K: number;
  scatter_K: number;
  /** A sentence for people. */
  why: string;
}

export interface MountVerdict {
  cooler: string;
  sample: string;
  source: string;
  mount: string;
  verdict: 'ok' | 'straggler' | 'outlier';
  /** Adjusted for the number of mounts judged. */
  p: number;
  cause: ScreenedCause | null;
  cause_probability: number | null;
  /** Every cause with its chance, likeliest first; empty where nothing is wrong. */
  causes: { cause: ScreenedCause; probability: number }[];
  /** The cheapest run that would tell the two likeliest causes apart; null where nothing is wrong. */
  next_run: TellingRun | null;
}

export interface ScreenResult {
  bench: string;
  method: string;
  runs: RunVerdict[];
  mounts: MountVerdict[];
  warnings: string[];
}
