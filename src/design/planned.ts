import type { Conditions } from '../predict/conditions.ts';
import type { Strange } from '../screen/strange.ts';

/** What plans and their rehearsals are made of. */

/** `power_W` is not used: the loads to decide are `target_W`. */
export interface PlanOptions extends Conditions {
  /** Loads at which the coolers are to be told apart, W. */
  target_W: number | readonly number[];
  /** Time on the bench. */
  hours: number;
  /**
   * `order`: as many pairs decided as can be; `winner`: which cooler is the coolest; `pair:A,B`: whether these two differ; `prediction`: the
   * narrowest predictions at the targets.
   */
  goal?: PlanGoal;
  /** Differences up to this do not matter, K: two coolers that are shown to lie within it count as the same. */
  margin_K?: number;
  /** In a plan for a chip: runs on the heater too, where they tell as much in less time. */
  with_heater?: boolean;
  settle_air_min?: number;
  settle_liquid_min?: number;
  remount_min?: number;
}

export type PlanGoal = 'order' | 'winner' | 'prediction' | `pair:${string}`;

export interface PlanRun {
  order: number;
  /** What it is on. */
  source: string;
  cooler: string;
  sample: string;
  power_W: number;
  fan_rpm: number;
  /** Fit it with fresh paste before this run. */
  remount: boolean;
  /** Fitting, climbing and settling. */
  minutes: number;
  /**
   * Information on its cooler's rise at the targets, nats: half the logarithm of variance before over after. 0 for a run that ties, whose worth is not
   * in one cooler.
   */
  gain: number;
  /** `question`: for what is asked; `reference`: ties sessions; `bridge`: ties procedures. */
  purpose: 'question' | 'reference' | 'bridge';
  /** Procedure to run it under where that is not the present one. */
  method: string | null;
  /** Loads on the way up, W, where its cooler was never run so high on this source: each all but settled before the next. */
  climb_W: number[];
}

export interface PlannedPair {
  a: string;
  b: string;
  power_W: number;
  /** a − b at best estimate, K. */
  difference_K: number;
  /** Told apart by the runs there are. */
  resolved_now: boolean;
  /** Chance that the plan tells them apart, in one look at its end. */
  resolved_chance: number;
  /** Chance that they are decided after the plan, all looks counted: told apart, or shown to be the same within the margin. */
  decided_chance: number;
  /** Chance that any number of mounts of the samples at hand would, at that load. */
  ever_chance: number;
  /** Where that is less than one in five: a load within reach that would tell them apart, if there is one. */
  other_load_W: number | null;
  /** Fresh mounts of each, one reading a mount, that tell the difference at best estimate; null: none within reason. */
  mounts_each: number | null;
  /** Samples of each, mounted once, that do; null: none within reason. */
  samples_each: number | null;
}

export interface PlannedCooler {
  cooler: string;
  power_W: number;
  rise_K: number;
  /** Standard uncertainty now and after the plan, errors that all coolers share left out, K. */
  u_now_K: number;
  u_after_K: number;
  /** Chance that it is the coolest at that load, as known now. */
  p_best: number;
  /** Worth a place on the real chip, where time is dearer. */
  take_to_chip: boolean;
  /** Greatest load that heater, temperature limit and the cooler's own runs allow, W. */
  most_W: number;
}

/**
 * What the runs there are decide, however often one has looked: a false word has a chance of at most 1 − level over all looks. `compare` is
 * one look and calls differences sooner.
 */
export interface PlanDecided {
  level: number;
  margin_K: number | null;
  /** Whether the question is answered. */
  answered: boolean;
  /** For `winner`, at each target: the leader, the chance that it is the coolest, and the coolers that may yet be. */
  winner: { power_W: number; cooler: string; p_best: number; decided: boolean; may_be: string[] }[];
  /** The comparisons that the question needs: every pair, the pair, or the leader `a` against each other cooler. */
  pairs: {
    a: string;
    b: string;
    power_W: number;
    /** a − b at best estimate and its limits for all looks, K. */
    difference_K: number;
    low_K: number;
    high_K: number;
    /** The cooler one of the two, once that is decided. */
    better: string | null;
    /** Shown to lie within the margin of each other. */
    same: boolean;
  }[];
  /** In a sentence. */
  sentence: string;
}

export interface PlanCurvePoint {
  hours: number;
  answered: number | null;
  right: number | null;
}

