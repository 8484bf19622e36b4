import type { Bench, Run } from '../bench/bench.ts';
import { countMounts, mountKey } from '../bench/mounts.ts';
import { heatIntoBase, isSame, isZeroLoad, riseOf } from '../bench/run.ts';
import { sourceOf } from '../bench/source.ts';
import { largest, smallest } from '../numerics/extremes.ts';

/** Plate and radiator of a liquid cooler at one fan and pump speed. */
export interface LoopSplit {
  source: string;
  fan_rpm: number;
  /** Null where the runs do not tell. */
  pump_rpm: number | null;
  runs: number;
  mounts: number;
  power_low_W: number;
  power_high_W: number;
  plate_K_per_W: number;
  plate_u_K_per_W: number;
  radiator_K_per_W: number;
  radiator_u_K_per_W: number;
}

export interface PlateAndRadiator {
  bench: string;
  coolers: { cooler: string; splits: LoopSplit[]; verdict: string }[];
  warnings: string[];
}

/** How far one reading of the coolant lies from its mean over the loop, K: common practice, no source. */
const COOLANT_READING_K = 0.2;

/**
 * The two resistances of every liquid cooler whose coolant was logged: cold plate, from the source to the coolant, and
 * radiator, from the coolant into the air.
 *
 * With Q the heat into the base, plate = (source − coolant)/Q and radiator = (coolant − ambient)/Q; their sum is the whole
 * resistance. Their meaning hangs on where the coolant is metered: before the plate the coolant's own warming, Q over its
 * capacity rate, is counted to the plate, behind it to the radiator. A diagnosis, not a model: paste, fittings and the pump move the
 * plate, fans and dust the radiator, so a change of the whole is traced to one of the two.
 *
 * Fittings scatter the plate only. Uncertainties hold the scatter between fittings (from two on), the readings' scatter within them,
 * and the sensors' systematic errors over the heat; the coolant's sensor is taken to be as good as the ambient's.
 *
 * @returns one entry a cooler, with one split for every pair of fan and pump speeds
 * @example plateAndRadiator(bench).coolers[0].splits[0].plate_K_per_W
 */
export function plateAndRadiator(bench: Bench): PlateAndRadiator {
  const warnings: string[] = [];
  const coolers = bench.coolers.flatMap(({ cooler, kind }) => {
    if (kind !== 'liquid') return [];
    const own = bench.runs.filter((run) => run.cooler === cooler && !isZeroLoad(run));
    const logged = own.filter((run) => run.coolant_C !== undefined);
    if (logged.length === 0) {
      if (own.length > 0)
        warnings.push(`${cooler}: no coolant_C in its runs, so plate and radiator cannot be told apart`);
      return [];
    }
    const odd = logged.filter(
      (run) => (run.coolant_C as number) <= run.ambient_C || (run.coolant_C as number) >= run.source_C,
    );
    if (odd.length > 0) {
      warnings.push(
        `${cooler}: the coolant is not between ambient and source in ${odd.map(({ run }) => run).join(', ')}; left out`,
      );
    }
    const usable = logged.filter((run) => !odd.includes(run));
    const splits = groups(usable).map((runs) => splitOf(bench, runs));
    return [{ cooler, splits, verdict: verdictOf(cooler, splits) }];
  });
  return { bench: bench.name, coolers, warnings };
}

/** Runs of one source and nearly the same fan and pump speed. */
function groups(runs: readonly Run[]): Run[][] {
  const found: Run[][] = [];
  for (const run of runs) {
    const group = found.find(
      ([first]) =>
        first.source === run.source &&
        isSame(first.fan_rpm, run.fan_rpm) &&
        isSame(first.pump_rpm ?? 0, run.pump_rpm ?? 0),
    );
    if (group) group.push(run);
    else found.push([run]);
  }
  return found;
}

/**
 * Plate and radiator at one fan speed: each resistance by regression of its temperature difference on the
 * heat, with the sensors' errors in its uncertainty.
 */
