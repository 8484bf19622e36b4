import type { Bench } from '../bench/bench.ts';
import { inOrientation } from '../bench/orientation.ts';
import type { Conditions } from '../predict/conditions.ts';
import { withoutRuns } from '../screen/without.ts';
import { type OneMethod, onOneMethod } from './one-method.ts';

/** The runs that answers stand on: without those set aside, of one orientation, carried over to one method. */
export function askedRuns(bench: Bench, conditions: Pick<Conditions, 'without' | 'orientation'>): OneMethod {
  return onOneMethod(runsAsked(bench, conditions));
}

/** The same before they are carried over. */
export function runsAsked(
  bench: Bench,
  { without, orientation }: Pick<Conditions, 'without' | 'orientation'>,
): Bench {
  return inOrientation(withoutRuns(bench, without), orientation);
}
