import type { Bench } from '../bench/bench.ts';
import type { LoggedRow } from './log-blocks.ts';
import { noLoad_W } from './plausible-run.ts';
import { StuckSensor } from './stuck-sensor.ts';

/** What may be wrong with a run while it is logged. */
export type FindingKind =
  | 'limit'
  | 'no load'
  | 'no response'
  | 'no reading'
  | 'silent file'
  | 'fan stopped'
  | 'fan changed'
  | 'pump stopped'
  | 'sensor stuck'
  | 'room'
  | 'drift'
  | 'not planned';

export interface Finding {
  what: FindingKind;
  /** Since when, by the log, s. */
  since_s: number;
  says: string;
}

/** A signal that drops out returns within so long, s (common practice, no source). */
const held_s = 10;
/** The source has to move by so much within so long of a load switched on (common practice, no source). */
const moves_K = 0.3;
const within_s = 60;
const fewestWatts = 20;
/** Up to this a fan or a pump stands still, rpm. */
const still_rpm = 60;
/** The room is judged by its mean over this, s, and is back when it is so much inside, K. */
const roomMemory_s = 30;
const back_K = 0.1;

/** Tells what is wrong, row by row. */
export class Findings {
  private readonly active = new Map<FindingKind, Finding>();
  private readonly stuck = { source: new StuckSensor(), ambient: new StuckSensor() };
  private readonly ambient: Bench['ambient'];
  /** When a condition was met first without a break, by its name, s. */
  private readonly since = new Map<string, number>();
  private fan_rpm = 0;
  private pump_rpm = 0;
  private room_C = Number.NaN;
  private last_s = Number.NaN;
  private dropouts = 0;
  private lost = 0;
  private step: { time_s: number; source_C: number; rise_W: number } | undefined;
  private isStepResponded = true;

  constructor(bench: Pick<Bench, 'ambient'>) {
    this.ambient = bench.ambient;
  }

  /** All that is wrong now. */
  get all(): readonly Finding[] {
    return [...this.active.values()];
  }

  set(what: FindingKind, time_s: number, says: string | undefined): void {
    if (says === undefined) this.active.delete(what);
    else this.active.set(what, { what, since_s: this.active.get(what)?.since_s ?? time_s, says });
  }

  /** A load step begins: by how many W, at what temperature of the source. */
  begin(time_s: number, source_C: number, rise_W: number): void {
    this.step = { time_s, source_C, rise_W };
    this.isStepResponded = rise_W < fewestWatts;
    for (const what of ['no response', 'drift', 'limit'] as const) this.active.delete(what);
  }

  /**
   * Takes a row.
   *
   * @param foreseen  where the source is to be by what is known, °C
   */
  take(row: LoggedRow, foreseen?: (time_s: number) => number): void {
    const { own_s, time_s, source_C, ambient_C, power_W, fan_rpm, pump_rpm } = row;
    const lacks = row.dropouts > this.dropouts;
    this.dropouts = row.dropouts;
    this.lost = lacks ? this.lost + 1 : 0;
    this.set(
      'no reading',
      own_s,
      this.lost >= 3 ? `${this.lost} rows without a reading; check the sensor` : undefined,
    );
    if (lacks) return;
    const step = Number.isNaN(this.last_s) ? 0 : Math.max(0, time_s - this.last_s);
    this.last_s = time_s;
    const isLoaded = power_W > noLoad_W;
    const lasts = (name: string, is: boolean): number => {
      if (!is) this.since.delete(name);
      else if (!this.since.has(name)) this.since.set(name, time_s);
      return is ? time_s - (this.since.get(name) as number) : -1;
    };
    const idle = lasts('idle', !isLoaded);
    this.set(
      'no load',
      own_s,
      idle >= held_s ? `no load: the supply gives ${power_W.toFixed(1)} W` : undefined,
    );
    this.turns(row, lasts, isLoaded);
    if (fan_rpm > this.fan_rpm) this.fan_rpm = fan_rpm;
    if (pump_rpm !== undefined && pump_rpm > this.pump_rpm) this.pump_rpm = pump_rpm;
    this.takeRoom(own_s, ambient_C, step);
    this.takeSensors(row, foreseen);
    this.takeResponse(own_s, time_s, source_C, power_W);
  }

  /** What has turned in this log and stands still under load. */
  private turns(
    { own_s, fan_rpm, pump_rpm }: LoggedRow,
    lasts: (name: string, is: boolean) => number,
    isLoaded: boolean,
  ): void {
    const fan = lasts('fan', isLoaded && fan_rpm <= still_rpm && this.fan_rpm > 2 * still_rpm);
    this.set(
      'fan stopped',
      own_s,
      fan >= held_s
        ? `the fan has stopped (it ran at up to ${Math.round(this.fan_rpm)} rpm); switch the load off`
        : undefined,
    );
    // A column of pump speed is there because there is a pump: it need not have been seen to turn.
    const pump = lasts('pump', isLoaded && pump_rpm !== undefined && pump_rpm <= still_rpm);
    this.set(
      'pump stopped',
      own_s,
      pump >= held_s
        ? `the pump is at ${Math.round(pump_rpm as number)} rpm under load; switch the load off`
        : undefined,
    );
  }

  private takeRoom(own_s: number, ambient_C: number, step_s: number): void {
    const share = Number.isNaN(this.room_C) ? 1 : -Math.expm1(-step_s / roomMemory_s);
    this.room_C = share === 1 ? ambient_C : this.room_C + (ambient_C - this.room_C) * share;
    const { setpoint_C, tolerance_K } = this.ambient;
    const off = Math.abs(this.room_C - setpoint_C) - tolerance_K;
    if (off > 0 || (off > -back_K && this.active.has('room')))
      this.set(
        'room',
        own_s,
        `the room is at ${this.room_C.toFixed(1)} °C; the bench asks for ${setpoint_C} ± ${tolerance_K} °C`,
      );
    else this.set('room', own_s, undefined);
  }

  private takeSensors(
    { own_s, time_s, source_C, ambient_C }: LoggedRow,
    foreseen?: (time_s: number) => number,
  ): void {
    const source = this.stuck.source.take(time_s, source_C, foreseen);
    const ambient = this.stuck.ambient.take(time_s, ambient_C);
    const [name, value, lasts] =
      source !== undefined ? ['source', source_C, source] : ['ambient', ambient_C, ambient];
    this.set(
      'sensor stuck',
      own_s,
      lasts === undefined
        ? undefined
        : `the ${name} sensor has read ${value} °C for ${Math.round(lasts)} s without a change; check it and its cable`,
    );
  }

  private takeResponse(own_s: number, time_s: number, source_C: number, power_W: number): void {
    if (this.isStepResponded || !this.step) return;
    const moved = source_C - this.step.source_C;
    if (moved > moves_K || power_W <= noLoad_W) {
      this.isStepResponded = true;
      this.set('no response', own_s, undefined);
    } else if (time_s - this.step.time_s >= within_s) {
      this.set(
        'no response',
        own_s,
        `${Math.round(power_W)} W for ${Math.round(time_s - this.step.time_s)} s and the source has not warmed; is the heater on, and is the sensor in the block?`,
      );
    }
  }
}
