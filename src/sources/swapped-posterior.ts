import type { Bench } from '../bench/bench.ts';
import { isZeroLoad } from '../bench/run.ts';
import { sourceOf } from '../bench/source.ts';
import { addGram, cholesky, solveLower, solveUpperT } from '../numerics/matrix.ts';
import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import { coolerRuns } from '../posterior/cooler-runs.ts';
import type { SessionEffects } from '../posterior/session-effects.ts';
import type { RisePoint } from '../prediction/joint-rises.ts';
import { type RiseDistribution, riseDistributions } from '../prediction/rise-distribution.ts';
import { FIRST_OFFSET, LEAK, PASTE, POWER_SCALE } from '../prediction/shared-errors.ts';
import {
  type SwappedDistribution,
  type SwappedPosterior,
  swappedSource,
} from '../prediction/swapped-source.ts';
import { runsOn } from './chip-runs.ts';
import { type SourceTerm, sourceTerm } from './source-term.ts';
import { swappedDistributions } from './swapped-distributions.ts';

/** A posterior for a chip: the coolers' heater curves with the chip's term. */
export interface ChipPosterior extends SwappedPosterior {
  readonly term: SourceTerm;
}

/** The chip's posterior where a posterior is one. */
export function asChipPosterior(posterior: BenchPosterior): ChipPosterior | undefined {
  return swappedSource(posterior) ? (posterior as ChipPosterior) : undefined;
}

/**
 * The posterior of a bench for a chip, coolers that were never run on it included.
 *
 * A cooler with heater runs keeps its heater curve and gets the chip's term; its own chip runs, where it has some, count
 * as well. A cooler that was only ever run on the chip is fitted on its chip runs alone.
 *
 * @param heater  posterior of the same bench on its heater, with one cooler or more
 * @param fitted  posterior of the bench's runs on a source alone; asked only where `runElsewhere` says so
 * @throws BenchError where the bench has no such chip
 */
export function chipPosterior(
  heater: BenchPosterior,
  source: string,
  fitted: (source: string) => BenchPosterior,
): ChipPosterior {
  const { bench } = heater;
  const term = sourceTerm(heater, source);
  const known = new Map(heater.coolers.map((one, index) => [one.data.cooler.cooler, index]));
  const alone = runElsewhere(bench, source) ? fitted(source) : undefined;
  const coolers: CoolerPosterior[] = [];
  for (const { cooler } of bench.coolers) {
    const index = known.get(cooler);
    const own = alone?.coolers.find((one) => one.data.cooler.cooler === cooler);
    if (index !== undefined) coolers.push(answering(heater, heater.coolers[index], source));
    else if (own) {
      coolers.push({ ...own, notes: [...own.notes, `run on ${source} only: fitted on those runs alone`] });
    }
  }
  const count = term.uncertainty.length;
  const ofTerm = count + term.runs.residual_K.length;
  const states =
    alone?.sessionEffects &&
    statesBesideSensor(alone.sessionEffects, sourceOf(bench, source).sensor_common_K);
  const size = ofTerm + (states ? Math.sqrt(states.root.length) : 0);
  const uncertainties = new Float64Array(size).fill(1);
  uncertainties.set(term.uncertainty);
  const distributions = ({ data }: CoolerPosterior, points: readonly RisePoint[]): SwappedDistribution[] => {
    const index = known.get(data.cooler.cooler);
    if (index !== undefined) {
      return swappedDistributions(term, index, points).map((one) => ({
        ...one,
        meanSensitivity: padded(one.meanSensitivity, size),
        runSensitivity: padded(one.runSensitivity, size),
      }));
    }
    const own = alone?.coolers.find((one) => one.data.cooler.cooler === data.cooler.cooler);
    if (!alone || !own) throw new RangeError(`no runs of ${data.cooler.cooler}`);
    return riseDistributions(alone, own, points).map((one) =>
      onSharedErrors(one, term, states, { ofTerm, size }),
    );
  };
  return {
    ...heater,
    source,
    coolers,
    warnings: [...new Set([...heater.warnings, ...(alone?.warnings ?? [])])],
    swapped: { distributions, uncertainties },
    term,
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
  const data = coolerRuns(heater.bench, cooler.data.cooler, source, runsOn(heater, cooler, source));
  const kept = 'its curve is that of its heater runs, with the term of the source';
  return data
    ? { ...cooler, data, notes: [...cooler.notes, `${kept} and its own runs on ${source}`] }
    : { ...cooler, notRunOn: source, notes: [...cooler.notes, `not run on ${source}: ${kept}`] };
}

/** States of a chip's sessions: the factor by which they are carried, the sensor on the die in it, and that of what is left without it. */
interface ChipStates {
  readonly root: Float64Array;
  readonly rest: Float64Array;
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

function padded(values: Float64Array, size: number): Float64Array {
  const out = new Float64Array(size);
  out.set(values);
  return out;
}

/**
 * A distribution of the chip's runs alone, its sensitivities put in the columns of the term's shared errors; those to the states of the sessions
 * stand after them all.
 */
function onSharedErrors(
  one: RiseDistribution,
  { shared, presentSession }: SourceTerm,
  states: ChipStates | undefined,
  { ofTerm, size }: { readonly ofTerm: number; readonly size: number },
): SwappedDistribution {
  const place = (from: Float64Array): Float64Array => {
    const to = new Float64Array(size);
    to[shared.power] = from[POWER_SCALE];
    to[shared.leak] = from[LEAK];
    if (!states) {
      to[shared.pasteOf.get(presentSession) ?? PASTE] += from[PASTE];
      to[shared.sensor] += from[FIRST_OFFSET];
      return to;
    }
    // What a kelvin and a K/W of each session do, from what the independent parts do of which they are made.
    const each = from.slice(FIRST_OFFSET);
    const columns = each.length;
    solveUpperT(states.root, columns, each);
    for (let k = 0; k < columns / 2; k++) to[shared.sensor] += each[k];
    for (let k = 0; k < columns; k++) {
      for (let z = 0; z <= k; z++) to[ofTerm + z] += each[k] * states.rest[k * columns + z];
    }
    return to;
  };
  return {
    ...one,
    runShift_K: 0,
    meanSensitivity: place(one.meanSensitivity),
    runSensitivity: place(one.runSensitivity),
  };
}
