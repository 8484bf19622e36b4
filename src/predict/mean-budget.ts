import { stretchFor } from '../numerics/degrees-of-freedom.ts';
import type { BudgetShare } from './budget.ts';
import { budgetOf, ownParts, sharedParts, summed } from './budget.ts';
import type { AskedRise } from './predict.ts';

/** The variance of the mean's interval by where it comes from. */
export function meanBudget(asked: AskedRise): BudgetShare[] {
  const { posterior, cooler, at, distribution, shared, level, inlet, room_C } = asked;
  const parts = summed(
    ownParts(distribution, stretchFor(level, distribution.meanFreedom)),
    sharedParts(posterior, distribution.meanSensitivity, shared),
    new Map([['inlet air', (inlet?.u_K ?? 0) ** 2]]),
  );
  return budgetOf(parts, {
    posterior,
    coolers: [{ cooler, at }],
    distributions: [distribution],
    air_C: room_C + (inlet?.rise_K ?? 0),
  });
}
