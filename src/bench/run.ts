import type { Run } from './bench.ts';

/** A run that shows the sensors' offset and nothing of the cooler. */
export function isZeroLoad({ power_W }: Pick<Run, 'power_W'>): boolean {
  return power_W === 0;
}

/** Rise of a run as it was read, K: the sensors' offsets are in it. */
export function riseOf({ source_C, ambient_C }: Pick<Run, 'source_C' | 'ambient_C'>): number {
  return source_C - ambient_C;
}

/** Share of the load that goes into the base at least, whatever leak a bench states (an assumption). */
const LEAST_SHARE = 0.05;

/** Heat into the base, W: the load less what leaks to the room at this rise. */
export function heatIntoBase(power_W: number, rise_K: number, leak_W_per_K: number): number {
  return Math.max(power_W - leak_W_per_K * Math.max(rise_K, 0), LEAST_SHARE * power_W);
}

/** Two loads, or two speeds, within this share of the greater are one condition; as metered they never agree exactly (an assumption). */
const SAME = 0.04;

/** Whether two loads or two speeds count as the same. */
export function isSame(a: number, b: number): boolean {
  return Math.abs(a - b) <= SAME * Math.max(a, b);
}

type Condition = Pick<Run, 'source' | 'orientation' | 'power_W' | 'fan_rpm' | 'pump_rpm'>;

/** Whether two runs were taken at one condition: source, orientation, load, fan and pump speed. */
export function isSameCondition(a: Condition, b: Condition): boolean {
  return (
    a.source === b.source &&
    (a.orientation ?? '') === (b.orientation ?? '') &&
    isSame(a.power_W, b.power_W) &&
    isSame(a.fan_rpm, b.fan_rpm) &&
    isSame(a.pump_rpm ?? 0, b.pump_rpm ?? 0)
  );
}
