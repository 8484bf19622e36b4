import { mixtureDeviation } from '../numerics/mixture.ts';
import { type ChipPlan, runsOnChip } from './chip-plan.ts';
import { chanceResolved, type Outlook } from './outlook.ts';
import { isResolvedNow, learntScatter, outlookFor, type PlanTask } from './plan-task.ts';
import { freedomOf } from './scatter-learning.ts';
import type { Visit } from './visits.ts';

/** What some visits buy, before they are done. */
export interface Foresight {
  /** Standard uncertainty of a cooler's true rise at a load of the question that will be left, K. */
  left_K(cooler: number, l: number): number;
  /** Chance that two coolers are told apart there. */
  chance(a: number, b: number, l: number): number;
}

export function foresight(task: PlanTask, visits: readonly Visit[]): Foresight {
  return task.chip ? onChip(task, task.chip, visits) : onHeater(task, visits);
}

function onHeater(task: PlanTask, visits: readonly Visit[]): Foresight {
  const known = new Map<number, Outlook[]>();
  const after = (cooler: number): Outlook[] => {
    let outlook = known.get(cooler);
    if (!outlook) {
      outlook = outlookFor(
        task,
        cooler,
        visits.filter((visit) => visit.cooler === cooler),
      );
      known.set(cooler, outlook);
    }
    return outlook;
  };
  let covariance: Float64Array | undefined;
  return {
    left_K: (c, l) => after(c)[l].left_K,
    chance: (a, b, l) => {
      if (task.isBarred(a, b)) return 0;
      covariance ??= learntScatter(
        task,
        task.coolers.map((_, c) => after(c)),
      );
      const [first, second] = [after(a)[l], after(b)[l]];
      return chanceResolved(first, second, task.question, {
        a: freedomOf(first.scatterShares, covariance),
        b: freedomOf(second.scatterShares, covariance),
      });
    },
  };
}

function onChip(task: PlanTask, chip: ChipPlan, visits: readonly Visit[]): Foresight {
  const { coolers } = task;
  const after = chip.after(runsOnChip(visits, coolers));
  return {
    left_K: (c, l) =>
      chip.deviation(after, c, l) ?? mixtureDeviation(coolers[c].limitsNow[l].distribution.mean),
    chance: (a, b, l) => {
      if (task.isBarred(a, b)) return 0;
      return chip.chance(after, a, b, l) ?? (isResolvedNow(task, a, b, l) ? 1 : 0);
    },
  };
}
