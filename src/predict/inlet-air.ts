import { BenchError } from '../bench/bench-error.ts';
import { inletRise } from '../bench/recirculation.ts';
import type { CoolerPosterior } from '../fit/bench-posterior.ts';
import type { Conditions } from './conditions.ts';

/** How much warmer than the room the air enters a cooler's fans, K, and its standard uncertainty. */
export interface InletAir {
  readonly rise_K: number;
  readonly u_K: number;
  readonly note: string;
}

/**
 * How far the air that mixes with the exhaust may be from the capacity rate that a fit finds, as a standard deviation of its
 * logarithm: some air passes the fins by, and the exhaust does not mix evenly. Common practice, no source.
 */
const MIXING = 0.25;

/** Checks the conditions of the inlet air. */
export function checkInlet({ inlet_rise_K, recirculation_percent }: Conditions): void {
  if (inlet_rise_K !== undefined && recirculation_percent !== undefined) {
    throw new BenchError(
      '--recirculation',
      1,
      1,
      'the inlet rise is given too; give one of --inlet-rise and --recirculation',
    );
  }
  if (inlet_rise_K !== undefined && !(inlet_rise_K >= 0 && inlet_rise_K <= 60)) {
    throw new BenchError('--inlet-rise', 1, 1, `${inlet_rise_K} K is not an inlet rise; give 0 to 60 K`);
  }
  if (recirculation_percent !== undefined && !(recirculation_percent >= 0 && recirculation_percent <= 90)) {
    throw new BenchError(
      '--recirculation',
      1,
      1,
      `${recirculation_percent} % is not a share of exhaust; give 0% to 90%`,
    );
  }
}

/**
 * The inlet air of a cooler under the conditions asked for; `undefined` where it is the room's.
 *
 * The rise of the source above the room is then that above the inlet, which is what the curves give, and the inlet's own. With
 * a share of exhaust it follows from the capacity rate of the stream, which the models of fins in a stream that they
 * heat find from how the rise answers to fan speed: known to some tens of per cent, which is carried along.
 *
 * @param heat_W  load
 * @param speed  relative fan speed, density of the room included
 */
export function inletAir(
  cooler: CoolerPosterior,
  conditions: Conditions,
  heat_W: number,
  speed: number,
): InletAir | undefined {
  const { inlet_rise_K, recirculation_percent } = conditions;
  if (inlet_rise_K !== undefined) {
    return { rise_K: inlet_rise_K, u_K: 0, note: `with air that enters ${inlet_rise_K} K above the room` };
  }
  if (recirculation_percent === undefined) return undefined;
  const capacity = streamCapacity(cooler);
  if (!capacity) {
    throw new BenchError(
      '--recirculation',
      1,
      1,
      `the flow through "${cooler.data.cooler.cooler}" is not known: no model with a capacity rate C in W/K was fitted to it; give --inlet-rise in K`,
    );
  }
  const rise_K = inletRise(heat_W, capacity.value_W_per_K * speed, recirculation_percent / 100);
  return {
    rise_K,
    u_K: rise_K * Math.hypot(capacity.logDeviation, MIXING),
    note: `${recirculation_percent} % of its exhaust comes back: the air enters about ${rise_K.toFixed(1)} K above the room`,
  };
}

/**
 * Capacity rate of the air stream at full speed: the mean, by weight and uncertainty, of what the models that have one found.
 */
function streamCapacity(
  cooler: CoolerPosterior,
): { value_W_per_K: number; logDeviation: number } | undefined {
  let weight = 0;
  let sum = 0;
  let squares = 0;
  cooler.curves.forEach((posterior, m) => {
    const { model, scales } = posterior.curve;
    const j = model.parameters.findIndex(({ name, unit }) => name === 'C' && unit === 'W/K');
    if (j < 0 || !scales[j].logarithmic) return;
    const p = posterior.eta.length;
    // A model that fits badly still bounds the flow; without a floor the mean would hang on rounding.
    const w = cooler.weights[m] + 1e-3;
    weight += w;
    sum += w * posterior.eta[j];
    squares += w * (posterior.covariance[j * p + j] + posterior.eta[j] ** 2);
  });
  if (weight === 0) return undefined;
  const mean = sum / weight;
  return {
    value_W_per_K: Math.exp(mean),
    logDeviation: Math.sqrt(Math.max(squares / weight - mean * mean, 0)),
  };
}
