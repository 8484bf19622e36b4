import { type BenchPosterior, benchPosterior, type CoolerPosterior } from '../posterior/bench-posterior.ts';
import { coolerRuns } from '../posterior/cooler-runs.ts';
import { modelsOf } from '../posterior/models-of.ts';
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
 * @throws BenchError where the bench has no such chip
 */
export function chipPosterior(heater: BenchPosterior, source: string): ChipPosterior {
  const { bench } = heater;
  const term = sourceTerm(heater, source);
  const known = new Map(heater.coolers.map((one, index) => [one.data.cooler.cooler, index]));
  const alone = bench.runs.some((run) => run.source === source && run.power_W > 0 && !known.has(run.cooler))
    ? benchPosterior(bench, modelsOf(bench), source)
    : undefined;
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
  const uncertainties = new Float64Array(count + term.runs.residual_K.length).fill(1);
  uncertainties.set(term.uncertainty);
  const distributions = (
    { data }: CoolerPosterior,
    power_W: readonly number[],
    speed: number,
  ): SwappedDistribution[] => {
    const index = known.get(data.cooler.cooler);
    if (index !== undefined) return swappedDistributions(term, index, power_W, speed);
    const own = alone?.coolers.find((one) => one.data.cooler.cooler === data.cooler.cooler);
    if (!alone || !own) throw new RangeError(`no runs of ${data.cooler.cooler}`);
    const size = uncertainties.length;
    return riseDistributions(alone, own, power_W, speed).map((one) => onSharedErrors(one, term, alone, size));
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

/** A cooler as it answers for the chip: the ranges are those of its runs there, if it has any. */
function answering(heater: BenchPosterior, cooler: CoolerPosterior, source: string): CoolerPosterior {
  const data = coolerRuns(heater.bench, cooler.data.cooler, source, runsOn(heater, cooler, source));
  const kept = 'its curve is that of its heater runs, with the term of the source';
  return data
    ? { ...cooler, data, notes: [...cooler.notes, `${kept} and its own runs on ${source}`] }
    : { ...cooler, notRunOn: source, notes: [...cooler.notes, `not run on ${source}: ${kept}`] };
}

/** A distribution of the chip's runs alone, its sensitivities put in the columns of the term's shared errors. */
function onSharedErrors(
  one: RiseDistribution,
  { shared, presentSession }: SourceTerm,
  alone: BenchPosterior,
  size: number,
): SwappedDistribution {
  const place = (from: Float64Array): Float64Array => {
    const to = new Float64Array(size);
    to[shared.power] = from[POWER_SCALE];
    to[shared.leak] = from[LEAK];
    if (!alone.sessionEffects) to[shared.pasteOf.get(presentSession) ?? PASTE] += from[PASTE];
    // A chip's sensor is on the die and stays the same from session to session.
    for (let k = FIRST_OFFSET; k < from.length; k++) to[shared.sensor] += from[k];
    return to;
  };
  return {
    ...one,
    runShift_K: 0,
    meanSensitivity: place(one.meanSensitivity),
    runSensitivity: place(one.runSensitivity),
  };
}
