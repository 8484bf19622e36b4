import type { RehearseOptions } from '../design/planned.ts';
import { unlikeLoad, unlikeSpeed } from './log-blocks.ts';

/** A run of a plan, by its place in it. */
export interface RunAtHand {
  /** From 1. */
  order: number;
  cooler: string;
  sample: string | null;
  power_W: number;
  fan_rpm: number | null;
  /** Whether it is on fresh paste. */
  remount: boolean;
  minutes: number | null;
}

/** A plan beside the log: which of its runs is in progress, and which comes next. */
export class PlanAtHand {
  private readonly runs: readonly RunAtHand[];
  private place = -1;
  private from: number;

  /**
   * @param from  the first run that may be in progress, from 1
   */
  constructor(runs: RehearseOptions['runs'], from = 1) {
    this.runs = runs.map((run, k) => ({
      order: k + 1,
      cooler: run.cooler,
      sample: run.sample ?? null,
      power_W: run.power_W,
      fan_rpm: run.fan_rpm ?? null,
      remount: run.remount ?? true,
      minutes: run.minutes ?? null,
    }));
    this.from = from - 1;
  }

  get length(): number {
    return this.runs.length;
  }

  /** The run in progress; `undefined` before a load that the plan has. */
  get present(): RunAtHand | undefined {
    return this.runs[this.place];
  }

  /** The run after it; before any, the first. */
  get next(): RunAtHand | undefined {
    return this.runs[this.place < 0 ? this.from : this.place + 1];
  }

  /**
   * A load is on: the run in progress is the first one at that load and speed that is not behind the one so far, or is beyond it where the
   * load was off between them.
   *
   * @returns whether the plan has it
   */
  begin(power_W: number, fan_rpm: number, wasOff: boolean, cooler?: string): boolean {
    const from = wasOff && this.place >= 0 ? this.place + 1 : this.from;
    const found = this.runs.findIndex(
      (run, k) =>
        k >= from &&
        !unlikeLoad(run.power_W, power_W, 0) &&
        (run.fan_rpm === null || !unlikeSpeed(run.fan_rpm, fan_rpm)) &&
        (cooler === undefined || run.cooler === cooler),
    );
    if (found < 0) return false;
    this.place = found;
    this.from = found;
    return true;
  }
}
