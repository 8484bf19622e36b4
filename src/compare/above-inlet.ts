import { BenchError } from '../bench/bench-error.ts';
import type { Conditions } from '../predict/conditions.ts';
import { checkInlet } from '../predict/inlet-air.ts';
import type { Comparison } from './comparison.ts';

/** A comparison in air that enters every cooler warmer than the room: all rises are that much more, all differences the same. */
export function aboveInlet(result: Comparison, conditions: Conditions): Comparison {
  checkInlet(conditions);
  if (conditions.recirculation_percent !== undefined) {
    throw new BenchError(
      '--recirculation',
      1,
      1,
      'it can only be given to predict: how much a share of exhaust warms the inlet is not known well enough to rank coolers; give --inlet-rise in K, the same for every cooler',
    );
  }
  const inlet_K = conditions.inlet_rise_K ?? 0;
  if (inlet_K === 0) return result;
  return {
    ...result,
    loads: result.loads.map((load) => ({
      ...load,
      order: load.order.map((entry) => ({
        ...entry,
        rise_K: entry.rise_K + inlet_K,
        mean_low_K: entry.mean_low_K + inlet_K,
        mean_high_K: entry.mean_high_K + inlet_K,
      })),
    })),
  };
}
