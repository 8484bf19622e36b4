import { budgetOf, ownParts, sharedParts, summed } from '../predict/budget.ts';
import type { DifferenceBudget } from './compare.ts';

/** The variance of a difference by where it comes from. */
export const differenceBudget: DifferenceBudget = (posterior, a, b, g, test, air_C) => {
  const { critical, multiple, shared } = test;
  const distributions = [a.limits[g].distribution, b.limits[g].distribution];
  const apart = a.limits[g].sensitivity.map((s, k) => s - b.limits[g].sensitivity[k]);
  const parts = summed(
    ...distributions.map((one) => ownParts(one, critical(one.meanFreedom) / multiple)),
    sharedParts(posterior, apart, shared),
  );
  const coolers = [a, b].map(({ posterior: cooler, at }) => ({ cooler, at }));
  return budgetOf(parts, { posterior, coolers, distributions, air_C });
};
