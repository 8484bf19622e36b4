import type { LogBlocks } from '../reduction/log-blocks.ts';
import type { StepResult } from '../reduction/reduce-log.ts';
import type { StepImpedance } from './structure-function.ts';

/**
 * The step impedance of a logged response: the rise over lagged ambient since just before the step, over the step of
 * the load. Blocks are those of the fit, about a row at first and longer later.
 *
 * @param loadBefore_W  load before the step
 * @returns times from half a reading on
 * @throws RangeError where the step is too short for a response
 */
export function measuredImpedance(log: LogBlocks, step: StepResult, loadBefore_W = 0): StepImpedance {
  const { response } = step;
  if (!response) throw new RangeError('the step is too short for an impedance');
  const { first } = step.step;
  const before = first > 0 ? first - 1 : first;
  const start = log.source_C[before] - log.ambient_C[before];
  const load = step.power_W - loadBefore_W;
  const time_s: number[] = [];
  const impedance_K_per_W: number[] = [];
  for (let k = first > 0 ? 0 : 1; k < response.time_s.length; k++) {
    time_s.push(response.time_s[k]);
    impedance_K_per_W.push((response.source_C[k] - response.lagged_ambient_C[k] - start) / load);
  }
  return { time_s, impedance_K_per_W };
}
