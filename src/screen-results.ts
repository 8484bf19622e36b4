/** What `screen` returns; part of the public result shapes. */

/** What may be wrong with a run or a mount. */
export type ScreenedCause =
  | 'interface'
  | 'airflow'
  | 'leak'
  | 'sensor'
  | 'pipe-limit'
  | 'typing'
  | 'unexplained';

/** The same, with the pump of a liquid cooler, which `cause` has no word for and counts as unexplained. */
export type NamedCause = ScreenedCause | 'pump';

/** A slip of the pen that would explain a run. */
export interface TypingError {
  kind:
    | 'digits exchanged'
    | 'digit dropped'
    | 'digit doubled'
    | 'decimal point moved'
    | 'columns exchanged'
    | 'ambient copied'
    | 'entered twice';
  /** Where it was made; of two columns exchanged the first. */
  column: 'power_W' | 'fan_rpm' | 'source_C' | 'ambient_C' | 'run';
  typed: number | string;
  /** What was probably meant; the run's other id where it was entered twice; null where nobody can say. */
  meant: number | string | null;
}

export interface RunVerdict {
  run: string;
  /** ISO 5725-2: straggler for p between 1 % and 5 %, outlier below 1 %. */
  verdict: 'ok' | 'straggler' | 'outlier';
  /** Adjusted for the number of runs judged. */
  p: number;
  /** What was read less what all others predict, K. */
  residual_K: number;
  /** Standard uncertainty of that, K, the scatters included. */
  u_K: number;
  /** null: nothing is wrong. A pump counts as unexplained. */
  cause: ScreenedCause | null;
  cause_probability: number | null;
  /** As `cause`, but a pump is named. */
  likely_cause: NamedCause | null;
  /** Which slip, where `cause` is typing. */
  typing?: TypingError;
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

/** A clear outlier that an answer stands on (p below 0.1 %, a typing error below 1 %): a run, or a mount with all of its runs. */
export interface Strange {
  /** A run alone; absent: a whole mount, named by the next four. */
  run?: string;
  cooler: string;
  sample?: string;
  source?: string;
  mount?: string;
  /** The cooler's only other mount, where it has one: that the two differ is the finding, this one is the likelier culprit. */
  mate?: string;
  /** Load of the run, or the greatest of the mount, at which the next two are meant. */
  power_W: number;
  /** What was read less what all others predict, K. */
  off_K: number;
  /** Standard uncertainty of that, K, the run's own scatter and that of mounts included. */
  u_K: number;
  p: number;
  cause: ScreenedCause | null;
}

/** What every answer over runs has besides. */
export interface OverRuns {
  /** Clear outliers among the runs that the answer stands on; empty where there is none. `screen` has the marginal ones too. */
  strange: Strange[];
}

/** A mount beside the other mounts of its cooler, free of load and speed. */
export interface MountBeside {
  /**
   * Its resistance less its cooler's own, K/W: the mean of the cooler's mounts, strange ones left out where it has more than two; null where
   * the cooler has no other mount on the source.
   */
  off_K_per_W: number | null;
  /** Standard uncertainty of that from readings and curve, K/W; the scatter of mounts is not in it. */
  u_K_per_W: number | null;
  /** Standard deviation of the cooler's mounts as the bench has it, K/W, that of samples included where it has several. */
  scatter_K_per_W: number;
}

/** How the logs of two mounts of a cooler part at one load and speed: within seconds at the interface, after minutes on the air side. */
export interface Parting {
  /** Run of the mount in question, and run of another mount that it is held against. */
  run: string;
  beside: string;
  /** Since the load step, s. */
  at_s: number;
  /** Share of their final difference that is there at that time, and its standard uncertainty. */
  share: number;
  u: number;
  /** The share that each fault would have by then. */
  expected: { interface: number; airflow: number; leak: number; sensor: number };
}

export interface MountVerdict extends MountBeside {
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
  /**
   * A sentence: that the mount is one side of a pair, of which it is only the likelier culprit, with what would be the cause on the other side, and what the recorded speed of the pump says of it;
   * null where there is neither, or nothing is wrong.
   */
  remark: string | null;
  /** Where the fault sits by the logs; null where they do not tell, or nothing is wrong. */
  parting: Parting | null;
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
