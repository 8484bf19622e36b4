import type { Bench } from '../bench/bench.ts';
import { askedRuns } from '../months/asked-runs.ts';
import type { Conditions } from '../predict/conditions.ts';

/** The bench that a comparison stands on, with what setting runs aside or joining methods gave cause to say among its warnings. */
export function comparedBench(whole: Bench, conditions: Conditions): Bench {
  const { bench, warnings } = askedRuns(whole, conditions);
  return warnings.length === 0 ? bench : { ...bench, warnings: [...bench.warnings, ...warnings] };
}
