import type { Bench } from '../bench/bench.ts';
import type { PlanResult, PlanRun } from '../results.ts';

/** Loads are raised by a tenth at a time where they were never run (common practice, no source). */
const CLIMB = 1.1;
/** A cooler that was never heated on this source climbs from such a share of the load. */
const FROM_NOTHING = 0.25;

/**
 * Loads on the way from the greatest one run to another, each a tenth or so above the one before; empty where the load is no further than that.
 *
 * @example climbTo(240, 190) // [205, 222]
 */
export function climbTo(power_W: number, from_W: number): number[] {
  const from = from_W > 0 ? from_W : FROM_NOTHING * power_W;
  const steps = Math.ceil(Math.log(power_W / from) / Math.log(CLIMB) - 1e-9);
  const between = Array.from({ length: Math.max(0, steps - 1) }, (_, k) =>
    Math.round(from * (power_W / from) ** ((k + 1) / steps)),
  );
  return from_W > 0 || between.length === 0 ? between : [Math.round(from), ...between];
}

/**
 * Visits in an order in which no sample is taken off and put back: those of one sample follow each other, where the first of them stands.
 *
 * @example together([{ cooler: 0, sample: '1' }, { cooler: 1, sample: '1' }, { cooler: 0, sample: '1' }]).map((visit) => visit.cooler) // [0, 0, 1]
 */
export function together<V extends { readonly cooler: number; readonly sample: string }>(
  visits: readonly V[],
): V[] {
  const places = new Map<string, V[]>();
  for (const visit of visits) {
    const key = `${visit.cooler}/${visit.sample}`;
    places.set(key, [...(places.get(key) ?? []), visit]);
  }
  const coolers = [...new Set(visits.map(({ cooler }) => cooler))];
  const samples = [...places.values()];
  return coolers.flatMap((cooler) => samples.filter(([first]) => first.cooler === cooler).flat());
}

/** Runs in order, each with the loads that lead up to it where its cooler was never run so high on this source. */
export function withClimbs(bench: Pick<Bench, 'runs'>, source: string, runs: readonly PlanRun[]): PlanRun[] {
  const greatest = new Map<string, number>();
  const raise = (cooler: string, power_W: number) =>
    greatest.set(cooler, Math.max(greatest.get(cooler) ?? 0, power_W));
  for (const run of bench.runs) if (run.source === source) raise(run.cooler, run.power_W);
  return runs.map((run, k) => {
    const climb_W = climbTo(run.power_W, greatest.get(run.cooler) ?? 0);
    raise(run.cooler, run.power_W);
    return { ...run, order: k + 1, climb_W };
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