function splitOf(bench: Bench, runs: readonly Run[]): LoopSplit {
  const [first] = runs;
  const { leak_W_per_K, sensor_systematic_K: source_K } = sourceOf(bench, first.source);
  const heat = runs.map((run) => heatIntoBase(run.power_W, riseOf(run), leak_W_per_K.value));
  const plate = estimate(runs, heat, (run) => run.source_C - (run.coolant_C as number));
  const radiator = estimate(runs, heat, (run) => (run.coolant_C as number) - run.ambient_C);
  const { ambient_temperature } = bench.instruments;
  const coolant_K = ambient_temperature.systematic_K;
  const squares = heat.reduce((sum, q) => sum + q * q, 0);
  const perKelvin = heat.reduce((sum, q) => sum + q, 0) / squares;
  return {
    source: first.source,
    fan_rpm: first.fan_rpm,
    pump_rpm: first.pump_rpm ?? null,
    runs: runs.length,
    mounts: countMounts(runs),
    power_low_W: smallest(runs.map((run) => run.power_W)),
    power_high_W: largest(runs.map((run) => run.power_W)),
    plate_K_per_W: plate.value,
    plate_u_K_per_W: Math.hypot(plate.u, perKelvin * Math.hypot(source_K, coolant_K)),
    radiator_K_per_W: radiator.value,
    radiator_u_K_per_W: Math.hypot(
      radiator.u,
      perKelvin * Math.hypot(coolant_K, ambient_temperature.systematic_K),
    ),
  };
}

/**
 * Least squares of a temperature difference on the heat, through nothing; uncertainty from the scatter between the means of
 * fittings where there are two, else from the scatter of the readings, never below that of one reading of the coolant.
 */
function estimate(
  runs: readonly Run[],
  heat: readonly number[],
  difference: (run: Run) => number,
): { value: number; u: number } {
  const squares = heat.reduce((sum, q) => sum + q * q, 0);
  const value = runs.reduce((sum, run, i) => sum + difference(run) * heat[i], 0) / squares;
  const byMount = new Map<string, { top: number; bottom: number }>();
  let residual = 0;
  runs.forEach((run, i) => {
    residual += (difference(run) - value * heat[i]) ** 2;
    const key = mountKey(run);
    const sums = byMount.get(key) ?? { top: 0, bottom: 0 };
    sums.top += difference(run) * heat[i];
    sums.bottom += heat[i] * heat[i];
    byMount.set(key, sums);
  });
  const floor = COOLANT_READING_K / Math.sqrt(squares);
  const means = Array.from(byMount.values(), ({ top, bottom }) => top / bottom);
  if (means.length > 1) {
    const spread = means.reduce((sum, m) => sum + (m - value) ** 2, 0) / (means.length - 1);
    return { value, u: Math.max(Math.sqrt(spread / means.length), floor) };
  }
  const scatter = runs.length > 1 ? Math.sqrt(residual / (runs.length - 1) / squares) : 0;
  return { value, u: Math.max(scatter, floor) };
}

/** The split at the greatest fan speed, in a sentence. */
function verdictOf(cooler: string, splits: readonly LoopSplit[]): string {
  if (splits.length === 0) return `${cooler}: no reading of the coolant that can be used.`;
  const full = splits.reduce((a, b) => (b.fan_rpm > a.fan_rpm && !isSame(a.fan_rpm, b.fan_rpm) ? b : a));
  const total = full.plate_K_per_W + full.radiator_K_per_W;
  const share = Math.round((100 * full.plate_K_per_W) / total);
  const parts = `${(1000 * full.plate_K_per_W).toFixed(0)} mK/W in paste and plate and ${(1000 * full.radiator_K_per_W).toFixed(0)} mK/W in the radiator`;
  return `${cooler} at ${Math.round(full.fan_rpm)} rpm: ${parts}; the plate's side is ${share} % of the whole.`;
}
