import type { Bench } from '../bench/bench.ts';
import { studyOf } from '../study.ts';
import type { PlanResult, PlanRun } from './planned.ts';

/** Loads are raised by a tenth at a time where they were never run (common practice, no source). */
const CLIMB = 1.1;
/** A cooler that was never heated on this source climbs by such shares of the load (common practice, no source). */
const FROM_NOTHING = [0.25, 0.5, 0.75, 0.9];

/**
 * Loads on the way from the greatest one run to another, each a tenth or so above the one before; empty where the load is no further than that.
 *
 * @example climbTo(240, 190) // [205, 222]
 */
export function climbTo(power_W: number, from_W: number): number[] {
  if (!(from_W > 0)) return FROM_NOTHING.map((share) => Math.round(share * power_W));
  const steps = Math.ceil(Math.log(power_W / from_W) / Math.log(CLIMB) - 1e-9);
  return Array.from({ length: Math.max(0, steps - 1) }, (_, k) =>
    Math.round(from_W * (power_W / from_W) ** ((k + 1) / steps)),
  );
}

/** Gives the loads on the way to each run, asked in their order: a load once run on a source is not climbed to again there. */
export function climber({
  runs,
}: Pick<Bench, 'runs'>): (source: string, cooler: string, power_W: number) => number[] {
  const placeOf = (source: string, cooler: string) => `${source}\u0000${cooler}`;
  const done = studyOf(runs).once('greatest loads', () => {
    const greatest = new Map<string, number>();
    for (const { source, cooler, power_W } of runs) {
      const place = placeOf(source, cooler);
      greatest.set(place, Math.max(greatest.get(place) ?? 0, power_W));
    }
    return greatest;
  });
  const planned = new Map<string, number>();
  return (source, cooler, power_W) => {
    const place = placeOf(source, cooler);
    const from_W = Math.max(done.get(place) ?? 0, planned.get(place) ?? 0);
    planned.set(place, Math.max(from_W, power_W));
    return climbTo(power_W, from_W);
  };
}

/**
 * Visits in an order in which no sample is taken off and put back: those of one sample follow each other, where the first of them stands;
 * those on the heater come before those on a chip.
 *
 * @example together([{ cooler: 0, sample: '1' }, { cooler: 1, sample: '1' }, { cooler: 0, sample: '1' }]).map((visit) => visit.cooler) // [0, 0, 1]
 */
export function together<
  V extends { readonly cooler: number; readonly sample: string; readonly onHeater?: true },
>(visits: readonly V[]): V[] {
  const onHeater = visits.filter((visit) => visit.onHeater);
  if (onHeater.length > 0 && onHeater.length < visits.length)
    return [onHeater, visits.filter((visit) => !visit.onHeater)].flatMap(together);
  const places = new Map<string, V[]>();
  for (const visit of visits) {
    const key = `${visit.cooler}/${visit.sample}`;
    places.set(key, [...(places.get(key) ?? []), visit]);
  }
  const coolers = [...new Set(visits.map(({ cooler }) => cooler))];
  const samples = [...places.values()];
  return coolers.flatMap((cooler) => samples.filter(([first]) => first.cooler === cooler).flat());
}

/**
 * Runs in order, each with the loads that lead up to it where its cooler was never run so high on this source, and their time in its minutes.
 *
 * @param step_min  what one load on the way takes
 */
export function withClimbs(
  bench: Pick<Bench, 'runs'>,
  runs: readonly PlanRun[],
  step_min: (run: PlanRun) => number,
): PlanRun[] {
  const climb = climber(bench);
  return runs.map((run, k) => {
    const climb_W = climb(run.source, run.cooler, run.power_W);
    return { ...run, order: k + 1, climb_W, minutes: run.minutes + climb_W.length * step_min(run) };
  });
}

/** What is to be minded at each run of a plan, by its order; what is of no one cooler stands at the first run. */
export function cautionsByRun({
  runs,
  warnings,
  safety,
}: Pick<PlanResult, 'runs' | 'warnings' | 'safety'>): Map<number, string[]> {
  const out = new Map<number, string[]>(runs.map(({ order }) => [order, []]));
  if (runs.length === 0) return out;
  const first = runs[0].order;
  out.get(first)?.push(...safety);
  for (const warning of new Set(warnings)) {
    const own = runs.filter(({ cooler }) => warning.startsWith(`${cooler} `));
    const at = own.find(({ cooler, power_W }) => warning.startsWith(`${cooler} at ${power_W} W`)) ?? own[0];
    out.get(at?.order ?? first)?.push(warning);
  }
  return out;
}
