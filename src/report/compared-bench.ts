import type { Bench } from '../bench/bench.ts';
import type { Conditions } from '../results.ts';
import { withoutRuns } from '../screening/without.ts';
import { onOneMethod } from '../sessions/one-method.ts';

/** The bench that a comparison stands on: runs set aside taken out, methods brought to one, what that gave cause to say among its warnings. */
export function comparedBench(whole: Bench, conditions: Conditions): Bench {
  const { bench, warnings } = onOneMethod(withoutRuns(whole, conditions.without));
  return warnings.length === 0 ? bench : { ...bench, warnings: [...bench.warnings, ...warnings] };
}
