import type { Model } from '../formula/model.ts';

/**
 * The scale on which a parameter is fitted, pooled and given a prior.
 *
 * Resistances, capacities and loads are positive and uncertain by factors, so they are handled as logarithms: an error
 * of 20 % is then the same distance whatever the unit, no fit can make them negative, and two coolers' values can be
 * averaged. A parameter whose declared range reaches below zero stays as it is.
 */
export interface ParameterScale {
  readonly logarithmic: boolean;
  readonly start: number;
  readonly low: number;
  readonly high: number;
  /** Gaussian prior on this scale before the bench has been seen. */
  readonly priorMean: number;
  readonly priorDeviation: number;
  /** Whether the model file states the prior; otherwise it is one of wide ignorance about the start. */
  readonly stated: boolean;
}

/**
 * Standard deviation of ln(parameter) where the model file gives no prior: a factor of 4.5 either way.
 * Chosen: wider than parameters differ between coolers.
 */
const IGNORANCE = 1.5;

/** Scales of a model's parameters, in the model's order. */
export function parameterScales(model: Model): ParameterScale[] {
  return model.parameters.map((parameter) => {
    const { start, low = Number.NEGATIVE_INFINITY, high = Number.POSITIVE_INFINITY, prior } = parameter;
    if (low >= 0 && start > 0) {
      const spread = prior ? Math.sqrt(Math.log(1 + (prior.standardDeviation / prior.mean) ** 2)) : IGNORANCE;
      return {
        logarithmic: true,
        start: Math.log(start),
        low: low > 0 ? Math.log(low) : Number.NEGATIVE_INFINITY,
        high: Math.log(high),
        priorMean: prior ? Math.log(prior.mean) - (spread * spread) / 2 : Math.log(start),
        priorDeviation: spread,
        stated: prior !== undefined,
      };
    }
    return {
      logarithmic: false,
      start,
      low,
      high,
      priorMean: prior?.mean ?? start,
      priorDeviation: prior?.standardDeviation ?? 3 * Math.abs(start) + 1,
      stated: prior !== undefined,
    };
  });
}

/** From the fitting scale to the parameter's own unit. */
export function toNatural(
  scales: readonly ParameterScale[],
  eta: ArrayLike<number>,
  out: Float64Array,
): void {
  for (let j = 0; j < scales.length; j++) out[j] = scales[j].logarithmic ? Math.exp(eta[j]) : eta[j];
}
