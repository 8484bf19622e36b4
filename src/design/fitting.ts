import { groupedBy } from '../bench/grouped.ts';
import type { PlannedRun } from './visits.ts';

/** Like fittings of a cooler, each with the same runs, and how many of them there are. */
export interface Fitting {
  readonly cooler: number;
  readonly runs: readonly PlannedRun[];
  readonly times: number;
  /** The same for the same runs, whatever the fitting is called. */
  readonly name: string;
}

/** Key of a run's cooler, sample, load, speed and source. */
export function kindOf({ cooler, sample, power_W, fan_rpm, onHeater }: PlannedRun): string {
  return `${cooler}\u0000${sample}\u0000${power_W}\u0000${fan_rpm}${onHeater ? '\u0000heater' : ''}`;
}

/** One fitting of a cooler with its runs. @param runs  at least one */
export function fittingOf(runs: readonly PlannedRun[]): Fitting {
  return { cooler: runs[0].cooler, runs, times: 1, name: runs.map(kindOf).join('') };
}

/** Planned runs by their fitting, in an order that does not depend on names of mounts. */
export function fittingsOf(runs: readonly PlannedRun[]): Fitting[] {
  const byMount = groupedBy(runs, ({ cooler, mount }) => `${cooler}\u0000${mount}`);
  return Array.from(byMount.values(), fittingOf);
}

/** Like fittings as one, with how many they are. */
export function alike(fittings: readonly Fitting[]): Fitting[] {
  const times = new Map<string, number>();
  for (const one of fittings) times.set(one.name, (times.get(one.name) ?? 0) + one.times);
  if (times.size === fittings.length) return [...fittings];
  const left = new Set(times.keys());
  return fittings.flatMap((one) =>
    left.delete(one.name) ? [{ ...one, times: times.get(one.name) as number }] : [],
  );
}

/** The same for the same runs on as many fittings. @param fittings  see {@link alike} and {@link inOrder} */
export function keyOf(fittings: readonly Fitting[]): string {
  let key = '';
  for (const { name, times } of fittings) key += `${times}*${name};`;
  return key;
}

/** By name, so that what has one key stands in one order. */
export function inOrder(fittings: Fitting[]): Fitting[] {
  return fittings.sort((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0));
}

/** Every run of every fitting, each on a fitting of its own name. */
export function eachRun(fittings: readonly Fitting[]): PlannedRun[] {
  return fittings.flatMap(({ runs, times }, f) =>
    Array.from({ length: times }, (_, k) =>
      runs.map((run) => ({ ...run, mount: `planned/${f}/${k}` })),
    ).flat(),
  );
}
