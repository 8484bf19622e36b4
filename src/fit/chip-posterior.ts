import type { Bench } from '../bench/bench.ts';
import { isZeroLoad } from '../bench/run.ts';
import { sourceOf } from '../bench/source.ts';
import { addGram, cholesky, solveLower } from '../numerics/matrix.ts';
import type { BenchPosterior, CoolerPosterior } from './bench-posterior.ts';
import { conflictSentences, onChip, runsOn } from './chip-term.ts';
import { coolerRuns } from './cooler-runs.ts';
import type { SessionEffects } from './session-effects.ts';
import type { ChipStates, SourceTerm } from './source-term.ts';

/**
 * The posterior of a bench for a chip, coolers that were never run on it included.
 *
 * A cooler with heater runs keeps its heater curve and gets the chip's term; its own chip runs, where it has some, count
 * as well. A cooler that was only ever run on the chip is fitted on its chip runs alone.
 *
 * @param heater  posterior of the same bench on its heater, with one cooler or more
 * @param term  what the chip has more than the heater, as `sourceTerm` finds it
 * @param fitted  posterior of the bench's runs on a source alone; asked only where `runElsewhere` says so
 */
export function chipPosterior(
  heater: BenchPosterior,
  source: string,
  term: SourceTerm,
  fitted: (source: string) => BenchPosterior,
): BenchPosterior {
  const { bench } = heater;
  const alone = runElsewhere(bench, source) ? fitted(source) : undefined;
  const named = (coolers: readonly CoolerPosterior[] | undefined, name: string) =>
    coolers?.find(({ data }) => data.cooler.cooler === name);
  const coolers = bench.coolers.flatMap(({ cooler }): CoolerPosterior[] => {
    const onHeater = named(heater.coolers, cooler);
    if (onHeater) return [answering(heater, onHeater, source)];
    const own = named(alone?.coolers, cooler);
    if (!alone || !own) return [];
    const notes = [...own.notes, `run on ${source} only: fitted on those runs alone`];
    return [{ ...own, notes, fittedIn: { posterior: alone, cooler: own } }];
  });
  const states =
    alone?.sessionEffects &&
    statesBesideSensor(alone.sessionEffects, sourceOf(bench, source).sensor_common_K);
  return {
    ...heater,
    source,
    coolers,
    warnings: [
      ...new Set([...heater.warnings, ...(alone?.warnings ?? []), ...conflictSentences(term, source)]),
    ],
    term: { ...term, ...(states && { states }) },
  };
}

/** Whether some cooler has runs with heat on this chip and none on the heater. */
export function runElsewhere(bench: Bench, source: string): boolean {
  const heated = bench.runs.filter((run) => !isZeroLoad(run));
  const onHeater = new Set(heated.filter((run) => run.source === 'heater').map((run) => run.cooler));
  return heated.some((run) => run.source === source && !onHeater.has(run.cooler));
}

/** A cooler as it answers for the chip: the ranges are those of its runs there, if it has any. */
function answering(heater: BenchPosterior, cooler: CoolerPosterior, source: string): CoolerPosterior {
  const { cooler: described } = cooler.data;
  const data = coolerRuns(heater.bench, described, source, runsOn(heater.bench, described.cooler, source));
  const kept = 'its curve is that of its heater runs, with the term of the source';
  const one = onChip(heater, cooler);
  return data
    ? { ...one, data, notes: [...cooler.notes, `${kept} and its own runs on ${source}`] }
    : { ...one, notRunOn: source, notes: [...cooler.notes, `not run on ${source}: ${kept}`] };
}

/**
 * Takes the sensor on the die out of the sessions' states, since the term of the source carries it for all coolers.
 *
 * No more than what all offsets have in common can be taken from a covariance S: 1/(1ᵀ·S⁻¹·1).
 */
function statesBesideSensor({ root, offset_K }: SessionEffects, sensor_K: number): ChipStates {
  const sessions = offset_K.length;
  const size = 2 * sessions;
  const ones = new Float64Array(size).fill(1, 0, sessions);
  solveLower(root, size, ones);
  const common = Math.min(sensor_K ** 2, (1 - 1e-6) / ones.reduce((sum, value) => sum + value * value, 0));
  const rest = addGram(new Float64Array(size * size), root, size, size);
  for (let a = 0; a < sessions; a++) for (let b = 0; b < sessions; b++) rest[a * size + b] -= common;
  for (let a = 0; a < size; a++) rest[a * size + a] *= 1 + 1e-9;
  if (!cholesky(rest, size))
    throw new RangeError('statesBesideSensor: the states of the sessions have no spread');
  return { root, rest };
}
