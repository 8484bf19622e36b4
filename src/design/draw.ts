import type { LimitNode } from '../fit/pipe-limit.ts';
import type { Random } from '../lab/random.ts';
import { addProduct } from '../numerics/matrix.ts';
import type { CarriedOutPart } from './carried-out.ts';
import type { PlanTask } from './plan-task.ts';

/** What is drawn of coolers whose rises hang together: true rises and average readings, and where a limit of each one's pipes lies. */
export interface Truth {
  readonly drawn: Float64Array;
  readonly nodes: readonly (LimitNode | undefined)[];
}

/** What one repeat finds of a cooler at a load, beside what is true. */
export interface Found {
  /** Limits of pipes apart. */
  readonly own_K: number;
  readonly middle_K: number;
  readonly down_K: number;
  readonly up_K: number;
  readonly truth_K: number;
}

/** Draws what is true of the coolers of one part. */
export function drawOf(task: PlanTask, part: CarriedOutPart, random: Random): Truth {
  const { mean, factor } = pick(part.draws, random.uniform());
  const z = mean.map(() => random.normal());
  const drawn = addProduct(mean.slice(), factor, z, mean.length, mean.length);
  const nodes = part.coolers.map((c) => {
    const { limits } = task.coolers[c].posterior;
    return limits.length > 0 ? pick(limits, random.uniform()) : undefined;
  });
  return { drawn, nodes };
}

/**
 * What is found of each cooler of a part at each load.
 *
 * @param truth  with what the runs of the part read before a limit of the pipes lifts them
 */
export function foundBy(
  task: PlanTask,
  part: CarriedOutPart,
  { drawn, readings, nodes }: Truth & { readonly readings: Float64Array },
  random: Random,
): [number, Found[]][] {
  const loads = task.question.power_W.length;
  // A limit that shows is taken off the readings; one that does not lifts them unseen.
  const isShown = nodes.map((node, k) => node !== undefined && part.shows(part.coolers[k], node));
  const read = readings.slice();
  nodes.forEach((node, k) => {
    if (!node || isShown[k]) return;
    part.excess_K(part.coolers[k], node).forEach((excess, i) => {
      read[i] += excess;
    });
  });
  const found = part.found_K(read);
  return part.coolers.map((c, k): [number, Found[]] => {
    const node = nodes[k];
    return [
      c,
      task.question.power_W.map((_, l): Found => {
        const { middle_K, down_K, up_K, spread_K2 } = part.prospect(c, l, isShown[k] ? node : undefined);
        const error = isShown[k] ? random.normal(0, Math.sqrt(spread_K2)) : 0;
        const excess = node ? part.excessAt_K(c, l, node) : 0;
        const own_K = found[k * loads + l];
        return {
          own_K,
          middle_K: own_K + middle_K + error,
          down_K,
          up_K,
          truth_K: drawn[part.target(c, l)] + excess,
        };
      }),
    ];
  });
}

/** The entry at a share of the weights, which add to 1. */
function pick<T extends { readonly weight: number }>(list: readonly T[], share: number): T {
  let sum = 0;
  for (const one of list) {
    sum += one.weight;
    if (share < sum) return one;
  }
  return list[list.length - 1];
}
