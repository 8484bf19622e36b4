import type { BenchPosterior, CoolerPosterior } from '../posterior/bench-posterior.ts';
import type { RisePoint } from './joint-rises.ts';
import { type RiseDistribution, riseDistributions } from './rise-distribution.ts';

/** A rise whose fresh run has another middle than the mean: what a source's own sensor reads is learnt from its runs. */
export interface SwappedDistribution extends RiseDistribution {
  readonly runShift_K: number;
}

/** How a posterior answers when its coolers' curves come from one source and the answers are for another. */
export interface SwappedSource {
  readonly distributions: (cooler: CoolerPosterior, points: readonly RisePoint[]) => SwappedDistribution[];
  /** Standard uncertainties of the errors that the sensitivities of those distributions are for. */
  readonly uncertainties: Float64Array;
}

/** A posterior for another source than the one that the curves were fitted on. */
export interface SwappedPosterior extends BenchPosterior {
  readonly swapped: SwappedSource;
}

/** How a posterior's source was swapped; `undefined` where it was not. */
export function swappedSource(posterior: BenchPosterior): SwappedSource | undefined {
  return (posterior as Partial<SwappedPosterior>).swapped;
}

/** The rise of a cooler at some points, on whichever source the posterior answers for. */
export function distributionsFor(
  posterior: BenchPosterior,
  cooler: CoolerPosterior,
  points: readonly RisePoint[],
): (RiseDistribution & { readonly runShift_K?: number })[] {
  const swapped = swappedSource(posterior);
  return swapped ? swapped.distributions(cooler, points) : riseDistributions(posterior, cooler, points);
}