/** A plan for a chip with runs on the heater beside one without. */
export interface HeaterBeside {
  /** Runs for the question. */
  runs_on_heater: number;
  runs_on_source: number;
  /** In the same hours without the heater: runs on the chip, pairs told apart, and the chance of an answer as `answered_after`. */
  runs_on_source_alone: number;
  resolved_alone: number;
  answered_alone: number | null;
  /** Coolers with fewer runs on the chip than without the heater. */
  spared: string[];
}

export interface PlanResult {
  bench: string;
  source: string;
  goal: PlanGoal;
  runs: PlanRun[];
  decided: PlanDecided;
  expected: {
    hours: number;
    target_W: number[];
    pairs_in_all: number;
    resolved_now: number;
    /** Expected number of pairs told apart after the plan. */
    resolved_after: number;
    pairs: PlannedPair[];
    coolers: PlannedCooler[];
    /**
     * Chance that the question is answered, all looks counted, now and after the plan. For `order` the expected share of pairs, at several
     * targets the mean over them, for `prediction` the share of predictions within the margin; null without one.
     */
    answered_now: number | null;
    answered_after: number | null;
    /** Chance that the answer, were it given at best estimate, is right: of naming the coolest cooler, or the cooler of the pair. Else null. */
    right_now: number | null;
    right_after: number | null;
    /** How both grow on the way to the plan, visit by visit. */
    curve: PlanCurvePoint[];
    /** After so many hours the rest of the plan buys less than one pair in twenty hours; null: it pays to the end. */
    stop_after_hours: number | null;
    /** Where runs on the heater were asked for beside those on a chip. */
    with_heater?: HeaterBeside;
    /** Time assumptions, in words. */
    times: string;
    /** What it comes to, in sentences. */
    sentences: string[];
  };
  /** What a bench must have before it heats. */
  safety: string[];
  /** Outliers among the runs that the answer stands on; empty where there is none. */
  strange: Strange[];
  warnings: string[];
}

export interface RehearseOptions extends Conditions {
  /** As `plan` gives them; `remount: false` goes on with the mount before it. */
  runs: readonly {
    cooler: string;
    sample?: string;
    power_W: number;
    /** Absent: the source that is asked about; beside a chip the heater is accepted. */
    source?: string;
    fan_rpm?: number;
    remount?: boolean;
    minutes?: number;
    /** Runs that tie are not rehearsed; their time counts. */
    purpose?: PlanRun['purpose'];
  }[];
  repeats?: number;
}

/** What the whole loop of planning and reading is played with. */
export interface AdaptiveOptions extends Omit<PlanOptions, 'with_heater'> {
  repeats?: number;
}

/** What a way of choosing visits came to over the repeats. */
export interface AdaptivePolicy {
  /** Time on the bench until the answer, or until the hours end or no further run is worthwhile; its mean and quantiles. */
  hours_mean: number;
  hours_10: number;
  hours_50: number;
  hours_90: number;
  visits_mean: number;
  /** Share of the repeats in which the question was answered; in which no further run was worthwhile. */
  answered: number;
  not_worth_more: number;
  /** Share in which the answer at best estimate was right at the end, answered or not. */
  right: number;
  /** Comparisons decided at the end. */
  decided_mean: number;
  /** Share in which anything said at any look was false. */
  false_decisions: number;
}

export interface AdaptiveResult {
  bench: string;
  source: string;
  goal: PlanGoal;
  target_W: number[];
  margin_K: number | null;
  repeats: number;
  hours_asked: number;
  /** Plan one visit, read, plan again. */
  adaptive: AdaptivePolicy;
  /** Every cooler in turn at the target, looked at after every visit, on the same benches. */
  in_turn: AdaptivePolicy;
  warnings: string[];
}

export interface RehearsedPair {
  a: string;
  b: string;
  power_W: number;
  /** Share of the repeats in which the two were told apart, the right way or the wrong. */
  resolved_fraction: number;
  /** Share in which they were told apart the wrong way round. */
  false_fraction: number;
}

export interface RehearseResult {
  bench: string;
  repeats: number;
  hours: number;
  pairs: RehearsedPair[];
  /** Pairs told apart per repeat, and those told apart the wrong way round. */
  resolved_mean: number;
  false_mean: number;
  warnings: string[];
}
