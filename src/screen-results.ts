/** What `screen` returns; part of the public result shapes. */

/** What may be wrong with a run or a mount. */
export type ScreenedCause = 'interface' | 'airflow' | 'leak' | 'sensor' | 'pipe-limit' | 'unexplained';

/** The same, with the pump of a liquid cooler, which `cause` has no word for and counts as unexplained. */
export type NamedCause = ScreenedCause | 'pump';

export interface RunVerdict {
  run: string;
  /** ISO 5725-2: straggler for p between 1 % and 5 %, outlier below 1 %. */
  verdict: 'ok' | 'straggler' | 'outlier';
  /** Adjusted for the number of runs judged. */
  p: number;
  /** What was read less what all others predict, K. */
  residual_K: number;
  /** null: nothing is wrong. A pump counts as unexplained. */
  cause: ScreenedCause | null;
  cause_probability: number | null;
  /** As `cause`, but a pump is named. */
  likely_cause: NamedCause | null;
}

/** A run that would tell two causes apart. */
export interface TellingRun {
  between: [NamedCause, NamedCause];
  cooler: string;
  sample: string;
  source: string;
  power_W: number;
  fan_rpm: number;
  /** Speed to set the pump to; null: as it was. */
  pump_rpm: number | null;
  /** Read the coolant as well: it is the coolant's reading that tells. */
  coolant: boolean;
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
  /** null: nothing is wrong. A pump counts as unexplained, with its chance. */
  cause: ScreenedCause | null;
  cause_probability: number | null;
  /** As `cause`, but a pump is named: where it is likelier than all else together. */
  likely_cause: NamedCause | null;
  /** Every cause with its chance, likeliest first; empty where nothing is wrong. */
  causes: { cause: NamedCause; probability: number }[];
  /** What the recorded speed of the pump says of it, a sentence; null where it is as usual, or nothing is wrong. */
  remark: string | null;
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
